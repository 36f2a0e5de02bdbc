"""Ground proposed for spoil, cuttings and mud: its edge, and its name in it."""

from __future__ import annotations

from collections.abc import Sequence

from shapely.geometry.base import BaseGeometry

from siteplan.sheet.content.earth import PILE_NAMES
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.plan_view.dear_edges import keep_names_off_edges
from siteplan.sheet.plan_view.features import area_labels, name_area
from siteplan.sheet.style.styles import layer
from siteplan.specification.stockpile import Stockpile

PILE_INK = 12.0
"""What the name of what is built pays for crossing the edge, as a leader does."""
OTHER_NAME, NAME_WITH_ROOM = 8.0, 190.0
"""What any other name pays besides, and all but those that have no room elsewhere."""
PILE_COVER, NAMED_COVER = 4.0, 60.0
"""What another name pays for lying in it, and once its own is written."""

LEAST_SEEN = 0.2
"""Share of the ground that a window must show for its name to stand there."""


def draw_stockpiles(canvas: Canvas, piles: Sequence[Stockpile]) -> None:
    """Draw the edges."""
    for pile in piles:
        canvas.outline(pile.shape, "stockpile", layer("stockpile"), ink=PILE_INK)
        canvas.cover(pile.shape, PILE_COVER)


def keep_names_off_stockpiles(canvas: Canvas, piles: Sequence[Stockpile]) -> list[BaseGeometry]:
    """Let further names pay more for crossing an edge."""
    paths = [[(x, y) for x, y, *_ in pile.shape.exterior.coords] for pile in piles]
    return keep_names_off_edges(canvas, paths, other=OTHER_NAME, with_room=NAME_WITH_ROOM)


def label_stockpiles(canvas: Canvas, piles: Sequence[Stockpile]) -> list[BaseGeometry]:
    """Write what lies there, in it or led to it; a corner at the window's edge has no name.

    The ink by which names pay that come after it and have room elsewhere.
    """
    for pile in piles:
        seen = pile.shape.intersection(canvas.window)
        if seen.area >= LEAST_SEEN * pile.shape.area:
            labels = area_labels(PILE_NAMES[pile.kind], "text-access", layer("stockpile"))
            name_area(canvas, seen, labels)
    sizes = canvas.placer.sizes()
    for pile in piles:
        canvas.cover(pile.shape, NAMED_COVER)
    return canvas.placer.since(sizes)
