"""Where a header surely leaves the house: walls that keep from all else what a header keeps.

From such a place on a wall every place within what a header keeps from the wall is ground for it:
so what comes so near is reached. A wall that something stands at is none.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening.capsules import steps
from siteplan.screening.chunk import Chunk
from siteplan.screening.room import OUTSIDE, SEGMENTS, SURE_M, sure_room, within
from siteplan.screening.scan import Floats, Integers, Shapes
from siteplan.screening.terms import ALL_ROUND, Distances

BESIDE_M: Final = 0.1 + SURE_M
"""How much more a wall keeps, so that ground that comes nearly up to it is joined to it [m]."""


def housed(chunk: Chunk) -> NDArray[np.bool_]:
    """Which lots have a house that is one area."""
    return np.asarray(shapely.get_type_id(chunk.house_shapes()) == 3)


def clear_walls(chunk: Chunk, header: Distances) -> NDArray[np.bool_]:
    """On which lots a header may leave the house anywhere; without a house: nowhere."""
    clear = housed(chunk)
    houses, (things, away) = chunk.house_shapes(), _others(chunk, header)
    near = shapely.distance(houses[chunk.owner[things]], chunk.things[things]) < away
    clear[chunk.owner[things[near]]] = False
    known = np.flatnonzero(clear)
    lines = shapely.get_exterior_ring(chunk.outlines[known])
    clear[known] = shapely.distance(houses[known], lines) >= _from_line(header)
    return clear


def leaves_at(chunk: Chunk, header: Distances, lots: Integers, places: Floats) -> NDArray[np.bool_]:
    """At which places on walls of houses, each on one of the lots, a header may leave."""
    points = np.asarray(shapely.points(places))
    lines = np.asarray(shapely.get_exterior_ring(chunk.outlines))[lots]
    clear = shapely.distance(points, lines) >= _from_line(header)
    clear[clear] = shapely.intersects(chunk.outlines[lots[clear]], points[clear])
    things, away = _others(chunk, header)
    owner = chunk.owner[things]
    first = np.searchsorted(owner, lots, side="left")
    each = np.where(clear, np.searchsorted(owner, lots, side="right") - first, 0)
    which, place = steps(first, each), np.repeat(np.arange(len(lots)), each)
    near = shapely.distance(points[place], chunk.things[things[which]]) < away[which]
    clear[place[near]] = False
    return np.asarray(clear)


def free_walls(chunk: Chunk, header: Distances) -> Shapes:
    """Walls of the house of each lot from which a header surely gets away."""
    walls = np.full(len(chunk), shapely.LineString(), dtype=object)
    known = np.flatnonzero(chunk.houses >= 0)
    walls[known] = shapely.boundary(chunk.house_shapes()[known])
    inner = -_from_line(header) * OUTSIDE
    walls[known] = shapely.intersection(
        walls[known], shapely.buffer(chunk.outlines[known], inner, quad_segs=SEGMENTS)
    )
    things, away = _others(chunk, header)
    grown = shapely.buffer(chunk.things[things], away * OUTSIDE, quad_segs=SEGMENTS)
    owner = chunk.owner[things]
    met = shapely.intersects(grown, walls[owner])
    grown, owner = grown[met], owner[met]
    ranks = np.arange(len(owner)) - np.searchsorted(owner, owner)
    for rank in range(int(ranks.max(initial=-1)) + 1):
        now = ranks == rank
        walls[owner[now]] = shapely.difference(walls[owner[now]], grown[now])
    return walls


def _others(chunk: Chunk, header: Distances) -> tuple[Integers, Floats]:
    """Things that a header keeps off, the house aside, and what a wall keeps from each [m]."""
    kinds, which = np.unique(chunk.kinds, return_inverse=True)
    wall = header.things_m.get(ALL_ROUND, 0.0) + BESIDE_M
    asked = np.array([header.things_m.get(str(kind), np.nan) + wall for kind in kinds])
    away = asked[which] if len(kinds) else np.zeros(0)
    own = np.zeros(len(away), dtype=bool)
    own[chunk.houses[chunk.houses >= 0]] = True
    things = np.flatnonzero(~np.isnan(away) & ~own & (chunk.houses[chunk.owner] >= 0))
    return things, away[things]


def _from_line(header: Distances) -> float:
    return header.line_m + header.things_m.get(ALL_ROUND, 0.0) + BESIDE_M


def reached(chunk: Chunk, header: Distances) -> Shapes:
    """Ground on which a header surely runs from walls of the house, in a piece or several."""
    areas = sure_room(chunk, header).areas
    parts, lot = shapely.get_parts(areas, return_index=True)
    wall = (header.things_m.get(ALL_ROUND, 0.0) + SURE_M) * OUTSIDE
    near = shapely.dwithin(parts, free_walls(chunk, header)[lot], wall + SURE_M)
    found = np.full(len(chunk), shapely.MultiPolygon(), dtype=object)
    shapely.multipolygons(parts[near], indices=lot[near], out=found)
    return found


def from_one_wall(areas: Shapes, passable: Shapes) -> Shapes:
    """What of each area one header gets to.

    A header has one entry: what lies on the other side of the house, where nothing leads around
    it, is not reached as well. Of several pieces the one is taken that shares most of the area.

    Parameters
    ----------
    areas
        Where a part may lie.
    passable
        Ground of a header, of :func:`reached`.
    """
    one = passable.copy()
    several = np.flatnonzero(shapely.get_num_geometries(passable) > 1)
    parts, lot = shapely.get_parts(passable[several], return_index=True)
    shared = shapely.area(shapely.intersection(parts, areas[several][lot]))
    order = np.argsort(shared, kind="stable")
    one[several[lot[order]]] = parts[order]
    return within(areas, one)
