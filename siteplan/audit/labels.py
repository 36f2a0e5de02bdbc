"""Names beside what is drawn on the plan, found by their marks."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.audit.marked import plain
from siteplan.audit.model import Drawing, Word
from siteplan.audit.words import drawn_fault
from siteplan.findings.model import Finding, reason
from siteplan.sheet.marks import LABEL
from siteplan.sheet.style.styles import layer
from siteplan.vocabulary.loop_types import element_kinds

CROSSOVER: Final = "crossover"


def names_element(word: Word) -> bool:
    """Whether a text of the model may be the id of an element.

    One that somebody wrote, or whose mark was lost, is known by its layer and a digit.
    """
    if word.mark is not None:
        is_name = word.mark.block == LABEL and word.mark.line == 0
        return is_name and word.mark.column in element_kinds()
    other = word.text.startswith(("H", "X"))
    return word.layer == layer("ids") and any(map(str.isdigit, word.text)) and not other


def names_crossover(word: Word) -> bool:
    """Whether a text of the model may be the id of a crossover."""
    if word.mark is not None:
        return word.mark.block == LABEL and word.mark.column == CROSSOVER
    return word.layer == layer("ids") and word.text[:1] == "X" and word.text[1:].isdigit()


def label_findings(drawing: Drawing) -> Iterator[Finding]:
    """Names on the plan that were changed, so that nothing is called any more what they said."""
    labels = [
        word
        for word in drawing.words
        # further lines say what the thing belongs to, not what it is called
        if word.mark and word.mark.block == LABEL and word.mark.line == 0
    ]
    for word in labels:
        assert word.mark is not None
        name = word.mark.row
        # names that changed places are still all there: each is asked for its own
        if plain(word.text) != name:
            shown = word.text or reason("nothing")
            told = reason("label-differs", name=name, handle=word.handle, said=shown)
            yield drawn_fault("label", told, name)
