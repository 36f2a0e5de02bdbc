"""Sheets as pictures and as a print: what stands on paper is worked out once for both."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Final

from siteplan.export.about import About
from siteplan.export.ink import ink
from siteplan.export.pdf import write_pages
from siteplan.export.picture import write_picture
from siteplan.sheet.model import Paper, Sheet

DPI: Final = 200
"""Dots per inch of a picture, where the paper is not large."""


def dots_per_inch(paper: Paper) -> int:
    """Dots per inch of a picture: on large paper, whose letters are larger, a letter has as many.

    Examples
    --------
    >>> small, large = Paper("B", 432.0, 279.0, 9.0), Paper("D", 914.0, 610.0, 9.0, 1.3)
    >>> dots_per_inch(small), dots_per_inch(large)
    (200, 154)
    """
    return round(DPI / paper.enlargement)


def write_set(
    sheets: Sequence[Sheet], pictures: Sequence[Path], pdf: Path, *, about: About | None = None,
    dpi: int | None = None,
) -> None:  # fmt: skip
    """Write a picture of each sheet, and one PDF with a page and a bookmark for each.

    Parameters
    ----------
    about
        What the print says of itself; its title alone where nothing is given.
    """
    inks = [ink(sheet) for sheet in sheets]
    for sheet, inked, picture in zip(sheets, inks, pictures, strict=True):
        write_picture(inked, picture, dpi=dpi or dots_per_inch(sheet.paper))
    names = [f"{sheet.number} {sheet.name}" for sheet in sheets]
    write_pages(inks, pdf, about=about or About(sheets[0].title), names=names)


def write_page(sheet: Sheet, pdf: Path) -> None:
    """Write one sheet as a PDF of its own."""
    about = About(f"{sheet.name}: {sheet.title}")
    write_pages([ink(sheet)], pdf, about=about, names=[sheet.name])
