"""What the page shows of a lot: everything drawn, what may be moved, rules, faults, settings."""

from __future__ import annotations

import datetime
from collections.abc import Iterator, Mapping, Sequence
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final, TypeAlias

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import Fault, InputError, RuleError
from siteplan.findings.words import words_of
from siteplan.rules.ruleset import rules_of
from siteplan.site.frame import LocalFrame
from siteplan.site.model import Feature, Site
from siteplan.site.options.choices import ANY_WALL, ENTRY, PARCEL
from siteplan.site.options.project import UNNAMED as OPEN
from siteplan.site.readers.site_file import read_site, site_from
from siteplan.units.lengths import format_length, parse_length
from siteplan.units.written import UnitError
from siteplan.vocabulary.kinds import kinds
from siteplan.vocabulary.loop_types import loop_types
from siteplan.web.drawn import canvas_over, feature_drawn, parcel_drawn, shape_told
from siteplan.web.fields import fault_told, on_page
from siteplan.web.ground import Ground
from siteplan.web.items import Drawing, Item, ways_told
from siteplan.web.leads import leads_to_mend
from siteplan.web.overlaps import overlaps_told
from siteplan.web.pond_marks import marks_told
from siteplan.web.tapes import measured_from, tapes_told

Json = dict[str, Any]
Taped: TypeAlias = Mapping[str, tuple[Mapping[str, Any], BaseGeometry]]
"""Things by name that a tape places: what is stated of each, and the shape it comes to [m]."""
HOUSE: Final = "building"
SAME_M: Final = 1e-4
"""Two shapes nearer than this are one [m]."""
DEED: Final = (
    "It follows the calls of a deed: a record, which nobody moves by dragging. As typed corners it "
    "is your own drawing, and the deed's text leaves the site file."
)
FILE: Final = (
    "It stands in {name}, as county or surveyor drew it: a record, which nobody moves by dragging. "
    "Where you know better, its corners are changed there."
)
SURVEY: Final = (
    "It comes with a file that holds the whole lot and is not changed here. Draw a property line "
    "of your own, or change it with the program that wrote it."
)
LAID_ON: Final = ("geometry", "feature", "entry", "rules")
"""Tables of the site file that draw the lot."""
UNNAMED: Final = {"title": "A lot", "owner": "Nobody", "date": datetime.date(2026, 1, 31)}
"""Of a title block that nobody sees."""
APART: Final = ("feature", "entry", "geometry", "prices")
"""Tables of the site file that are shown in places of their own: the figures of all others stand
under what is wanted, to be typed over."""


@dataclass(frozen=True, slots=True)
class Scene:
    """A lot as read from its files.

    Parameters
    ----------
    drawing
        Its files.
    site
        What they come to; None where they have faults.
    ground
        The same under its rules; None where a rule book has faults too.
    faults
        What is wrong, or still missing.
    known
        Things that a tape places, as they were when the files were read last without faults.
    """

    drawing: Drawing
    site: Site | None
    ground: Ground | None
    faults: tuple[Fault, ...]
    known: Taped = field(default_factory=dict)

    @property
    def taped(self) -> Taped:
        """Things that a tape places, for a reading of the files that fails."""
        if self.site is None:
            return self.known
        shapes = {feature.id: feature.shape for feature in self.site.features}
        items = (item for item in self.drawing.items() if item.points is None)
        return {item.name: (item.says, shapes[item.name]) for item in items if item.name in shapes}

    @property
    def frame(self) -> LocalFrame | None:
        """Frame of a lot with a coordinate system, where known."""
        known = self.site.georeference if self.site is not None else None
        return known if isinstance(known, LocalFrame) else self.drawing.frame

    def told(self) -> Json:
        """Everything as values for the page."""
        items = self.drawing.items()
        features = self._features(items)
        shapes = [feature.shape for _, feature in features]
        parcel = self._parcel(items)
        canvas = canvas_over([*shapes, *([parcel] if parcel is not None else [])], self._unit)
        unit = self._unit
        return {
            "unit": {"name": str(unit), "metres": unit.metres, "decimals": unit.sign_decimals},
            "title": self._title(),
            "parcel": self._parcel_told(canvas, parcel, items),
            "things": [
                *(self._thing(canvas, item, each) for item, each in features),
                *map(_plain, marks_told(items, [feature for _, feature in features])),
            ],
            "entries": list(self._entries(items)),
            "ways": ways_told(items),
            "parts": self.ground.parts() if self.ground is not None else [],
            "faults": self._faults(items),
            "overlaps": overlaps_told([feature for _, feature in features], unit),
            "closure": self._closure(),
            "deed": self._deed(),
            "settings": _settled(self.drawing.values),
            "granted": self._granted(),
            "measured": measured_from(self.site),
        }

    def drawn(self) -> Json:
        """What is drawn of it, for a picture beside others."""
        told = self.told()
        return {key: told[key] for key in ("parcel", "things")}

    def _title(self) -> str:
        project = self.drawing.values.get("project")
        return str(project.get("title", "")) if isinstance(project, Mapping) else ""

    @property
    def _unit(self) -> Any:
        return self.site.unit if self.site is not None else self.drawing.unit

    # --- the parcel

    def _parcel(self, items: list[Item]) -> Polygon | None:
        if self.site is not None:
            return self.site.parcel
        drawn = next((item.shape for item in items if item.kind == PARCEL and item.shape), None)
        return drawn if isinstance(drawn, Polygon) and drawn.is_valid else None

    def _parcel_told(self, canvas: Any, parcel: Polygon | None, items: list[Item]) -> Json | None:
        item = next((item for item in items if item.kind == PARCEL), None)
        typed = list(item.points) if item is not None and item.points else None
        if parcel is None:
            return {"ref": "parcel", "points": typed, "rings": [typed], "drawn": [],
                    "fixed": ""} if typed else None  # fmt: skip
        movable = item is not None and item.ref == "parcel" and typed is not None
        return {
            "ref": "parcel",
            "points": typed if movable else None,
            "rings": shape_told(parcel),
            "drawn": parcel_drawn(canvas, parcel),
            "area": float(parcel.area),
            **({"fixed": ""} if movable else self._fixed(parcel, item)),
        }

    def _fixed(self, parcel: Polygon, item: Item | None) -> Json:
        """Why the corners of a parcel are not dragged, and how they would be."""
        if self.site is not None and self.site.deed is not None:
            points = shape_told(parcel)[0][:-1]
            return {"fixed": DEED, "turn": "Turn it into typed corners", "typed": points}
        if item is not None and item.ref.startswith("file:") and item.points:
            words = FILE.format(name=self.drawing.lot)
            unlocked = {"ref": item.ref, "points": list(item.points)}
            return {"fixed": words, "turn": "Move its corners all the same", "unlocked": unlocked}
        return {"fixed": SURVEY}

    # --- things on it

    def _features(self, items: list[Item]) -> list[tuple[Item | None, Feature]]:
        """Each feature with where it stands in the files."""
        known = [item for item in items if item.kind in kinds()]
        if self.site is None:
            return list(_sketched(known, self.known))
        by_name = {item.name: item for item in known if item.name}
        left = [item for item in known if not item.name]
        found: list[tuple[Item | None, Feature]] = []
        for feature in self.site.features:
            item = by_name.get(feature.id)
            if item is None:
                item = next((each for each in left if _is_of(each, feature)), None)
                if item is not None:
                    left.remove(item)
            found.append((item, feature))
        # a thing at fault is shown by its points
        faulty = {fault.thing for fault in self.faults} - {each.id for _, each in found}
        sketched = [item for item in known if item.name and item.name in faulty]
        return [*found, *_sketched(sketched, self.known)]

    def _thing(self, canvas: Any, item: Item | None, feature: Feature) -> Json:
        taped = item is not None and item.points is None
        key = item.key if item is not None else ""
        says = _plain(dict(item.says)) if item is not None else {}
        return {
            "id": feature.id,
            "ref": item.ref if item is not None else "",
            "kind": feature.kind,
            "key": key,
            "points": list(item.points) if item is not None and item.points else None,
            "rings": shape_told(feature.shape),
            "is": feature.shape.geom_type,
            "says": says,
            "taped": taped and key != "",
            "tapes": self._tapes(item, feature.shape),
            **feature_drawn(canvas, feature),
        }

    def _tapes(self, item: Item | None, shape: BaseGeometry) -> list[list[Any]]:
        if self.site is None or item is None or item.points is not None:
            return []
        return tapes_told(item.says, shape, self.site)

    def _entries(self, items: list[Item]) -> Iterator[Json]:
        stated = [item for item in items if item.kind == ENTRY]
        if self.site is None:
            for each in stated:
                if each.points:
                    yield {"ref": each.ref, "id": each.name, "at": list(each.points[0])}
            return
        if self.site.any_wall and not any(each.kind == HOUSE for each in self.site.features):
            return
        for number, entry in enumerate(self.site.entries):
            named = (each for each in stated if each.name and each.name == entry.id)
            item: Item | None = next(named, None)
            if item is None and not self.site.any_wall and number < len(stated):
                item = stated[number]
            yield {
                "ref": item.ref if item is not None else "",
                "id": entry.id,
                "label": entry.label,
                "at": [entry.point.x, entry.point.y],
                "taped": item is not None and item.points is None,
                "tapes": self._tapes(item, entry.point),
                "says": _plain(dict(item.says)) if item is not None else {},
                "assumed": self.site.any_wall,
            }

    # --- words

    def _closure(self) -> Json | None:
        deed = self.site.deed if self.site is not None else None
        if deed is None:
            return None
        ratio = deed.perimeter_m / deed.miss_m if deed.miss_m > 0 else None
        unit = self._unit
        return {
            # as the sheet has it
            "miss": format_length(deed.miss_m, unit, rounding="up"),
            "perimeter": round(deed.perimeter_m / unit.metres, 1),
            "ratio": None if ratio is None or ratio > 1e6 else int(ratio),
            "limit": deed.limit,
            "calls": deed.calls,
        }

    def _deed(self) -> str:
        """The text of the deed, as it was pasted; empty where there is none."""
        geometry = self.drawing.values.get("geometry")
        deed = geometry.get("deed") if isinstance(geometry, Mapping) else None
        text = deed.get("text", "") if isinstance(deed, Mapping) else deed
        return str(text or "")

    def _granted(self) -> list[str]:
        if self.site is None:
            return []
        return [on_page(words_of(each, self.site.unit)) for each in self.site.granted]

    def _faults(self, items: list[Item]) -> list[Json]:
        drawn = any(item.kind == HOUSE for item in items)
        told = [fault_told(each, self.drawing.values, drawn=drawn) for each in self.faults]
        asked = [each for each in told if each["what"]]
        shown = {feature.id for _, feature in self._features(items)}
        return [{**each, "leads": leads_to_mend(each, shown)} for each in asked]


def _settled(values: Mapping[str, Any]) -> Any:
    """What is stated of the design; what a new site file asks to fill in is not stated yet."""
    told = _plain({key: value for key, value in values.items() if key not in APART})
    for key, text in list((told.get("project") or {}).items()):
        if isinstance(text, str) and text.strip().upper() == OPEN:
            del told["project"][key]
    return told


def scene_of(drawing: Drawing, path: Path) -> Scene:
    """The scene of the files as they are on disk.

    What is wanted of a permit is asked for by the plan; parcel and house are enough to draw on.
    """
    faults: tuple[Fault, ...] = ()
    try:
        site = read_site(path)
    except InputError as error:
        faults = error.faults
        try:
            site = read_site(path, quick=True)
        except InputError as missing:
            faults = missing.faults
            as_drawn = _as_drawn(drawing, path.parent)
            if as_drawn is None:
                return Scene(drawing, None, None, faults)
            site = as_drawn
    try:
        rules = rules_of(site)
    except RuleError as error:
        return Scene(drawing, site, None, error.faults)
    # of a thing that is not understood nobody knows what it is kept off by
    unknown = {fault.thing for fault in faults} - {"", *(each.id for each in site.features)}
    return Scene(drawing, site, None if unknown else Ground(site, rules), faults)


def _as_drawn(drawing: Drawing, folder: Path) -> Site | None:
    """The lot without the figures that are still missing or not understood; None: it has faults.

    What is drawn and the rules that hold are shown while somebody still types what is wanted.
    """
    faulty: frozenset[str] = frozenset()
    for kept in ((*LAID_ON, *loop_types()), LAID_ON):
        try:
            return site_from(_drawn_alone(drawing, kept), folder=folder)
        except InputError as error:
            faulty = frozenset(fault.thing for fault in error.faults)
    # a thing that is not yet understood takes nothing else off the board
    alone = _drawn_alone(drawing, LAID_ON)
    rows = alone.get("feature", [])
    left = [row for row in rows if isinstance(row, Mapping) and row.get("id") not in faulty]
    with suppress(InputError):
        return site_from({**alone, "feature": left}, folder=folder)
    return None


def _drawn_alone(drawing: Drawing, kept: Sequence[str]) -> Json:
    """Some tables of the site file, and what a lot has to say besides."""
    values = drawing.values
    wanted = values.get("exchanger")
    entry = wanted.get("entry", ANY_WALL) if isinstance(wanted, Mapping) else ANY_WALL
    # entries drawn stand in a table of their own
    enters = {} if "entry" in values else {"entry": entry}
    made = {"project": {**UNNAMED, "units": drawing.unit.name},
            "exchanger": {"capacity": "1 ton", **enters}}  # fmt: skip
    return {**{k: values[k] for k in kept if k in values}, **made}


def faults_of(name: str, drawing: Drawing, folder: Path) -> tuple[Fault, ...]:
    """What is wrong with one thing drawn on a lot; nothing where it is understood."""
    try:
        site_from(_drawn_alone(drawing, LAID_ON), folder=folder)
    except InputError as error:
        return tuple(fault for fault in error.faults if fault.thing == name)
    return ()


def _sketched(items: list[Item], taped: Taped) -> Iterator[tuple[Item, Feature]]:
    """Features as far as their points are known, where the files have faults.

    What a tape places is shown where it was, as long as the same is stated of it.
    """
    for number, item in enumerate(items):
        said, before = taped.get(item.name, ({}, None))
        shape = before if item.points is None and said == item.says else item.shape
        if shape is not None and not shape.is_empty and shapely.is_valid(shape):
            label = str(item.says.get("label") or "")
            name = item.name or f"{item.kind} {number + 1}"
            yield item, Feature(name, item.kind, shape, label, width_m=_width(item))


def _width(item: Item) -> float:
    """Width of a line as far as it is understood [m]."""
    with suppress(UnitError):
        return parse_length(item.says.get("width", 0), "ft")
    return 0.0


def _is_of(item: Item, feature: Feature) -> bool:
    if item.kind != feature.kind:
        return False
    shape = item.shape
    return shape is None or shape.hausdorff_distance(feature.shape) < SAME_M


def _plain(value: Any) -> Any:
    """Values that JSON can hold."""
    if isinstance(value, Mapping):
        return {str(key): _plain(inner) for key, inner in value.items() if inner is not None}
    if isinstance(value, (list, tuple)):
        return [_plain(inner) for inner in value]
    if isinstance(value, datetime.date):
        return value.isoformat()
    return value if isinstance(value, (int, float, bool)) else str(value)
