"""Names beside what is drawn on the plan, found by their marks."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.audit.model import Drawing, Word
from siteplan.audit.words import drawn_fault
from siteplan.findings.model import Finding
from siteplan.sheet.marks import LABEL
from siteplan.sheet.style.styles import layer

JOINT: Final = "joint"
ELEMENT_KINDS: Final = ("bore", "trench", "coil", "well")


def names_element(word: Word) -> bool:
    """Whether a text of the model may be the id of an element.

    One that somebody wrote, or whose mark was lost, is known by its layer and a digit.
    """
    if word.mark is not None:
        return word.mark.block == LABEL and word.mark.column in ELEMENT_KINDS
    other = word.text.startswith(("H", "J"))
    return word.layer == layer("ids") and any(map(str.isdigit, word.text)) and not other


def names_joint(word: Word) -> bool:
    """Whether a text of the model may be the id of a joint."""
    if word.mark is not None:
        return word.mark.block == LABEL and word.mark.column == JOINT
    return word.layer == layer("ids") and word.text[:1] == "J" and word.text[1:].isdigit()


def label_findings(drawing: Drawing) -> Iterator[Finding]:
    """Names on the plan that were changed, so that nothing is called any more what they said."""
    labels = [word for word in drawing.words if word.mark and word.mark.block == LABEL]
    said = {word.text for word in labels}
    for word in labels:
        assert word.mark is not None
        name = word.mark.row
        if name not in said:
            sentence = (
                f"The name beside {name} (handle {word.handle}) says {word.text or 'nothing'}. "
            )
            yield drawn_fault("label", f"{sentence}Write {name} again.", name)
