"""Columns of the tables filled alike: none is empty while another is full."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.pages.pages import Filling, Form, Page, Written, filled_with, share_filled

DEPTHS: Final = 8
"""Depths of columns that are tried."""


def evenly_filled(
    content: PlanContent, blocks: Sequence[Written], form: Form, count: int
) -> list[Page]:  # fmt: skip
    """So many pages with blocks that are written already: whole where that takes no more of them.

    The columns of the last page are filled to the least depth that holds all.
    """
    for whole in (True, False):
        pages = filled_with(content, blocks, form, Filling(whole=whole))
        if pages and len(pages) <= count:
            return _shallow(content, blocks, form, pages, whole=whole)
    return filled_with(content, blocks, form)


def _shallow(
    content: PlanContent, blocks: Sequence[Written], form: Form, pages: list[Page], *, whole: bool
) -> list[Page]:
    """The pages with the columns of the last one as deep as they have to be."""
    deepest = form.top_mm - form.paper.margin_mm
    least = deepest * share_filled(pages[-1], form)
    for step in range(DEPTHS):
        depth = least + (deepest - least) * step / DEPTHS
        filling = Filling(whole, len(pages) - 1, depth)
        tried = filled_with(content, blocks, form, filling)
        if len(tried) == len(pages):
            return tried
    return pages
