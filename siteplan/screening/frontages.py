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
SHARES: Final = (0.02, 0.5, 0.98)
"""Where along a side it is asked whether the street lies before it."""


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
    good = np.ones(len(side), dtype=bool)
    for share in SHARES:
        places = starts[side] + share * (ends[side] - starts[side])
        ways = shapely.shortest_line(shapely.points(places), chunk.things[street])
        toward = np.diff(shapely.get_coordinates(ways).reshape(-1, 2, 2), axis=1)[:, 0]
        away = np.hypot(toward[:, 0], toward[:, 1])
        outward = -(toward * inward[side]).sum(axis=1)
        turned = outward >= away * math.cos(math.radians(FACING_DEG - TURNED_DEG))
        good &= turned & (away <= STREET_REACH_M - SLACK_M) & (away > 0)
    found = np.zeros(len(starts), dtype=bool)
    found[side[good]] = True
    return found


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
