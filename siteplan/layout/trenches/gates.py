"""Where closed trenches begin, and gates in them that let the header in."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Point

from siteplan.geometry.lines.bends import begun_at, is_closed, part_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.way import Ways
from siteplan.preferences.table import figure_of

STEP_M: Final = figure_of("layout.trenches.gates.step_m")


def begun_nearest(lines: Sequence[LineString], ways: Ways) -> list[LineString]:
    """Lines, of which each closed one begins where the way to an entry is shortest."""
    return [_begun_nearest(line, ways) if is_closed(line) else line for line in lines]


def with_gates(
    lines: Sequence[LineString], spacing_m: float, *, shortest_m: float
) -> list[LineString]:
    """Lines, of which each closed one is open where it begins: its ends are a spacing apart.

    A ring too short for a gate stays closed.

    Examples
    --------
    >>> ring = LineString([(0, 0), (20, 0), (20, 10), (0, 10), (0, 0)])
    >>> [opened] = with_gates([ring], 3.0, shortest_m=10.0)
    >>> gap = Point(opened.coords[0]).distance(Point(opened.coords[-1]))
    >>> round(gap, 6), bool(opened.length < ring.length - 3.0)
    (3.0, True)
    """
    return [_open(line, spacing_m, shortest_m) if is_closed(line) else line for line in lines]


def _begun_nearest(ring: LineString, ways: Ways) -> LineString:
    count = max(4, math.ceil(ring.length / STEP_M))
    places = np.arange(count) * (ring.length / count)
    # every metre is enough: the header is routed exactly afterwards
    spots = shapely.get_coordinates(shapely.line_interpolate_point(ring, places))
    nearest = int(np.argmin(np.round(ways.to(spots), 3)))
    return begun_at(ring, float(places[nearest]))


def _open(ring: LineString, spacing_m: float, shortest_m: float) -> LineString:
    """Ring without a stretch around its beginning whose ends are a spacing apart."""
    low, high = spacing_m / 2, spacing_m * math.pi / 4 + TOLERANCE
    if ring.length - 2 * high < max(shortest_m, 2 * spacing_m) or not _wide(ring, high, spacing_m):
        return ring
    # The ends move apart along a bend no tighter than half the spacing: halve the interval.
    while high - low > TOLERANCE / 10:
        middle = (low + high) / 2
        low, high = (low, middle) if _wide(ring, middle, spacing_m) else (middle, high)
    return part_of(ring, high, ring.length - high)


def _wide(ring: LineString, back_m: float, spacing_m: float) -> bool:
    ends: tuple[Point, Point] = (
        ring.interpolate(back_m),
        ring.interpolate(ring.length - back_m),
    )
    return ends[0].distance(ends[1]) >= spacing_m
