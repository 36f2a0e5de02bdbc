"""Ground that a machine surely gets to from the street, where one is drawn.

A machine that fits into a disc with room to back and fill turns any way wherever that disc has
room. So it gets about in the lot less all obstacles, offset by the disc, if that ground comes up to
a side of the lot along a street. From the rim of each such disc it backs straight on to what is
free around it. Besides, it backs in straight from the street. That is less than what a search of
poses finds, and needs no search.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening.backing import backed_on_to
from siteplan.screening.chunk import Chunk
from siteplan.screening.frontages import SLACK_M, Sides, gates_of, sides_of, solid
from siteplan.screening.room import OUTSIDE, SEGMENTS, tidy, without
from siteplan.screening.scan import Shapes
from siteplan.screening.terms import Terms
from siteplan.site.loop_options import machine_of
from siteplan.site.machines import ExcavatorOptions, Machine
from siteplan.site.model import System

WAYS_IN: Final = ("street", "driveway")
"""Kinds that show where a machine comes in: there a plan asks for its way."""
FILL_M: Final = 2.0
"""Room to back and fill on the turning circle, a step of it at a time [m]."""


@dataclass(frozen=True, slots=True)
class Disc:
    """The disc in which a machine turns any way, and how far it works beyond its middle [m]."""

    radius_m: float
    beyond_m: float


def within_reach(chunk: Chunk, terms: Terms, system: System, areas: Shapes) -> Shapes:
    """Part of each area that the machine of a loop type surely gets to.

    A plan asks for the way in where a street or a driveway shows it; elsewhere it is not asked.
    """
    machine = machine_of(terms.exchanger, system)
    lots = np.flatnonzero(asks_the_way(chunk, terms, system))
    if machine is None or not len(lots):
        return areas
    left = areas.copy()
    left[lots] = shapely.Polygon()
    if machine.gates:
        return left
    part, disc = chunk.only(lots), disc_of(machine)
    sides = sides_of(part)
    stands = _standing(part, sides, disc.radius_m)
    reached = shapely.buffer(stands, disc.beyond_m, quad_segs=SEGMENTS)
    if isinstance(machine, ExcavatorOptions):
        # it turns on the spot nearly wherever it has room to pass
        reached = shapely.intersection(reached, _free(part, SLACK_M / 2))
    else:
        reached = shapely.union(reached, backed_on_to(part, sides, machine))
    left[lots] = shapely.intersection(areas[lots], reached)
    return tidy(left)


def asks_the_way(chunk: Chunk, terms: Terms, system: System) -> NDArray[np.bool_]:
    """On which lots a plan asks for the way in of the machine of a loop type."""
    machine = machine_of(terms.exchanger, system)
    asked = machine is not None and machine.access != "anywhere"
    return chunk.has(WAYS_IN) & asked


def disc_of(machine: Machine) -> Disc:
    """The disc in which a machine turns.

    Examples
    --------
    An excavator of 1.8 by 4.6 m that turns on the spot, with a boom of 3 m: half its diagonal is
    2.47 m, and its bucket gets 2.3 m and 3 m beyond its middle; a metre is kept from both.

    >>> disc = disc_of(ExcavatorOptions(1.8, 4.6, turning_m=0.0, boom_m=3.0))
    >>> round(disc.radius_m, 2), round(disc.beyond_m, 2)
    (3.47, 4.3)
    """
    half = math.hypot(machine.width_m, machine.length_m) / 2
    if isinstance(machine, ExcavatorOptions) and machine.turning_m == 0:
        return Disc(half + SLACK_M, machine.length_m / 2 + machine.boom_m - SLACK_M)
    # all of the disc is free ground: along each of its rays the rear backs out as far as the width
    # of the machine has room
    radius = half + FILL_M + SLACK_M
    return Disc(radius, radius - machine.width_m / 2 - 1.5 * SLACK_M)


def _standing(chunk: Chunk, sides: Sides, radius_m: float) -> Shapes:
    """Where the disc has room on each lot, joined to a side along a street."""
    parts, lot = shapely.get_parts(_free(chunk, radius_m), return_index=True)
    gates = _gates(chunk, sides, radius_m)
    open_ = shapely.intersects(parts, gates[lot]) & (shapely.area(parts) > radius_m)
    found = np.full(len(chunk), shapely.Polygon(), dtype=object)
    shapely.multipolygons(parts[open_], indices=lot[open_], out=found)
    return found


def _free(chunk: Chunk, radius_m: float) -> Shapes:
    """Ground that is so far from the property line and from all that a machine does not cross."""
    areas = np.asarray(shapely.buffer(chunk.outlines, -radius_m * OUTSIDE, quad_segs=SEGMENTS))
    around = solid(chunk)
    which = np.flatnonzero(around >= 0)
    grown = shapely.buffer(
        chunk.things[which], (around[which] + radius_m) * OUTSIDE, quad_segs=SEGMENTS
    )
    owner = chunk.owner[which]
    ranks = np.arange(len(owner)) - np.searchsorted(owner, owner)
    for rank in range(int(ranks.max(initial=-1)) + 1):
        now = ranks == rank
        areas[owner[now]] = without(areas[owner[now]], grown[now])
    return tidy(areas)


def _gates(chunk: Chunk, sides: Sides, radius_m: float) -> Shapes:
    """Lines within each lot along its sides to a street, where the disc stands as it comes in."""
    gates = gates_of(sides, radius_m + SLACK_M)
    good, found = gates.sides, np.full(len(chunk), shapely.LineString(), dtype=object)
    depth = good.inward * (radius_m * OUTSIDE + SLACK_M / 4)
    ends = [good.starts + good.along * at[:, None] for at in (gates.low, gates.high)]
    lines = np.asarray(shapely.linestrings(np.stack([end + depth for end in ends], axis=1)))
    if len(lines):
        shapely.multilinestrings(lines, indices=good.owner, out=found)
    return found
