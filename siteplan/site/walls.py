"""Where pipes could go through the walls of a building, and how such a place is called."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import shapely
from shapely import Point, Polygon
from shapely.geometry.polygon import orient

from siteplan.findings.model import Reason, reason
from siteplan.geometry.lines.sweep import polygons_of
from siteplan.site.model import Entry, Feature
from siteplan.units.lengths import FOOT
from siteplan.vocabulary.kinds import kinds, plain_word

FROM_CORNER_M: Final = 4 * FOOT
"""How far from a corner pipes go through a wall, common practice, no source [m]."""
SHORTEST_WALL_M: Final = 6 * FOOT
"""A wall shorter than this has no place for two pipes and their sleeves; common practice, no
source [m]."""
STRAIGHT_M: Final = 0.1
"""A wall that is drawn with so little of a bend is one wall [m]."""
ON_WALL: Final = " wall, assumed"
"""What stands behind the side that a wall faces, in the label of a place on it."""
COMPASS: Final = (
    "north",
    "northeast",
    "east",
    "southeast",
    "south",
    "southwest",
    "west",
    "northwest",
)


@dataclass(frozen=True, slots=True)
class WallPlace:
    """A place on a wall, as one finds it with a tape.

    Parameters
    ----------
    faces
        Point of the compass that the wall faces.
    corner
        Point of the compass in which the nearer corner of the wall lies.
    along_m
        Distance from that corner [m].
    """

    faces: str
    corner: str
    along_m: float

    @property
    def told(self) -> Reason:
        """The place in words."""
        return reason("wall-place", wall=self.faces, along_m=self.along_m, corner=self.corner)

    def told_of(self, building: str) -> Reason:
        """The place in words, with the name of the building, of which there may be several."""
        return reason(
            "wall-place-of",
            building=building,
            wall=self.faces,
            along_m=self.along_m,
            corner=self.corner,
        )


def served_building(buildings: Sequence[Feature], entries: Sequence[Entry] = ()) -> Feature | None:
    """The building that pipes are led to: the one nearest an entry, else the largest.

    A garage or a barn is led to only where nothing else is built.
    """
    drawn = [building for building in buildings if building.shape.area > 0]
    if entries:
        spots = shapely.union_all([entry.point for entry in entries])
        return min(drawn, key=lambda building: float(building.shape.distance(spots)), default=None)
    lived_in = [building for building in drawn if not _is_outbuilding(building)]
    return max(lived_in or drawn, key=lambda building: float(building.shape.area), default=None)


def _is_outbuilding(building: Feature) -> bool:
    """Whether a building is called a garage, a barn or the like, by label or name."""
    called = (plain_word(word).strip(" 0123456789#.-") for word in (building.label, building.id))
    known = kinds()["building"].outbuildings
    return any(f" {word}".endswith(f" {other}") for word in called for other in known)


def wall_entries_of(building: Feature) -> tuple[Entry, ...]:
    """Places where pipes could come in: near both corners and in the middle of each wall."""
    entries: list[Entry] = []
    for start, end in _walls(building):
        length = math.dist(start, end)
        places = {length / 2}
        if length >= 4 * FROM_CORNER_M:
            places |= {FROM_CORNER_M, length - FROM_CORNER_M}
        for along in sorted(places):
            x, y = np.array(start) + (np.array(end) - start) * (along / length)
            label = f"{compass_of(end[1] - start[1], start[0] - end[0])}{ON_WALL}"
            entries.append(Entry(f"E{len(entries) + 1}", Point(float(x), float(y)), label))
    return tuple(entries)


def wall_of(entry: Entry) -> str:
    """The wall that a place of `wall_entries_of` lies on, by the side that it faces.

    Examples
    --------
    >>> wall_of(Entry("E1", Point(0.0, 0.0), "north wall, assumed"))
    'north'
    """
    return entry.label.removesuffix(ON_WALL)


def place_on_wall(building: Feature, point: Point) -> WallPlace | None:
    """Where on the walls of a building a point lies; None where it has no walls."""
    walls = list(_walls(building))
    if not walls:
        return None
    start, end = min(walls, key=lambda wall: float(shapely.LineString(wall).distance(point)))
    length = math.dist(start, end)
    along = float(shapely.LineString((start, end)).project(point))
    step = (end[0] - start[0], end[1] - start[1])
    # outlines run counter-clockwise, so that the outside lies on the right
    faces = compass_of(step[1], -step[0])
    nearer_start = along <= length / 2
    corner = compass_of(-step[0], -step[1]) if nearer_start else compass_of(*step)
    return WallPlace(faces, corner, min(along, length - along))


def compass_of(east: float, north: float) -> str:
    """Point of the compass in which a step leads, one of eight.

    Examples
    --------
    >>> compass_of(0.0, 1.0), compass_of(-1.0, -1.0)
    ('north', 'southwest')
    """
    bearing = math.degrees(math.atan2(east, north)) % 360.0
    return COMPASS[round(bearing / 45.0) % 8]


def _walls(building: Feature) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """Ends of each straight wall, the outside on the right."""
    for shape in polygons_of(building.shape):
        outline = orient(Polygon(shape.exterior)).exterior.simplify(STRAIGHT_M)
        corners = [(float(x), float(y)) for x, y in outline.coords]
        for start, end in pairwise(corners):
            if math.dist(start, end) >= SHORTEST_WALL_M:
                yield start, end
