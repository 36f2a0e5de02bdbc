"""Texts of the sheets that do not say what they are: what they tell was not compared."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from siteplan.audit.model import Drawing
from siteplan.audit.words import BLOCKS, drawn_fault
from siteplan.export.xdata import APPLICATION
from siteplan.findings.model import Finding, reason
from siteplan.sheet.style.styles import layer

MOST_NAMED: Final = 6


def unmarked_findings(drawing: Drawing) -> Iterator[Finding]:
    """An error where the drawing has no marks at all, a warning where some texts have none.

    Nobody can tell a drawing without marks from one whose tables were altered: it does not pass.
    """
    if not drawing.is_marked:
        tables = tuple(block[:1].lower() + block[1:] for block in BLOCKS.values())
        yield drawn_fault("no-marks", reason("marks-gone", application=APPLICATION, tables=tables))
        return
    bare = [
        word for word in drawing.sheet_words
        if word.mark is None and word.layer == layer("sheet-text") and word.text.strip()
    ]  # fmt: skip
    if bare:
        texts = tuple(
            reason("text-there", handle=word.handle, sheet=word.sheet, text=word.text.split()[0])
            for word in bare[:MOST_NAMED]
        )
        unnamed = len(bare) - MOST_NAMED
        more = reason("and-so-many-more", number=unnamed) if unnamed > 0 else None
        told = reason("texts-without-mark", texts=texts, more=more)
        yield drawn_fault("text-without-mark", told)
