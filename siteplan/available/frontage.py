"""Where a parcel opens to the street, and the ground before it from which a machine comes in."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.site.machines import Machine
from siteplan.site.model import Feature

STREET_REACH_M: Final = 20.0
"""A street drawn so near before a property line runs along it, as its centre line may lie half a
wide right of way outside the lot; common practice, no source [m]."""
ON_LINE_M: Final = 0.01
"""A street drawn so near to a property line lies on it: coordinates are written to a hundredth of
a foot or of a metre, on whichever side of the line that falls [m]."""
FACING_DEG: Final = 45.0
"""How far a side may be turned away from the street that it faces [deg]."""
STEP_M: Final = 0.5
"""Pieces in which the property line is looked at [m]."""
DRIVE_OUT_M: Final = 1.0
"""A driveway that reaches so far beyond the property line leads out of the lot [m]."""
DRIVE_HALF_M: Final = 1.5
"""Half the width of a driveway drawn as a line without width; common practice, no source [m]."""
OVERLAP_M: Final = 0.01
"""How far the ground before the frontage reaches into the lot, so that no gap is left [m]."""


def frontage_of(parcel: Polygon, features: Sequence[Feature], machine: Machine) -> BaseGeometry:
    """Part of the property line over which a rig or excavator comes in; empty where none is known.

    That is where the site file says; else where the property line runs along a street, and where
    a driveway leads out over it.
    """
    line = parcel.exterior
    # somebody who names gates knows the fence: nothing is guessed beside them
    if machine.gates:
        gates = shapely.union_all([grow(Point(gate), machine.width_m) for gate in machine.gates])
        return _lines(line.intersection(gates))
    facing = [side_facing(parcel, street.shape) for street in features if street.kind == "street"]
    return _lines(shapely.union_all([*facing, *_driven_over(parcel, features)]))


def apron_of(parcel: Polygon, frontage: BaseGeometry, depth_m: float) -> BaseGeometry:
    """Ground straight before a frontage, as deep as told [m]."""
    ring = shapely.get_coordinates(orient(parcel).exterior)
    sides = np.asarray(shapely.linestrings(np.stack([ring[:-1], ring[1:]], axis=1)))
    pieces = []
    # most sides open to no street
    for number in np.flatnonzero(shapely.dwithin(sides, frontage, 2 * TOLERANCE)).tolist():
        start, end, side = ring[number], ring[number + 1], sides[number]
        out = _outwards(end - start)
        shares = frontage.intersection(grow(side, TOLERANCE))
        for part in shapely.get_parts(_lines(shares)):
            near, far = part.coords[0], part.coords[-1]
            if math.dist(near, far) > TOLERANCE:
                pieces.append(_strip(np.array([near, far]), out, depth_m))
    # at a corner to two streets strips leave a wedge, which a machine turning in would have to
    # cross
    pieces += _corners(ring, frontage, depth_m)
    apron = shapely.union_all(pieces)
    # in a notch the ground before one side lies before another too, which opens to no street
    closed = parcel.exterior.difference(grow(frontage, OVERLAP_M))
    passed = closed.intersection(apron.buffer(OVERLAP_M))
    if passed.length <= STEP_M:
        return apron
    return apron.difference(closed.buffer(2 * OVERLAP_M, cap_style="flat"))


def side_facing(parcel: Polygon, street: BaseGeometry) -> BaseGeometry:
    """Pieces of the property line that a street runs along."""
    ring = orient(parcel).exterior
    points = shapely.get_coordinates(shapely.segmentize(ring, STEP_M))
    starts, ends = points[:-1], points[1:]
    middles = (starts + ends) / 2
    ways = shapely.shortest_line(shapely.points(middles), street)
    toward = shapely.get_coordinates(ways).reshape(-1, 2, 2)
    steps = toward[:, 1] - toward[:, 0]
    away = np.hypot(steps[:, 0], steps[:, 1])
    outward = ((steps * _outwards(ends - starts)).sum(axis=1)) >= away * math.cos(
        math.radians(FACING_DEG)
    )
    # a street drawn as its centre line lies half a right of way off; a side that is turned away
    # from it does not open to it however near it is
    fronting = (away <= ON_LINE_M) | (outward & (away <= STREET_REACH_M))
    return shapely.union_all(shapely.linestrings(np.stack([starts, ends], axis=1)[fronting]))


def _driven_over(parcel: Polygon, features: Sequence[Feature]) -> Iterator[BaseGeometry]:
    """Pieces of the property line under driveways that lead out."""
    # a driveway drawn to the line or a hair over it may end at a neighbour's fence: only one that
    # goes on leads out
    beyond = grow(parcel, DRIVE_OUT_M)
    for drive in features:
        if drive.kind != "driveway" or drive.shape.difference(beyond).is_empty:
            continue
        shape = drive.shape
        if shape.area == 0:
            shape = grow(shape, drive.width_m / 2 or DRIVE_HALF_M)
        yield parcel.exterior.intersection(shape)


def _outwards(along: NDArray[np.float64]) -> NDArray[np.float64]:
    """Unit vectors to the right of others: out of a ring that runs counter-clockwise."""
    right = np.stack([along[..., 1], -along[..., 0]], axis=-1)
    lengths = np.maximum(np.hypot(along[..., 0], along[..., 1]), TOLERANCE)
    return np.asarray(right / lengths[..., None])


def _strip(side: NDArray[np.float64], out: NDArray[np.float64], depth_m: float) -> BaseGeometry:
    inner, outer = side - OVERLAP_M * out, side + depth_m * out
    return Polygon([*inner, *outer[::-1]])


def _corners(
    ring: NDArray[np.float64], frontage: BaseGeometry, depth_m: float
) -> Iterator[BaseGeometry]:
    """Wedges between the strips of two sides of a frontage that bends outwards."""
    steps = np.diff(ring, axis=0)
    outs = _outwards(steps)
    for number, corner in enumerate(ring[:-1]):
        before, after = outs[number - 1], outs[number]
        turn = before[0] * after[1] - before[1] * after[0]
        if turn <= 0 or not frontage.dwithin(Point(corner), STEP_M / 5):
            continue
        inside = frontage.intersection(grow(Point(corner), STEP_M / 10))
        if not _runs_through(inside, corner):
            continue
        ends = [corner, corner + depth_m * before, corner + depth_m * after]
        yield Polygon(ends)


def _runs_through(piece: BaseGeometry, corner: NDArray[np.float64]) -> bool:
    """Whether a line near a corner goes on at both sides of it."""
    merged = _lines(piece)
    if merged.is_empty or merged.geom_type != "LineString":
        return False
    ends = [math.dist(corner, merged.coords[k]) for k in (0, -1)]
    return min(ends) > TOLERANCE


def _lines(shape: BaseGeometry) -> BaseGeometry:
    """Lines of a shape, joined where they meet."""
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "LineString"]
    return shapely.line_merge(shapely.union_all(parts))
