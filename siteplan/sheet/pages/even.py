"""Columns of the tables filled alike: none is empty while another is full."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import XY
from siteplan.sheet.pages.pages import (
    Column,
    Filling,
    Form,
    Page,
    Written,
    filled_with,
    share_filled,
)
from siteplan.sheet.pages.strip import PAD_MM
from siteplan.sheet.place.blocks import Block

DEPTHS: Final = 8
"""Depths of columns that are tried."""
WHOLE: Final = (1.0, 0.5, 0.25, 0.0)
"""Blocks that are not parted, by their height in depths of a column: first all that one holds."""


def evenly_filled(
    content: PlanContent, blocks: Sequence[Written], form: Form, count: int
) -> list[Page]:  # fmt: skip
    """So many pages with blocks that are written already: whole where that takes no more of them.

    Where it does, those of few rows are whole at least, and as few as can be go on to another
    page. The columns of the last page are filled to the least depth that holds all.
    """
    ways: list[tuple[float, list[Page]]] = []
    deepest = form.top_mm - form.paper.margin_mm
    known = {id(block) for block, _ in blocks}
    for share in WHOLE:
        whole_mm = share * deepest
        pages = filled_with(content, blocks, form, Filling(whole_mm))
        # what goes on from elsewhere never stands before its beginning
        over = len(pages) == count + 1 and {id(block) for block, _ in pages[-1].blocks} <= known
        if over and _tucked(pages, form):
            pages = pages[:-1]
        if pages and len(pages) <= count:
            ways.append((whole_mm, pages))
    if not ways:
        return filled_with(content, blocks, form)
    whole_mm, pages = min(ways, key=lambda way: _going_on(way[1], blocks))
    return _shallow(content, blocks, form, pages, whole_mm)


def _going_on(pages: Sequence[Page], blocks: Sequence[Written]) -> int:
    """How many blocks go on to another page, which they begin."""
    whole = {id(block) for block, _ in blocks}
    return sum(id(page.blocks[0][0]) not in whole for page in pages[1:])


def _tucked(pages: Sequence[Page], form: Form) -> bool:
    """Put what stands on the last page below columns of the one before; False: there is no room."""
    *_, page, last = pages
    if page.blocks and not page.blocks[-1][0].gap_mm:
        # what goes on from there would stand below another heading
        return False
    found: list[tuple[Block, XY]] = []
    feet = [foot(page, column, form) for column in page.columns]
    for run in _runs([block for block, _ in last.blocks]):
        high = sum(block.height_mm + block.gap_mm for block in run) - run[-1].gap_mm
        for number, column in enumerate(page.columns):
            if math.isclose(column.width_mm, form.width_mm) and (
                feet[number] - high >= column.bottom_mm
            ):
                for block in run:
                    found.append((block, (column.left_mm + PAD_MM, feet[number])))
                    feet[number] -= block.height_mm + block.gap_mm
                break
        else:
            return False
    page.blocks.extend(found)
    return True


def _runs(blocks: Sequence[Block]) -> list[list[Block]]:
    """Blocks that stand below one heading together, as notes do: no gap is kept between them."""
    runs: list[list[Block]] = []
    for number, block in enumerate(blocks):
        if number and not blocks[number - 1].gap_mm:
            runs[-1].append(block)
        else:
            runs.append([block])
    return runs


def foot(page: Page, column: Column, form: Form) -> float:
    """How low a column of a page is filled [mm]."""
    right = column.left_mm + column.width_mm
    feet = (
        top - block.height_mm - block.gap_mm
        for block, (left, top) in page.blocks
        if column.left_mm <= left < right
    )
    return min(feet, default=form.top_mm - column.start_mm)


def _shallow(
    content: PlanContent, blocks: Sequence[Written], form: Form, pages: list[Page], whole_mm: float
) -> list[Page]:
    """The pages with the columns of the last one as deep as they have to be."""
    deepest = form.top_mm - form.paper.margin_mm
    least = deepest * share_filled(pages[-1], form)
    for step in range(DEPTHS):
        depth = least + (deepest - least) * step / DEPTHS
        filling = Filling(whole_mm, len(pages) - 1, depth)
        tried = filled_with(content, blocks, form, filling)
        if len(tried) == len(pages):
            return tried
    return pages
