"""Regions with fewer corners that lie inside the given ones."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import Points, polygonal, polygons_of, rings_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.preferences.table import count_of

Flags = npt.NDArray[np.bool_]

PASSES: Final = count_of("geometry.lines.coarsening.passes")
TOUCH: Final = TOLERANCE / 10
"""Corners nearer to one another than this are one [m]."""


def coarsened(region: BaseGeometry, deviation_m: float) -> BaseGeometry:
    """Region inside the given one, with fewer corners, whose edge departs little from its own.

    A corner that points outwards is cut off where that costs little; between two corners that
    point inwards the sides are led on until they meet, so that an arc keeps its tangents.
    Straight sides stay where they are. Each pass departs by no more than ``deviation_m``.

    Examples
    --------
    >>> from shapely import Point
    >>> disc = Point(0, 0).buffer(10.0, quad_segs=64)
    >>> less = coarsened(disc, 0.01)
    >>> len(less.exterior.coords) < 110, bool(disc.covers(less)), disc.area - less.area < 1.0
    (True, True, True)
    """
    # Holes too small for a side to pass them stay: they are no polygon of their own here.
    clean = shapely.remove_repeated_points(polygonal(region), TOUCH)
    parts = []
    for part in polygons_of(clean):
        outer, *holes = (_coarse(ring, deviation_m) for ring in rings_of(part))
        if len(outer) >= 3:
            coarse = Polygon(outer, [hole for hole in holes if len(hole) >= 3])
            # rings were thinned each on its own, so that a hole may now meet the outer ring: the
            # corners are worth less than ground that is right
            parts.append(coarse if coarse.is_valid else part)
    return polygonal(shapely.union_all(parts) if len(parts) != 1 else parts[0])


def _coarse(ring: Points, deviation_m: float) -> Points:
    """Ring, its inside on the left, with fewer corners, none of them outside."""
    # each pass leaves neighbours of what it took, so that departures do not add up in one place
    for _ in range(PASSES):
        before = len(ring)
        # cutting corners off first: it makes more sides that lie between two inner corners
        ring = _without_inner(_without_outer(ring, deviation_m), deviation_m)
        if len(ring) == before or len(ring) < 4:
            break
    return ring


def _turns(ring: Points) -> tuple[Points, Points]:
    """Cross product of the sides at each corner, and length of the line past it."""
    before, after = np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0)
    first, second, past = ring - before, after - ring, after - before
    cross = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
    return cross, np.hypot(past[:, 0], past[:, 1])


def _without_outer(ring: Points, deviation_m: float) -> Points:
    """Ring without flat corners that point outwards, no two neighbours at a time."""
    cross, past = _turns(ring)
    flat = (cross >= 0) & (cross <= deviation_m * past)
    kept: Points = ring[~_alternate(flat)]
    return kept


def _without_inner(ring: Points, deviation_m: float) -> Points:
    """Ring in which the sides before and after some sides between inner corners meet instead."""
    cross, _ = _turns(ring)
    reflex = cross < 0
    first, second = ring, np.roll(ring, -1, axis=0)
    ahead = first - np.roll(ring, 1, axis=0)
    behind = second - np.roll(ring, -2, axis=0)
    across = ahead[:, 0] * behind[:, 1] - ahead[:, 1] * behind[:, 0]
    step = second - first
    meets = across > TOUCH**2
    share = (step[:, 0] * behind[:, 1] - step[:, 1] * behind[:, 0]) / np.where(meets, across, 1.0)
    meeting = first + share[:, None] * ahead
    side = np.hypot(step[:, 0], step[:, 1])
    off = np.abs(step[:, 0] * (meeting - first)[:, 1] - step[:, 1] * (meeting - first)[:, 0])
    # sides that are nearly parallel meet far away: leading them on would take ground that is not
    # small
    near = (share > 0) & (np.hypot(*(meeting - first).T) <= side)
    small = near & (off <= deviation_m * side)
    chosen = _alternate(meets & reflex & np.roll(reflex, -1) & small)
    moved = np.where(chosen[:, None], meeting, ring)
    kept: Points = moved[~np.roll(chosen, 1)]
    return kept


def _alternate(wanted: Flags) -> Flags:
    """Wanted places without those next to an earlier one, the ring's ends being neighbours."""
    taken: Flags = np.zeros(len(wanted), dtype=bool)
    last = -3
    for index in np.flatnonzero(wanted):
        # a side takes two corners: leave one between
        if index - last > 2 and not (index > len(wanted) - 3 and taken[:2].any()):
            taken[index] = True
            last = int(index)
    return taken
