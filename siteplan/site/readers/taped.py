"""Features placed as they are measured in a yard: by ties, along and off a line, wall by wall."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.tape import along_and_off, best_place, crossings, miss
from siteplan.reading import ARRAYS, Pair, Table, as_pair
from siteplan.site.options.choices import MEASURED, OFFSET, PARCEL, TIES, WALLS
from siteplan.site.readers.named_places import NotYet, Places, Unclear
from siteplan.site.readers.raw import RawFeature, make_shape
from siteplan.site.walls import COMPASS
from siteplan.units.lengths import FOOT, format_length, parse_bearing, parse_length
from siteplan.units.written import UnitError

TURN: Final = re.compile(r"(R|L)(?:(?<=R)ight|(?<=L)eft)?(?: *(\d+(?:\.\d+)?))?", re.IGNORECASE)
ALONG: Final = re.compile(r"(\w+) along (.+)")
EXAMPLE_TIES: Final = '{ ties = [["house:NE", "42 ft 6 in"], ["well", "31 ft"]], side = "north" }'
EXAMPLE_OFF: Final = '{ off = [["parcel:west", "12 ft"], ["parcel:south", "30 ft"]] }'
EXAMPLE_WALLS: Final = 'Write ["40 ft", "R", "28 ft", "R", "40 ft"], each turn by itself.'
OFF: Final = "off"
LEAST_CROSSED: Final = 0.17
"""Sine of the least angle at which two lines cross to place a point by them: about 10 degrees,
where an inch off a line moves the point by half a foot."""
AGREE_M: Final = 1.0 * FOOT
"""What three tapes, or the walls of a building, may be off and still be meant; common practice, no
source [m]."""
ENDS_APART: Final = 0.5
"""Share of a line's length that its ends must lie apart in a direction to be told by it."""
LEAST_WALLS: Final = 3
SQUARE: Final = 0.02
"""Cosine of an angle that is meant to be square."""
SHAPES: Final = {"at": "point", "line": "line", "area": "polygon"}
DRAWN_AS: Final = {**SHAPES, WALLS: "polygon"}


def is_taped(table: Table) -> bool:
    """Whether a feature is placed by a tape, at least at one of its points."""
    if any(key in table.values for key in MEASURED):
        return True
    for value in (table.values.get(key) for key in SHAPES):
        if any(
            isinstance(item, Mapping) for item in (value if isinstance(value, ARRAYS) else [value])
        ):
            return True
    return False


def placed_by_tape(raws: Sequence[RawFeature], parcel: BaseGeometry) -> list[RawFeature]:
    """Raw features in local metres, those to be placed by a tape placed too, in the same order.

    What is measured from another feature waits for that one. Faults go to the tables; without a
    parcel, which is a fault of its own, nothing is placed.
    """
    done = list(raws)
    waiting = [index for index, raw in enumerate(raws) if raw.taped and parcel.area > 0]
    while waiting:
        places = _places(done, waiting, parcel)
        later = []
        for index in waiting:
            raw = done[index]
            try:
                shape = _shape_of(raw.table, places)
            except NotYet:
                later.append(index)
                continue
            done[index] = replace(raw, shape=shape or shapely.Point(), taped=False)
        if len(later) == len(waiting):
            for index in later:
                done[index].table.fault(
                    "", "is measured from what is measured from it.", "Place one of them otherwise."
                )
            break
        waiting = later
    return done


def _places(raws: Sequence[RawFeature], waiting: Sequence[int], parcel: BaseGeometry) -> Places:
    """What is placed so far, by id; a kind that is there once may be called by its kind."""
    shapes: dict[str, BaseGeometry] = {PARCEL: parcel}
    kinds = [raw.kind for raw in raws]
    for index, raw in enumerate(raws):
        names = _names(raw, alone=kinds.count(raw.kind) == 1)
        if index not in waiting and not raw.shape.is_empty:
            shapes |= dict.fromkeys(names, raw.shape)
    later = {name for index in waiting
             for name in _names(raws[index], alone=kinds.count(kinds[index]) == 1)}  # fmt: skip
    streets = [raw.shape for raw in raws if raw.kind == "street" and not raw.shape.is_empty]
    return Places(shapes, frozenset(later), streets)


def _names(raw: RawFeature, *, alone: bool) -> list[str]:
    word, own = raw.table.values.get("kind"), raw.table.values.get("id")
    names = [own] if isinstance(own, str) else []
    if alone:
        names += [raw.kind, *([word] if isinstance(word, str) else [])]
    return names


@dataclass(frozen=True, slots=True)
class _Reader:
    """Reads places of one feature; what is wrong is raised, to be noted at the feature."""

    table: Table
    places: Places

    def place(self, value: Any) -> Pair:
        """Local metres of ``[x, y]``, a name, ``{ ties = }``, ``{ line = }`` or ``{ off = }``."""
        if isinstance(value, str):
            return self.places.point(value)
        if isinstance(value, Mapping):
            if TIES in value:
                return self._tied(value)
            if "line" in value:
                return self._off_a_line(value)
            if OFF in value:
                return self._off_two_lines(value[OFF])
            raise Unclear("is neither tied nor off a line.", f"Write {EXAMPLE_TIES}.")
        pair = as_pair(value)
        if pair is None:
            raise Unclear(f"{value!r} is not a place.", "Write [x, y], ties, or off a line.")
        factor = self.table.unit.metres
        return pair[0] * factor, pair[1] * factor

    def _tied(self, value: Mapping[str, Any]) -> Pair:
        ties = value[TIES]
        pairs = isinstance(ties, ARRAYS) and all(
            isinstance(tie, ARRAYS) and len(tie) == 2 for tie in ties
        )
        if not pairs or len(ties) < 2:
            raise Unclear(f"{ties!r} are not two ties.", f"Write {EXAMPLE_TIES}.")
        points = [self.place(point) for point, _ in ties]
        lengths = [self._length(length) for _, length in ties]
        if len(ties) == 2:
            return self._crossing(points, lengths, value.get("side"))
        place, worst = best_place(points, lengths)
        if worst > AGREE_M:
            raise Unclear(
                f"the ties do not meet: one is off by {self._told(worst)}.", "Measure again."
            )
        return place

    def _crossing(self, points: list[Pair], lengths: list[float], side: Any) -> Pair:
        places = crossings(points[0], lengths[0], points[1], lengths[1])
        if not places:
            by = miss(points[0], lengths[0], points[1], lengths[1])
            raise Unclear(f"the two tapes miss each other by {self._told(by)}.", "Measure again.")
        if len(places) == 1:
            return places[0]
        if side is None:
            where = " and ".join(self._spot(place) for place in places)
            what = f"is not said, and the tapes cross twice: {where}."
            raise Unclear(what, 'Write side = "north", "southeast" ...', "side")
        east, north = _toward(side, "side")
        first, second = sorted(places, key=lambda spot: -(spot[0] * east + spot[1] * north))
        apart = (first[0] - second[0]) * east + (first[1] - second[1]) * north
        if apart < AGREE_M:
            what = f"{side!r} does not tell the two crossings apart."
            raise Unclear(what, "Say the side across the line between the two points.", "side")
        return first

    def _off_a_line(self, value: Mapping[str, Any]) -> Pair:
        name = str(value["line"])
        start, end = self.places.line(name)
        off, station = self._length(value.get("off", 0.0)), self._length(value.get("station", 0.0))
        sign = _sign(name, value.get("side"), start, end)
        begin = value.get("from")
        east, north = _toward(begin, "from")
        ahead = (start[0] - end[0]) * east + (start[1] - end[1]) * north
        if abs(ahead) < ENDS_APART * math.dist(start, end):
            what = f"{begin!r} does not tell the ends of the line apart."
            raise Unclear(what, "Say the other direction.", "from")
        if ahead < 0:
            start, end, sign = end, start, -sign
        return along_and_off(start, end, station, sign * off)

    def _off_two_lines(self, rows: Any) -> Pair:
        """Where two parallels cross, each so far off its wall or line."""
        known = isinstance(rows, ARRAYS) and all(
            isinstance(row, ARRAYS) and len(row) in (2, 3) and isinstance(row[0], str)
            for row in rows
        )
        if not known or len(rows) != 2:
            raise Unclear(f"{rows!r} are not two lines with distances.", f"Write {EXAMPLE_OFF}.")
        steps, reaches = [], []
        for name, off, *side in rows:
            start, end = self.places.line(name)
            sign = _sign(name, side[0] if side else None, start, end)
            x, y = along_and_off(start, end, 0.0, sign * self._length(off))
            east, north = (np.subtract(end, start) / math.dist(start, end)).tolist()
            steps.append((-north, east))
            reaches.append(-north * x + east * y)
        if abs(steps[0][0] * steps[1][1] - steps[0][1] * steps[1][0]) < LEAST_CROSSED:
            both = " and ".join(str(row[0]) for row in rows)
            raise Unclear(f"{both} run nearly alike.", "Measure off two lines that cross.")
        found = np.linalg.solve(np.array(steps), np.array(reaches))
        return float(found[0]), float(found[1])

    def walls(self, value: Any) -> list[Pair]:
        """Corners of a building from its first corner, direction and walls."""
        if not isinstance(value, ARRAYS) or len(value) < LEAST_WALLS:
            raise Unclear(f"{value!r} is no list of walls.", EXAMPLE_WALLS)
        if not any(_turn_of(item) is not None for item in value):
            raise Unclear("say no turn, right or left, between two walls.", EXAMPLE_WALLS)
        corners, heading = [self.place(self.table.raw("corner"))], self._heading()
        for item in value:
            turn = _turn_of(item)
            if turn is not None:
                heading += turn
                continue
            length, (x, y) = self._length(item), corners[-1]
            angle = math.radians(heading)
            corners.append((x + length * math.sin(angle), y + length * math.cos(angle)))
        return self._closed(corners)

    def _closed(self, corners: list[Pair]) -> list[Pair]:
        """Corners once each; the last wall may be left out where it is square to the first."""
        off = math.dist(corners[0], corners[-1])
        if off <= AGREE_M:
            return corners[:-1]
        first, last = np.subtract(corners[1], corners[0]), np.subtract(corners[0], corners[-1])
        skew = abs(float(first @ last)) / (np.hypot(*first) * np.hypot(*last))
        if len(corners) > LEAST_WALLS and skew < SQUARE:
            return corners
        what = f"do not come back to the corner: {self._told(off)} are missing."
        raise Unclear(what, "Measure again, or leave out the last wall alone.")

    def _heading(self) -> float:
        """Direction of the first wall, clockwise from north [deg]."""
        value = self.table.raw("direction")
        match = ALONG.fullmatch(value.strip()) if isinstance(value, str) else None
        if match:
            return self._along(match[1], match[2])
        try:
            return parse_bearing(value if value is not None else "")
        except UnitError as error:
            mend = 'Or "east", or "east along parcel:south".'
            raise Unclear(f"{error}".rstrip(".") + ".", mend, "direction") from None

    def _along(self, toward: str, name: str) -> float:
        """Direction along a line that leads toward a point of the compass [deg]."""
        (x0, y0), (x1, y1) = self.places.line(name)
        east, north = _toward(toward, "direction")
        ahead = (x1 - x0) * east + (y1 - y0) * north
        if abs(ahead) < ENDS_APART * math.hypot(x1 - x0, y1 - y0):
            what = f"{toward} does not tell the ends of {name} apart."
            raise Unclear(what, "Say the other direction.", "direction")
        return math.degrees(math.atan2(x1 - x0, y1 - y0)) + (180.0 if ahead < 0 else 0.0)

    def _length(self, value: Any) -> float:
        try:
            length = parse_length(value, self.table.unit.name)
        except UnitError as error:
            raise Unclear(f"{error}".rstrip(".") + ".", "") from None
        if length < 0:
            raise Unclear(f"{value!r} is less than nothing.", "Give zero or more.")
        return length

    def _told(self, length_m: float) -> str:
        return format_length(length_m, self.table.unit, 1, rounding="up")

    def _spot(self, place: Pair) -> str:
        factor = self.table.unit.metres
        return f"({place[0] / factor:.1f}, {place[1] / factor:.1f})"


def _sign(name: str, side: Any, start: Pair, end: Pair) -> float:
    """Whether off a line is to its left, 1, or to its right, -1."""
    owner, _, which = name.partition(":")
    if which and side is None:
        # the outside of an outline lies to the left of its sides: off a house is out, off a
        # property line is in
        return -1.0 if owner == PARCEL else 1.0
    east, north = _toward(side, "side")
    left = -(end[1] - start[1]) * east + (end[0] - start[0]) * north
    return 1.0 if left > 0 else -1.0


def _shape_of(table: Table, places: Places) -> BaseGeometry | None:
    """Shape of a feature placed by a tape; None where it has a fault."""
    read = _Reader(table, places)
    key = next(key for key in (*MEASURED, *SHAPES) if table.has(key))
    value = table.raw(key)
    try:
        if key == WALLS:
            points = read.walls(value)
        elif key == TIES:
            points = [read.place({TIES: value, "side": table.raw("side")})]
        elif key in (OFFSET, "at"):
            points = [read.place(value)]
        else:
            points = [read.place(item) for item in value]
    except Unclear as unclear:
        table.fault(unclear.key or key, unclear.what, unclear.mend)
        return None
    return make_shape(DRAWN_AS.get(key, "point"), points, table, key)


def judge_measures(table: Table) -> None:
    """Note what says nothing without the measure that it belongs to."""
    for key, owner in (("side", TIES), ("corner", WALLS), ("direction", WALLS)):
        if table.has(key) and not table.has(owner):
            table.fault(key, f"is given without {owner}.", f"Add {owner}, or remove it.")


def _turn_of(item: Any) -> float | None:
    """Turn of ``"R"``, ``"L"`` or ``"R 45"`` to the right [deg]; None: it is a wall."""
    match = TURN.fullmatch(item.strip()) if isinstance(item, str) else None
    if match is None:
        return None
    angle = float(match[2]) if match[2] else 90.0
    return angle if match[1].upper() == "R" else -angle


def _toward(side: Any, key: str) -> Pair:
    """Unit step in a direction of the compass."""
    if side not in COMPASS:
        raise Unclear(f"{side!r} is no direction.", f"Write one of {', '.join(COMPASS)}.", key)
    angle = math.radians(45.0 * COMPASS.index(side))
    return math.sin(angle), math.cos(angle)
