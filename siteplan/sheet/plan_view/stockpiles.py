"""Ground proposed for spoil, cuttings and mud: its edge, and its name in it."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.sheet.content.earth import PILE_NAMES
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.plan_view.features import area_labels, name_area
from siteplan.sheet.style.styles import layer
from siteplan.specification.stockpile import Stockpile

PILE_INK = 12.0
"""What the name of what is built pays for crossing the edge, as a leader does."""
OTHER_NAME = 8.0
"""What any other name pays besides."""
PILE_COVER = 4.0
"""What another name pays for lying in it."""

LEAST_SEEN = 0.2
"""Share of the ground that a window must show for its name to stand there."""


def draw_stockpiles(canvas: Canvas, piles: Sequence[Stockpile]) -> None:
    """Draw the edges."""
    for pile in piles:
        canvas.outline(pile.shape, "stockpile", layer("stockpile"), ink=PILE_INK)
        canvas.cover(pile.shape, PILE_COVER)


def keep_names_off_stockpiles(canvas: Canvas, piles: Sequence[Stockpile]) -> None:
    """Let further names pay more for crossing an edge."""
    for pile in piles:
        canvas.cover_line([(x, y) for x, y, *_ in pile.shape.exterior.coords], OTHER_NAME, 0.0)


def label_stockpiles(canvas: Canvas, piles: Sequence[Stockpile]) -> None:
    """Write what lies there, in it or led to it; a corner at the window's edge has no name."""
    for pile in piles:
        seen = pile.shape.intersection(canvas.window)
        if seen.area >= LEAST_SEEN * pile.shape.area:
            labels = area_labels(PILE_NAMES[pile.kind], "text-access", layer("stockpile"))
            name_area(canvas, seen, labels)
