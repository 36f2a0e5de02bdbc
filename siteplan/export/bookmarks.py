"""Bookmarks of a PDF of several pages."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path


def add_bookmarks(pdf: Path, names: Sequence[str], title: str) -> None:
    """Give each page of a PDF its bookmark; neither dates nor a program's name are added."""
    # half of what a plan of one sheet never needs: loaded only where there are several
    from pypdf import PdfWriter  # noqa: PLC0415

    writer = PdfWriter(clone_from=pdf)
    writer.metadata = {"/Title": title}
    for page, name in enumerate(names):
        writer.add_outline_item(title=name, page_number=page)
    writer.page_mode = "/UseOutlines"
    writer.write(pdf)
    writer.close()
