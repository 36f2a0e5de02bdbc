"""Where many lots open to a street, and what a machine keeps from the things on them."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.available.access import LINE_HALF_M, POINT_RADIUS_M
from siteplan.available.frontage import FACING_DEG, STREET_REACH_M
from siteplan.screening.capsules import steps
from siteplan.screening.chunk import Chunk
from siteplan.screening.scan import Floats, Integers, edges_of
from siteplan.vocabulary.kinds import kinds

SLACK_M: Final = 1.0
"""How far a plan's search, which looks at a raster, may fall short of what can be driven [m]."""
TURNED_DEG: Final = 5.0
"""How much less than a plan lets a side may be turned away from the street that it faces [deg]."""
SHARES: Final = (0.5, 0.02, 0.98)
"""Where along a side it is asked whether the street lies before it."""


BEND_DEG: Final = 30.0
"""How much sides that follow one another may be turned, to be one side to the street [deg]."""
WINDING: Final = 1.2
"""How much longer a bend of such sides is than straight across it, at the most: an arc of 116
degrees."""


@dataclass(frozen=True, slots=True)
class Sides:
    """Sides of lots.

    Parameters
    ----------
    starts, ends
        Their ends.
    owner
        Number of the lot of each, rising.
    along, inward
        Unit vectors along each side, and into the lot.
    length
        Length of each [m].
    facing
        Whether a street runs before all of it.
    """

    starts: Floats
    ends: Floats
    owner: Integers
    along: Floats
    inward: Floats
    length: Floats
    facing: NDArray[np.bool_]

    def where(self, kept: NDArray[np.bool_]) -> Sides:
        """The sides kept."""
        return Sides(
            self.starts[kept], self.ends[kept], self.owner[kept], self.along[kept],
            self.inward[kept], self.length[kept], self.facing[kept],
        )  # fmt: skip


def sides_of(chunk: Chunk) -> Sides:
    """Sides of all lots of a chunk."""
    edges = edges_of(chunk.outlines)
    way = edges.ends - edges.starts
    length = np.hypot(way[:, 0], way[:, 1])
    along = way / np.maximum(length, 1e-9)[:, None]
    # a ring may run either way round: inwards is where its area lies
    sign = np.where(shapely.is_ccw(shapely.get_exterior_ring(chunk.outlines)), 1.0, -1.0)
    inward = np.stack([-along[:, 1], along[:, 0]], axis=1) * sign[edges.owner][:, None]
    facing = _facing(chunk, (edges.starts, edges.ends, inward), edges.owner)
    return Sides(edges.starts, edges.ends, edges.owner, along, inward, length, facing)


def _facing(
    chunk: Chunk, sides: tuple[Floats, Floats, Floats], owner: Integers
) -> NDArray[np.bool_]:
    """Which sides face a street all along: at both ends and in the middle."""
    starts, ends, inward = sides
    streets = np.flatnonzero(chunk.kinds == "street")
    first = np.searchsorted(owner, chunk.owner[streets])
    each = np.searchsorted(owner, chunk.owner[streets], side="right") - first
    side, street = steps(first, each), np.repeat(streets, each)
    for share in SHARES:
        places = starts[side] + share * (ends[side] - starts[side])
        ways = shapely.shortest_line(shapely.points(places), chunk.things[street])
        toward = np.diff(shapely.get_coordinates(ways).reshape(-1, 2, 2), axis=1)[:, 0]
        away = np.hypot(toward[:, 0], toward[:, 1])
        outward = -(toward * inward[side]).sum(axis=1)
        turned = outward >= away * math.cos(math.radians(FACING_DEG - TURNED_DEG))
        good = turned & (away <= STREET_REACH_M - SLACK_M) & (away > 0)
        side, street = side[good], street[good]
    found = np.zeros(len(starts), dtype=bool)
    found[side] = True
    return found


@dataclass(frozen=True, slots=True)
class Gates:
    """Sides along a street over which a disc comes in, and between which places along each [m]."""

    sides: Sides
    low: Floats
    high: Floats


def gates_of(sides: Sides, room_m: float) -> Gates:
    """Where along its sides to a street a lot has so much room to both hands.

    Sides to a street that follow one another, as along a bend, are one: what is missing on one may
    lie on the next.
    """
    behind = _room_behind(sides, room_m, 1)
    ahead = _room_behind(sides, room_m, -1)
    low, high = np.maximum(room_m - behind, 0.0), sides.length - np.maximum(room_m - ahead, 0.0)
    good = sides.facing & (high - low > SLACK_M)
    return Gates(sides.where(good), low[good], high[good])


def ways_in(sides: Sides) -> tuple[Integers, Floats]:
    """Lots with a side to a street, and the way in, square to the longest of them [rad]."""
    order = np.lexsort((-np.where(sides.facing, sides.length, 0.0), sides.owner))
    first = np.ones(len(order), dtype=bool)
    first[1:] = np.diff(sides.owner[order]) > 0
    gate = order[first]
    gate = gate[sides.facing[gate]]
    return sides.owner[gate], np.arctan2(sides.inward[gate, 1], sides.inward[gate, 0])


def _room_behind(sides: Sides, room_m: float, way: int) -> Floats:
    """How far sides to the street go on beyond the beginning of each; ``way`` -1: beyond its end.

    Told no farther than is asked, and a little short, as a bend is measured along it [m].
    """
    number, count = np.arange(len(sides.owner)), len(sides.owner)
    first = np.searchsorted(sides.owner, sides.owner, side="left")
    each = np.searchsorted(sides.owner, sides.owner, side="right") - first
    other = first + (number - first - way) % np.maximum(each, 1)
    straight = (sides.along * sides.along[other]).sum(axis=1) >= math.cos(math.radians(BEND_DEG))
    linked = sides.facing & sides.facing[other] & straight
    found = np.zeros(count)
    while True:
        more = np.where(linked, np.minimum(sides.length[other] / WINDING + found[other], room_m), 0)
        if (more <= found).all():
            return found
        found = more


def solid(chunk: Chunk) -> Floats:
    """What a machine keeps from each thing [m]; -1: it may drive over it."""
    dimension = shapely.get_dimensions(chunk.things)
    around = np.choose(np.clip(dimension, 0, 2), [POINT_RADIUS_M, LINE_HALF_M, 0.0])
    for kind in np.unique(chunk.kinds):
        crossing = kinds()[str(kind)].rig
        crossed = chunk.kinds == kind
        if crossing == "lines":
            crossed &= dimension == 1
        around[crossed & (crossing in ("free", "lines"))] = -1.0
    return np.asarray(around, dtype=np.float64)
