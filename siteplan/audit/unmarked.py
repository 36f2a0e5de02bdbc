"""Texts of the sheets that do not say what they are: what they tell was not compared."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.audit.model import Drawing
from siteplan.audit.words import BLOCKS, drawn_fault
from siteplan.export.xdata import APPLICATION
from siteplan.findings.model import Finding
from siteplan.sheet.style.styles import layer

MOST_NAMED: Final = 6


def unmarked_findings(drawing: Drawing) -> Iterator[Finding]:
    """An error where the drawing has no marks at all, a warning where some texts have none.

    Nobody can tell a drawing without marks from one whose tables were altered: it does not pass.
    """
    if not drawing.is_marked:
        tables = ", ".join(title[:1].lower() + title[1:] for title in BLOCKS.values())
        sentence = (
            f"The drawing carries no marks (XDATA of {APPLICATION}): tables were not compared. Not "
            f"compared: {tables}, names on the plan. A program that saved it dropped them. Audit "
            "the file from before, or plan again; what is drawn was judged."
        )
        yield drawn_fault("no-marks", sentence)
        return
    bare = [
        word for word in drawing.sheet_words
        if word.mark is None and word.layer == layer("sheet-text") and word.text.strip()
    ]  # fmt: skip
    if bare:
        some = ", ".join(
            f"{word.handle} on sheet {word.sheet} ({word.text.split()[0]} ...)"
            for word in bare[:MOST_NAMED]
        )
        more = f" and {len(bare) - MOST_NAMED} more" if len(bare) > MOST_NAMED else ""
        sentence = (
            f"Texts without a mark stand on the sheets (handles {some}{more}). Somebody wrote "
        )
        sentence += "them, or they lost it: what they say was not compared."
        yield drawn_fault("text-without-mark", sentence)
