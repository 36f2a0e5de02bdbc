"""Where a part may lie on each of many lots: surely, and at the most.

What is surely open lies a hair within what a plan would see, what may be open lies around it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening.chunk import Chunk, Words
from siteplan.screening.scan import Floats, Integers, Shapes
from siteplan.screening.terms import Distances

SEGMENTS: Final = 8
"""Pieces of a quarter of an arc, where a little more ground does no harm."""
FINE_SEGMENTS: Final = 16
"""Pieces of a quarter of an arc of an outline drawn in: few of its corners are arcs."""
THING_SEGMENTS: Final = 8
"""Pieces of a quarter of an arc around a thing: each is an edge that rows are cut with."""
SURE_M: Final = 0.05
"""How far within a plan's area that of a screening lies: a plan's arcs lie outside the true ones by
up to half a centimetre, and nobody stakes bores on a strip of ground a hand wide [m]."""
LENIENT: Final = 0.99
"""Share of a distance that surely lies within it: the library simplifies by up to a hundredth of
the distance before it offsets, measured."""
LEAST_M2: Final = 1e-6
"""A smaller part of an area is a slip of rounding [m2]."""


def outside(segments: int) -> float:
    """How much farther an arc in so many pieces a quarter is drawn to lie outside the true one.

    A piece may span a step and a half, measured.
    """
    return 1 / math.cos(3 * math.pi / (8 * segments))


OUTSIDE: Final = outside(SEGMENTS)
"""The same for the coarsest arcs."""


@dataclass(frozen=True, slots=True)
class Room:
    """Areas of many lots, and what took most of each.

    Parameters
    ----------
    areas
        A polygon or multipolygon for each lot.
    dearest
        Rule that takes most of the lot, after the rules before it: first the property line, then
        things in the order of their layers.
    taken_m2
        What it takes [m2].
    """

    areas: Shapes
    dearest: Words
    taken_m2: Floats

    def of(self, lots: Integers) -> Room:
        """The areas of some of the lots."""
        return Room(self.areas[lots], self.dearest[lots], self.taken_m2[lots])


def sure_room(chunk: Chunk, distances: Distances) -> Room:
    """Where a part surely may lie: every point of it keeps what the rules ask."""
    line = -(distances.line_m + SURE_M) * outside(FINE_SEGMENTS)
    areas = shapely.buffer(chunk.outlines, line, quad_segs=FINE_SEGMENTS)
    radii = _radii(chunk, distances.things_m)
    away = (radii + SURE_M) * outside(THING_SEGMENTS)
    grown = shapely.buffer(chunk.things, away, quad_segs=THING_SEGMENTS)
    room = _left(chunk, distances, areas, (radii, grown))
    return replace(room, areas=tidy(room.areas))


def most_room(chunk: Chunk, distances: Distances, close: NDArray[np.bool_]) -> Room:
    """Around all ground where a part may lie: nothing of that is missing from it.

    ``close``: lots of which what is on them is taken off too; of the others all within the
    property line is taken.
    """
    areas = shapely.buffer(chunk.outlines, -distances.line_m * LENIENT, quad_segs=SEGMENTS)
    radii = np.where(close[chunk.owner], _radii(chunk, distances.lenient_m), math.nan)
    grown = shapely.buffer(chunk.things, radii * _share(chunk.things), quad_segs=SEGMENTS)
    return _left(chunk, distances, areas, (radii, grown))


def _share(shapes: Shapes) -> Floats:
    """Share of a distance from each shape that the library's buffer surely stays within.

    It leaves out bays of what it offsets, so that of a shape without any all of it is within.
    """
    hulls = shapely.convex_hull(shapes)
    plain = shapely.area(hulls) - shapely.area(shapes) <= LEAST_M2
    return np.where(plain, 1.0 - 1e-6, LENIENT)


def _left(chunk: Chunk, distances: Distances, areas: Shapes, grown: tuple[Floats, Shapes]) -> Room:
    """Areas less what is kept from things, one after the other, and what took most of each."""
    radii, around = grown
    taken = shapely.area(chunk.outlines) - shapely.area(areas)
    names = np.full(len(chunk), distances.line_rule, dtype="<U120")
    for which in _by_rank(chunk, radii):
        lots = chunk.owner[which]
        left = without(areas[lots], around[which])
        took = shapely.area(areas[lots]) - shapely.area(left)
        areas[lots] = left
        more = took > taken[lots]
        taken[lots[more]] = took[more]
        ruled = [distances.rules[str(kind)] for kind in chunk.kinds[which][more]]
        names[lots[more]] = ruled
    return Room(areas, names, taken)


def without(areas: Shapes, taken: Shapes) -> Shapes:
    """Areas less what is taken off each: a hole where that lies within, which is quick to cut.

    Examples
    --------
    >>> yard, house = np.array([shapely.box(0, 0, 9, 9)]), np.array([shapely.box(3, 3, 5, 5)])
    >>> shapely.area(without(yard, house)).tolist()
    [77.0]
    """
    plain = (shapely.get_type_id(areas) == 3) & (shapely.get_type_id(taken) == 3)
    inner = plain & shapely.contains_properly(areas, taken)
    left = np.empty(len(areas), dtype=object)
    left[~inner] = shapely.difference(areas[~inner], taken[~inner])
    holes = np.where(inner, shapely.get_num_interior_rings(areas), -1)
    for count in np.unique(holes[inner]):
        these = holes == count
        rings = [shapely.get_interior_ring(areas[these], k) for k in range(int(count))]
        rings.append(shapely.get_exterior_ring(taken[these]))
        left[these] = shapely.polygons(
            shapely.get_exterior_ring(areas[these]), holes=np.stack(rings, axis=1)
        )
    return left


def within(areas: Shapes, others: Shapes) -> Shapes:
    """What two areas of each lot share."""
    shared = areas.copy()
    cut = ~(shapely.covers(others, areas) | shapely.is_empty(areas))
    shared[cut] = shapely.intersection(areas[cut], others[cut])
    return tidy(shared)


def tidy(areas: Shapes) -> Shapes:
    """Areas without slips of rounding, lines and points."""
    plain = (shapely.get_type_id(areas) == 3) & (shapely.area(areas) > LEAST_M2)
    if plain.all():
        return areas
    clean = np.full(len(areas), shapely.Polygon(), dtype=object)
    clean[plain] = areas[plain]
    parts, lot = shapely.get_parts(areas[~plain], return_index=True)
    kept = (shapely.get_type_id(parts) == 3) & (shapely.area(parts) > LEAST_M2)
    several = np.full(int((~plain).sum()), shapely.Polygon(), dtype=object)
    shapely.multipolygons(parts[kept], indices=lot[kept], out=several)
    clean[~plain] = several
    return clean


def _radii(chunk: Chunk, by_kind: dict[str, float]) -> Floats:
    kinds, which = np.unique(chunk.kinds, return_inverse=True)
    known = np.array([by_kind.get(str(kind), math.nan) for kind in kinds])
    return np.asarray(known[which] if len(kinds) else np.zeros(0), dtype=np.float64)


def _by_rank(chunk: Chunk, radii: Floats) -> list[NDArray[np.intp]]:
    """Things that take ground, the first of each lot, the second of each, and so on."""
    near = ~np.isnan(radii)
    reach = np.where(near, radii + 1.0, 0.0) * OUTSIDE
    near &= shapely.distance(chunk.things, chunk.outlines[chunk.owner]) <= reach
    which = np.flatnonzero(near)
    owner = chunk.owner[which]
    ranks = np.arange(len(owner)) - np.searchsorted(owner, owner)
    return [which[ranks == k] for k in range(int(ranks.max(initial=-1)) + 1)]
