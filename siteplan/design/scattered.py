"""Whether trenches lie in so many pieces that a contractor would rather not dig them."""

from __future__ import annotations

from typing import Final

import shapely

from siteplan.geometry.lines.sweep import polygons_of
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout

MOST_BLOCKS: Final = 3
"""Blocks of even trenches that are still dug as one field; common practice, no source."""
BESIDE: Final = 0.55
"""Trenches whose middle lines lie within twice this share of the spacing are one block [-]."""
STRAIGHT: Final = 2
"""Points of a straight trench."""


def pieces_of(layout: Layout) -> int:
    """In how many pieces trenches lie: blocks of straight ones side by side, and each bent one.

    Examples
    --------
    Two rows beside one another, and one far off:

    >>> from shapely import LineString
    >>> rows = [LineString([(0, y), (30, y)]) for y in (0.0, 3.0, 40.0)]
    >>> trenches = tuple(Trench(f"T{n}", row, 0.6, 2, 1.5) for n, row in enumerate(rows))
    >>> pieces_of(Layout("horizontal", trenches, None, 3.0, 90.0))
    2
    """
    trenches = layout.of(Trench)
    straight = [each.line for each in trenches if len(each.line.coords) == STRAIGHT]
    strips = shapely.buffer(straight, BESIDE * layout.spacing_m, cap_style="flat")
    blocks = polygons_of(shapely.union_all(strips)) if straight else ()
    return len(blocks) + len(trenches) - len(straight)


def is_scattered(layout: Layout | None) -> bool:
    """Whether trenches bend round what is in the way, or lie in more than a few blocks."""
    if layout is None:
        return False
    bent = any(len(each.line.coords) > STRAIGHT for each in layout.of(Trench))
    return bent or pieces_of(layout) > MOST_BLOCKS
