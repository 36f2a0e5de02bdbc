"""What loop types take, in a free place beside the lot where the strip has no room for it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from typing import Final

from shapely import box
from shapely.geometry import Polygon

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import Primitive, Text
from siteplan.sheet.place.blocks import Block
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.tables.comparison import COMPARISON, SHORT, WHOLE, comparison_block

WIDTHS_MM: Final = (120.0, 95.0, 75.0)
"""Widths of the block that are tried [mm]."""
PAD_MM: Final = 3.0
"""Free paper around the block [mm]."""
PLACES: Final = (0.0, 0.5, 1.0)
"""Where it may stand between two edges of the window, the lower and the left one first."""


def shows_comparison(content: PlanContent, primitives: Sequence[Primitive]) -> bool:
    """Whether a sheet tells what loop types take, where there is something to tell."""
    return len(content.compared) < 2 or any(
        isinstance(item, Text) and item.mark is not None and item.mark.block == COMPARISON
        for item in primitives
    )


def compared_beside(
    content: PlanContent, canvas: Canvas, drawn: Sequence[Primitive]
) -> tuple[Primitive, ...]:
    """The block in a free corner of the plan's window; nothing where the strip has it.

    Nothing either where no corner is free: then a sheet of tables tells it.
    """
    if shows_comparison(content, drawn):
        return ()
    for block, width in _blocks(content):
        for left, bottom in _corners(canvas, width, block.height_mm):
            if canvas.placer.is_bare(_around(left, bottom, width, block.height_mm)):
                return block.at(left, bottom + block.height_mm)
    return ()


def _blocks(content: PlanContent) -> Iterator[tuple[Block, float]]:
    for whole, width in product((WHOLE, SHORT), WIDTHS_MM):
        block = comparison_block(content, width, whole=whole)
        if block is not None:
            yield block, width


def _corners(canvas: Canvas, width: float, height: float) -> Iterator[tuple[float, float]]:
    """Lower left corners of the block at the edges of the window [mm]."""
    view = canvas.view
    across, up = view.width_mm - width - 2 * PAD_MM, view.height_mm - height - 2 * PAD_MM
    if across < 0 or up < 0:
        return
    for share_up, share_across in product(PLACES, PLACES):
        yield (
            view.left_mm + PAD_MM + share_across * across,
            view.bottom_mm + PAD_MM + share_up * up,
        )


def _around(left: float, bottom: float, width: float, height: float) -> Polygon:
    """The block with the paper that stays free around it."""
    return box(left - PAD_MM, bottom - PAD_MM, left + width + PAD_MM, bottom + height + PAD_MM)
