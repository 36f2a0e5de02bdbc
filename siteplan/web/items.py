"""What a lot's files draw, each thing with its place in them and its points in metres."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.site.frame import LocalFrame, is_geographic
from siteplan.site.options.choices import ENTRY, MEASURED, PARCEL
from siteplan.site.options.declared import every_option
from siteplan.units.model import UnitSystem
from siteplan.units.systems import UNIT_SYSTEMS
from siteplan.vocabulary.kinds import kind_called
from siteplan.web.document import SHAPES, Op, refused
from siteplan.web.lot_file import (
    DECIMALS,
    GEOGRAPHIC_DECIMALS,
    XY,
    features_of,
    named_lot,
    plain_points,
    with_points,
    with_property,
    without,
)
from siteplan.web.merge import Files
from siteplan.web.ways_in import PLACES, SHORT, points_at

KEYS: Final = {"Point": "at", "LineString": "line", "Polygon": "area"}
LEAST: Final = {"at": 1, "line": 2, "area": 3}
NAMED: Final = ("id", "kind")
WAY_IN: Final = "way in"
"""Kind of a place where a machine comes in over the property line; it has the machine's name."""
SAID: Final = frozenset(
    path.removeprefix("feature.")
    for path in (option.path for option in every_option())
    if path.startswith("feature.") and path.count(".") == 1
) - {*SHAPES, *NAMED}
"""What may be stated of a feature beside its place."""


@dataclass(frozen=True, slots=True)
class Item:
    """One thing drawn in the files.

    Parameters
    ----------
    ref
        Where it stands: ``parcel``, ``feature:3``, ``entry:0``, ``short:0`` or ``file:5``.
    kind, name
        Kind by its own name, and its id; empty where it has none.
    key
        ``at``, ``line``, ``area`` or ``walls``.
    points
        In local metres; None where a tape places it, or no frame is known.
    says
        Everything stated of it.
    """

    ref: str
    kind: str
    name: str
    key: str
    points: tuple[XY, ...] | None
    says: Mapping[str, Any]

    @property
    def shape(self) -> BaseGeometry | None:
        """Its shape in local metres; None where it has no points, or too few."""
        if self.points is None or len(self.points) < LEAST.get(self.key, 1):
            return None
        if self.key == "at":
            return shapely.Point(self.points[0])
        if self.key == "line":
            return shapely.LineString(self.points)
        return shapely.Polygon(self.points)


@dataclass(frozen=True, slots=True)
class Drawing:
    """The files of a lot, read for what they draw.

    Parameters
    ----------
    files, name
        Texts, and which of them is the site file.
    frame
        Of a lot with a coordinate system; None: local coordinates, or not known.
    """

    files: Files
    name: str
    frame: LocalFrame | None = None

    @property
    def values(self) -> Mapping[str, Any]:
        """The site file as tables; empty where it cannot be read."""
        return _parsed(self.files[self.name])

    @property
    def unit(self) -> UnitSystem:
        """Unit of bare numbers."""
        word = _table(self.values, "project").get("units", "ft")
        return UNIT_SYSTEMS.get(word if isinstance(word, str) else "ft", UNIT_SYSTEMS["ft"])

    @property
    def lot(self) -> str:
        """Name of the GeoJSON that holds the lot; empty where none is edited here."""
        name = named_lot(self.files[self.name])
        return name if name in self.files else ""

    def items(self) -> list[Item]:
        """Everything drawn, the parcel first."""
        return [*self._parcel(), *self._of_file(), *self._of_tables()]

    def shows(self, name: str) -> bool:
        """Whether a thing is seen whatever else is wrong with the files: its points are typed."""
        shapes = (item.shape for item in self.items() if item.name == name)
        return any(shape is not None and shape.is_valid for shape in shapes)

    # --- reading

    def _parcel(self) -> Iterator[Item]:
        points = _table(self.values, "geometry").get("parcel")
        own = _pairs(points)
        if points is not None:
            yield Item("parcel", PARCEL, "parcel", "area", self._local(own, "local"), {})

    def _of_file(self) -> Iterator[Item]:
        for number, feature in enumerate(features_of(self.files[self.lot]) if self.lot else ()):
            geometry, says = feature.get("geometry") or {}, feature.get("properties") or {}
            points = plain_points(geometry) if isinstance(geometry, dict) else None
            key = KEYS.get(str(geometry.get("type")), "")
            kind = kind_called(str(says.get("kind", "")))
            name = str(says.get("id") or "")
            local = self._local(points, "file") if key else None
            yield Item(f"file:{number}", kind, name, key, local, says)

    def _of_tables(self) -> Iterator[Item]:
        for number, says in enumerate(_rows(self.values, "feature")):
            yield self._of_table(f"feature:{number}", says, kind_called(str(says.get("kind", ""))))
        for number, says in enumerate(_rows(self.values, "entry")):
            yield self._of_table(f"entry:{number}", says, ENTRY)
        for kind in PLACES:
            called = ENTRY if kind == SHORT else WAY_IN
            for number, point in enumerate(_pairs(points_at(self.values, kind)) or ()):
                name = "" if kind == SHORT else kind
                at = self._local([point], "local")
                yield Item(f"{kind}:{number}", called, name, "at", at, {})

    def _of_table(self, ref: str, says: Mapping[str, Any], kind: str) -> Item:
        key = next((key for key in ("at", "line", "area", *MEASURED) if key in says), "")
        value = says.get(key)
        points = _pairs([value] if key == "at" else value)
        local = self._local(points, self._system(ref.partition(":")[0]))
        return Item(ref, kind, str(says.get("id") or ""), key, local, says)

    @property
    def _own(self) -> str:
        """What features of the site file are written in: the unit, or the file's system."""
        return str(_table(self.values, "geometry").get("coordinates", "local"))

    def _local(self, points: Sequence[XY] | None, written: str) -> tuple[XY, ...] | None:
        if points is None:
            return None
        if written == "file":
            if self.frame is None:
                return None if self.lot else self._scaled(points)
            shape = self.frame.localize(shapely.MultiPoint(points))
            return tuple((float(x), float(y)) for x, y in shapely.get_coordinates(shape))
        return self._scaled(points)

    def _scaled(self, points: Sequence[XY]) -> tuple[XY, ...]:
        factor = self.unit.metres
        return tuple((x * factor, y * factor) for x, y in points)

    # --- writing

    def changed(self, op: Op) -> tuple[Files, Op | None]:
        """Files after a change of the lot's file, and what is left to do in the site file."""
        if op.get("op") == "any wall":
            return self._without_entries(), op
        if "id" in op and "ref" not in op:
            op = self._named(op)
        ref = str(op.get("ref", ""))
        if op.get("op") == "add" and "points" in op:
            return self.files, self._added(op)
        if op.get("op") in ("points", "way in") and not ref.startswith("file:"):
            own = self._written(op["points"], self._system(ref.partition(":")[0]))
            return self.files, {**op, "points": own}
        if op.get("op") in ("shift", "corner"):
            return self.files, self._cornered(op)
        if not ref.startswith("file:"):
            return self.files, op
        return self._changed_in_file(int(ref.removeprefix("file:")), op)

    def _changed_in_file(self, number: int, op: Op) -> tuple[Files, Op | None]:
        """Files after a change of something that stands in the lot's file."""
        text, left = self.files[self.lot], None
        if op["op"] == "points":
            own = self._written(op["points"], "file")
            text = with_points(text, number, own, decimals=self._decimals())
        elif op["op"] == "say" and op["key"] in SAID:
            text = with_property(text, number, str(op["key"]), op["value"])
        elif op["op"] == "place":
            # a GeoJSON knows no tapes: what is placed by them stands in the site file from now on
            says = features_of(text)[number].get("properties") or {}
            told = {key: value for key, value in says.items() if key in SAID or key in NAMED}
            left = {"op": "add", "list": "feature", "values": {**told, str(op["key"]): op["value"]}}
            text = without(text, number)
        elif op["op"] == "delete":
            text = without(text, number)
        else:
            raise refused(f"this cannot be changed in {self.lot}.")
        return {**self.files, self.lot: text}, left

    def _cornered(self, op: Op) -> Op:
        """What goes by its walls elsewhere: its first corner at a point, or by so many metres."""
        system = self._system("feature")
        point = op["at"] if op["op"] == "corner" else self._shifted(op, system)
        value = list(self._written([point], system)[0])
        return {"op": "place", "ref": op["ref"], "key": "corner", "value": value}

    def _shifted(self, op: Op, system: str) -> list[float]:
        says = next((item.says for item in self.items() if item.ref == op["ref"]), {})
        corner = _pairs([says.get("corner")])
        if corner is None:
            raise refused("its first corner is measured from something else: type that over.")
        local = self._local(corner, system) or corner
        return [axis + float(by) for axis, by in zip(local[0], op["by"], strict=True)]

    def _without_entries(self) -> Files:
        """Files without the entries that stand in the lot's file."""
        text = self.files[self.lot] if self.lot else ""
        for number in reversed([int(item.ref.removeprefix("file:")) for item in self._of_file()
                                if item.kind == ENTRY]):  # fmt: skip
            text = without(text, number)
        return {**self.files, self.lot: text} if self.lot else self.files

    def _named(self, op: Op) -> Op:
        """A change of a thing that is told by its name, with where it stands."""
        ref = next((item.ref for item in self.items() if item.name == op["id"]), None)
        if ref is None:
            raise refused(f"{op['id']!r} is named nowhere in the files: state it by hand.")
        return {**op, "ref": ref}

    def _added(self, op: Op) -> Op:
        """An addition with its points in the numbers of the file."""
        key = str(op["key"])
        rows = [list(pair) for pair in self._written(op["points"], self._system(str(op["list"])))]
        return {**op, "values": {**op["values"], key: rows[0] if key == "at" else rows}}

    def _system(self, what: str) -> str:
        """What the points of a table are written in: entries and parcel in the unit always."""
        return self._own if what == "feature" else "local"

    def _decimals(self) -> int:
        if self.frame is not None and is_geographic(self.frame.crs):
            return GEOGRAPHIC_DECIMALS
        return DECIMALS

    def _written(self, points: Sequence[Sequence[float]], written: str) -> list[XY]:
        """Points in the numbers of the file, from local metres."""
        pairs = [(float(x), float(y)) for x, y in points]
        if written == "file" and self.frame is not None:
            shape = self.frame.written(shapely.MultiPoint(pairs))
            return [(float(x), float(y)) for x, y in shapely.get_coordinates(shape)]
        factor, decimals = self.unit.metres, 2 if self.unit.metres < 1 else 3
        return [(round(x / factor, decimals), round(y / factor, decimals)) for x, y in pairs]

    def with_text(self, text: str) -> Drawing:
        """The same with another text of the site file."""
        return replace(self, files={**self.files, self.name: text})


def ways_told(items: Sequence[Item]) -> list[dict[str, Any]]:
    """Where machines come in over the property line, as stated."""
    stated = [item for item in items if item.kind == WAY_IN and item.points]
    found = []
    for machine in dict.fromkeys(item.name for item in stated):
        of_it = [item for item in stated if item.name == machine]
        for number, item in enumerate(of_it, 1):
            name = f"way in, {machine}" + (f" {number}" if number > 1 else "")
            at = list((item.points or ())[0])
            found.append({"ref": item.ref, "id": name, "machine": machine, "at": at})
    return found


@lru_cache(maxsize=4)
def _parsed(text: str) -> Mapping[str, Any]:
    """Tables of a site file, which every item asks for; nobody changes them."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        return {}


def _table(values: Mapping[str, Any], name: str) -> Mapping[str, Any]:
    table = values.get(name)
    return table if isinstance(table, Mapping) else {}


def _rows(values: Mapping[str, Any], name: str) -> list[Mapping[str, Any]]:
    rows = values.get(name)
    return [row for row in rows if isinstance(row, Mapping)] if isinstance(rows, list) else []


def _pairs(value: Any) -> list[XY] | None:
    """Pairs of numbers; None where one is something else."""
    if not isinstance(value, list) or not value:
        return None
    if not all(
        isinstance(each, list)
        and len(each) == 2
        and all(isinstance(axis, (int, float)) and not isinstance(axis, bool) for axis in each)
        for each in value
    ):
        return None
    return [(float(x), float(y)) for x, y in value]
