"""Front, rear and side lines of a lot, and how far its building stands from each."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import groupby
from typing import Final, Literal

import numpy as np
import shapely
from shapely import LineString, Polygon

from siteplan.available.frontage import side_facing
from siteplan.geometry.boundary import Side
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY
from siteplan.site.model import Feature, Site

LineName = Literal["FRONT", "REAR", "SIDE"]

FRONTING: Final = 0.5
"""Share of a front line that runs along a street, at least; common practice, no source."""
TURNED_DEG: Final = 45.0
"""How far a rear line may be turned away from the front line; common practice, no source [deg]."""


@dataclass(frozen=True, slots=True)
class LineDistance:
    """How far a building stands from the lot lines of one name that follow each other.

    ``start`` lies on the building, ``end`` on the line.
    """

    name: LineName
    building: str
    start: XY
    end: XY

    @property
    def length_m(self) -> float:
        """The least distance [m]."""
        return math.dist(self.start, self.end)


@kept
def line_names(site: Site) -> tuple[LineName, ...]:
    """Name of each side of the parcel; none where no street is known that it has its front to."""
    sides, streets = sides_of(site.parcel), site.of_kind("street")
    facing = shapely.union_all([side_facing(site.parcel, street.shape) for street in streets])
    if facing.is_empty:
        return ()
    near = facing.buffer(0.05, cap_style="flat")
    lines = [LineString(side.points) for side in sides]
    fronts = [line.intersection(near).length >= FRONTING * line.length for line in lines]
    if not any(fronts):
        longest = max(range(len(lines)), key=lambda k: lines[k].intersection(near).length)
        fronts[longest] = True
    return _named(sides, fronts, _outward(site.parcel, sides))


def _named(
    sides: Sequence[Side], fronts: Sequence[bool], outward: Sequence[XY]
) -> tuple[LineName, ...]:
    """Sides turned away from all fronts are the rear."""
    lengths = [math.dist(side.start, side.end) for side in sides]
    ahead = np.sum(
        [np.multiply(out, size) for out, size, front in zip(outward, lengths, fronts, strict=True)
         if front], axis=0,
    )  # fmt: skip
    ahead = ahead / max(float(np.hypot(*ahead)), 1e-9)
    least = math.cos(math.radians(TURNED_DEG))
    return tuple(
        "FRONT" if front else "REAR" if float(np.dot(out, ahead)) <= -least else "SIDE"
        for front, out in zip(fronts, outward, strict=True)
    )


def _outward(parcel: Polygon, sides: Sequence[Side]) -> list[XY]:
    """Direction out of the parcel at each side."""
    turn = 1.0 if parcel.exterior.is_ccw else -1.0
    facing = []
    for side in sides:
        dx, dy = side.end[0] - side.start[0], side.end[1] - side.start[1]
        size = max(math.hypot(dx, dy), 1e-9)
        facing.append((turn * dy / size, -turn * dx / size))
    return facing


@kept
def line_distances(site: Site) -> tuple[LineDistance, ...]:
    """How far the building that the pipes enter stands from each line of the lot."""
    building, names = _entered(site), line_names(site)
    if building is None or not names:
        return ()
    sides = [LineString(side.points) for side in sides_of(site.parcel)]
    pairs = list(zip(names, sides, strict=True))
    # begin where the name changes, so that no run of sides is cut in two
    first = next((k for k in range(len(pairs)) if names[k] != names[k - 1]), 0)
    found = []
    for name, run in groupby([*pairs[first:], *pairs[:first]], key=lambda pair: pair[0]):
        line = shapely.union_all([side for _, side in run])
        start, end = shapely.get_coordinates(shapely.shortest_line(building.shape, line)).tolist()
        found.append(LineDistance(name, building.id, tuple(start), tuple(end)))
    return tuple(found)


def _entered(site: Site) -> Feature | None:
    """The building at the first entry; None where that has none."""
    buildings = site.of_kind("building")
    if not buildings or not site.entries:
        return None
    point = site.entries[0].point
    return min(buildings, key=lambda one: one.shape.distance(point))
