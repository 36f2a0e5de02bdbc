"""Corners, walls and lines of what is drawn, by the names that one writes on a sketch.

``house:NE`` is the house's corner in the northeast, ``house:north`` its wall that faces north,
``parcel:rear`` the property line farthest from the street, ``parcel:SW`` a corner of the lot; a
well or a line is called by its id alone. Where several sides face the same way, or several corners
lie as far out, as on an L, the one farther along is said: ``parcel:north/east``,
``parcel:NE/north``.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from siteplan.geometry.lines.sweep import polygons_of
from siteplan.site.walls import COMPASS, STRAIGHT_M
from siteplan.units.lengths import FOOT

SHORT: Final = ("N", "NE", "E", "SE", "S", "SW", "W", "NW")
FRONT, REAR = "front", "rear"
WHICH: Final = "/"
"""What stands between a side and which of several: ``north/east``."""
ALIKE_M: Final = 0.5 * FOOT
"""Corners that lie so nearly as far out in a direction cannot be told apart [m]."""
HALF_AS_LONG: Final = 0.5
"""A wall facing the same way that is longer than this share of the longest cannot be told apart."""
FACING_DEG: Final = 45.0
"""How far from a point of the compass a wall may face and still be called by it [deg]."""

Point = tuple[float, float]
Line = tuple[Point, Point]


class Unclear(Exception):  # noqa: N818
    """What means nothing, or more than one thing: what is wrong, what helps, and at which key."""

    def __init__(self, what: str, mend: str, key: str = "") -> None:
        super().__init__(f"{what} {mend}")
        self.what, self.mend, self.key = what, mend, key


class NotYet(Exception):  # noqa: N818
    """A name of something that is itself not yet placed."""


@dataclass(frozen=True, slots=True)
class Places:
    """What is drawn so far, by name, in local metres.

    Parameters
    ----------
    shapes
        Shapes by id; the lot is ``parcel``.
    waiting
        Names of what is to be placed yet.
    streets
        Streets, that tell which property line is the front.
    """

    shapes: Mapping[str, BaseGeometry]
    waiting: frozenset[str]
    streets: Sequence[BaseGeometry] = ()

    def point(self, name: str) -> Point:
        """A point or a corner by its name."""
        owner, _, where = name.partition(":")
        shape = self._shape(owner.strip())
        if isinstance(shape, shapely.Point) and not where:
            return shape.x, shape.y
        if not where:
            kind = shape.geom_type.lower()
            raise Unclear(f"{name!r} is a {kind}, no point.", f"Say which corner: {owner}:NE")
        return self._corner(shape, where.strip(), owner)

    def line(self, name: str) -> Line:
        """A straight wall or line by its name; what is drawn lies to its right where it has area.

        Of a polygon the outside lies to the left.
        """
        owner, _, where = name.partition(":")
        shape = self._shape(owner.strip())
        if isinstance(shape, shapely.LineString) and not where:
            coordinates = shapely.get_coordinates(shape)
            if len(coordinates) != 2 and shape.simplify(STRAIGHT_M).coords[:][1:-1]:
                raise Unclear(f"{name!r} has a bend.", "Measure from a straight line.")
            return _pair(coordinates[0]), _pair(coordinates[-1])
        if not where or not polygons_of(shape):
            raise Unclear(f"{name!r} is no line.", f"Say which: {owner}:north")
        return self._wall(shape, where.strip(), owner)

    def _shape(self, owner: str) -> BaseGeometry:
        if owner in self.shapes:
            return self.shapes[owner]
        if owner in self.waiting:
            raise NotYet
        known = ", ".join(sorted(self.shapes))
        raise Unclear(f"there is no {owner!r} here.", f"Give it an id; known: {known}.")

    def sides(self, owner: str) -> list[str]:
        """The sides of an area that can be measured from, as they are called: ``north/east``."""
        return self._callable(owner, COMPASS[::2], self.line)

    def corners(self, owner: str) -> list[str]:
        """The corners of an area that can be measured from, as they are called: ``NE``."""
        return self._callable(owner, SHORT[1::2], self.point)

    def _callable(
        self, owner: str, names: Sequence[str], find: Callable[[str], object]
    ) -> list[str]:
        called: list[str] = []
        for name in names:
            # of sides that face north the eastern one rather than the northern one
            ways = sorted(COMPASS[::2], key=lambda way: (way[0] in "ns") == (name[0] in "nsNS"))
            found: dict[object, str] = {}
            for each in (name, *(f"{name}{WHICH}{way}" for way in ways)):
                with suppress(Unclear):
                    found.setdefault(find(f"{owner}:{each}"), each)
            called += found.values()
        return called

    def _corner(self, shape: BaseGeometry, where: str, owner: str) -> Point:
        where, _, which = where.partition(WHICH)
        if where.upper() not in SHORT and where not in COMPASS:
            raise Unclear(f"{where!r} is no corner.", f"Write one of {', '.join(SHORT)}.")
        number = SHORT.index(where.upper()) if where.upper() in SHORT else COMPASS.index(where)
        corners = np.unique(shapely.get_coordinates(shape), axis=0)
        if which:
            corners = np.array(_corners_toward(shape, _direction(number))).reshape(-1, 2)
            if not len(corners):
                raise Unclear(f"{owner} has no corner in the {where}.", "Say another.")
            number = _way(which)
        out = corners @ np.array(_direction(number))
        order = np.argsort(-out, kind="stable")
        best = corners[order[0]]
        near = [corners[k] for k in order[1:] if out[order[0]] - out[k] < ALIKE_M]
        if any(math.dist(best, other) > ALIKE_M for other in near):
            both = " and ".join(_told(corner) for corner in (best, near[0]))
            raise Unclear(
                f"{owner} has two corners as far in the {where}: {both} m.",
                f"Say which: {owner}:{where}{WHICH}{_apart(best, near[0])}.",
            )
        return _pair(best)

    def _wall(self, shape: BaseGeometry, where: str, owner: str) -> Line:
        walls = [wall for part in polygons_of(shape) for wall in _walls_of(part)]
        where, _, which = where.partition(WHICH)
        if where in (FRONT, REAR):
            return self._front(walls, owner, rear=where == REAR)
        if where.upper() in SHORT:
            where = COMPASS[SHORT.index(where.upper())]
        if where not in COMPASS:
            raise Unclear(
                f"{where!r} is no side.", f"Write one of {', '.join((*COMPASS, FRONT, REAR))}."
            )
        toward = _direction(COMPASS.index(where))
        facing = [wall for wall in walls if _turned(wall, toward) <= FACING_DEG]
        facing.sort(key=lambda wall: -math.dist(*wall))
        if not facing:
            raise Unclear(f"no side of {owner} faces {where}.", "Say another.")
        if which:
            return _farthest(facing, which, owner, where)
        second = [wall for wall in facing[1:]
                  if math.dist(*wall) > HALF_AS_LONG * math.dist(*facing[0])]  # fmt: skip
        if second:
            both = " and ".join(f"{math.dist(*wall) / FOOT:.0f} ft" for wall in facing[:2])
            way = _apart(_middle(facing[0]), _middle(facing[1]), where)
            raise Unclear(
                f"{owner} has two sides that face {where}, of {both}.",
                f"Say which: {owner}:{where}{WHICH}{way}.",
            )
        return facing[0]

    def _front(self, walls: Sequence[Line], owner: str, *, rear: bool) -> Line:
        """The side nearest to the street, or the one that faces most away from that."""
        if not self.streets:
            raise Unclear("no street is drawn.", "Say the side by the compass, as parcel:north.")
        street = shapely.union_all(list(self.streets))
        front = min(walls, key=lambda wall: shapely.LineString(wall).centroid.distance(street))
        if not rear:
            return front
        away = _outward(front)
        behind = [wall for wall in walls if _turned(wall, (-away[0], -away[1])) <= FACING_DEG]
        if not behind:
            raise Unclear(f"{owner} has no rear line.", "Say the side by the compass.")
        return max(behind, key=lambda wall: math.dist(*wall))


def _walls_of(part: Polygon) -> list[Line]:
    """Straight sides, the outside to the left: the outline is gone around clockwise."""
    ring = orient(Polygon(part.exterior), sign=-1.0).exterior.simplify(STRAIGHT_M)
    return [(_pair(start), _pair(end)) for start, end in pairwise(ring.coords)]


def _corners_toward(shape: BaseGeometry, toward: Point) -> list[Point]:
    """Corners that stick out in a direction, within half a right angle."""
    found = []
    for part in polygons_of(shape):
        walls = _walls_of(part)
        for before, after in zip([walls[-1], *walls[:-1]], walls, strict=True):
            (a, b), (c, d) = _outward(before), _outward(after)
            # gone around clockwise, an outline turns right where a corner sticks out
            sticks_out = a * d - b * c < 0
            east, north = a + c, b + d
            if not sticks_out:
                continue
            share = (east * toward[0] + north * toward[1]) / math.hypot(east, north)
            if share >= math.cos(math.radians(FACING_DEG)):
                found.append(after[0])
    return found


def _farthest(walls: Sequence[Line], which: str, owner: str, where: str) -> Line:
    """Of sides that face the same way the one whose middle lies farthest in a direction."""
    toward = np.array(_direction(_way(which)))
    out = [float(np.array(_middle(wall)) @ toward) for wall in walls]
    order = sorted(range(len(walls)), key=lambda each: -out[each])
    if len(order) > 1 and out[order[0]] - out[order[1]] < ALIKE_M:
        what = f"{owner} has two sides that face {where}, as far in the {which}."
        first, second = (_middle(walls[each]) for each in order[:2])
        raise Unclear(what, f"Say which: {owner}:{where}{WHICH}{_apart(first, second, where)}.")
    return walls[order[0]]


def _way(which: str) -> int:
    """Number of a point of the compass by its name or its letters."""
    for names, said in ((COMPASS, which.lower()), (SHORT, which.upper())):
        if said in names:
            return names.index(said)
    raise Unclear(f"{which!r} is no point of the compass.", f"Write one of {', '.join(COMPASS)}.")


def _apart(one: Point, other: Point, faces: str = "") -> str:
    """The point of the compass by which two places can be told apart.

    ``faces``: the side that both look to; of sides that face north the eastern one is said.
    """
    across, up = abs(one[0] - other[0]), abs(one[1] - other[1])
    if faces:
        along = across if faces in ("north", "south") else up
        by_side = "east" if faces in ("north", "south") else "north"
        if along >= ALIKE_M:
            return by_side
    return "east" if across >= up else "north"


def _middle(wall: Line) -> Point:
    (x0, y0), (x1, y1) = wall
    return (x0 + x1) / 2, (y0 + y1) / 2


def _outward(wall: Line) -> Point:
    (x0, y0), (x1, y1) = wall
    length = math.dist(*wall)
    return -(y1 - y0) / length, (x1 - x0) / length


def _turned(wall: Line, toward: Point) -> float:
    """Angle between where a wall faces and a direction [deg]."""
    east, north = _outward(wall)
    return math.degrees(math.acos(max(-1.0, min(1.0, east * toward[0] + north * toward[1]))))


def _direction(number: int) -> Point:
    angle = math.radians(45.0 * number)
    return math.sin(angle), math.cos(angle)


def _pair(point: Sequence[float]) -> Point:
    return float(point[0]), float(point[1])


def _told(point: Sequence[float]) -> str:
    return f"({point[0]:.2f}, {point[1]:.2f})"
