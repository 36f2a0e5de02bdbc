"""The lot of a site file: parcel, features and entries, brought into one local frame."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import shapely
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.findings.model import Reason
from siteplan.reading import Table
from siteplan.rule_books.model import Rule
from siteplan.site.adjoining import AdjoiningParcel, lots_beside
from siteplan.site.deed import DeedClosure
from siteplan.site.frame import LocalFrame, frame_around, is_geographic
from siteplan.site.model import Entry, Feature
from siteplan.site.options.choices import ANY_WALL, ENTRY, MEASURED, ONE_WALL, PARCEL
from siteplan.site.options.read import Read
from siteplan.site.readers.deed import read_deed
from siteplan.site.readers.features import FeatureReader
from siteplan.site.readers.judge import (
    entries_on,
    judge_any_wall,
    judge_entry_names,
    judge_lot,
    judge_numbers,
    judge_parcel,
    judge_place,
    judge_position,
)
from siteplan.site.readers.layers import LayerAsked, features_of, layers_asked, moved_to_lot
from siteplan.site.readers.lighter import lightened
from siteplan.site.readers.mend import mended, without_guesses
from siteplan.site.readers.raw import (
    SHAPE_KEYS,
    RawFeature,
    make_shape,
    plain_kind,
    shape_of_others,
)
from siteplan.site.readers.taped import is_taped, judge_measures, placed_by_tape
from siteplan.site.repairs import Repair
from siteplan.site.survey import SurveyDrawing
from siteplan.site.walls import served_building, wall_entries_of

OWN_SHARE = 0.5
"""Share of a building that lies on the lot where it is the lot's own."""
TOLD = 5
"""So many parts of a lot are told."""


@dataclass(frozen=True, slots=True)
class Lot:
    """What the geometry of a site file comes to, in local metres."""

    parcel: Polygon
    features: tuple[Feature, ...]
    entries: tuple[Entry, ...]
    rules: tuple[Rule, ...]
    frame: LocalFrame | None
    any_wall: bool = False
    wall: str = ""
    deed: DeedClosure | None = None
    survey: SurveyDrawing | None = None
    repairs: tuple[Repair, ...] = ()
    adjoining: tuple[AdjoiningParcel, ...] = ()
    assumed: tuple[Reason, ...] = ()


def read_lot(given: Read, folder: Path, *, quick: bool = False) -> Lot | None:
    """Lot of a site file, or None where its parcel cannot be made out.

    Parameters
    ----------
    given
        The whole site file; faults go where its faults go.
    folder
        Where files named by the site file are looked up.
    quick
        Whether pipes may enter anywhere on a lot of which no house is known.
    """
    root, table = given.table, given["geometry"].table
    before = len(root.faults)
    raws, closure = _everything(given, folder)
    if not judge_numbers(raws, table):
        return None
    whole = given["geometry"].whole and len(root.faults) == before
    parcel_raw = _the_parcel(raws, table, whole=whole)
    if parcel_raw is not None and not judge_parcel(parcel_raw):
        parcel_raw, whole = None, False
    frame = _frame(parcel_raw) if parcel_raw is not None else None
    if parcel_raw is not None and parcel_raw.crs and frame is None:
        return None
    _judge_systems(raws, parcel_raw, table)
    placed = [_place(parcel_raw, frame)] if parcel_raw is not None else []
    own, lot_repairs = _ready(placed)
    parcel = own[0].shape if own else Point()
    others, guesses = without_guesses([_place(raw, frame) for raw in raws if raw.kind != PARCEL])
    drawn, repairs = _ready(others)
    reader = FeatureReader(quick=quick)
    for raw in placed_by_tape(drawn, parcel):
        reader.read(raw)
    features = reader.features()
    entries, any_wall = _all_entries(given, reader, parcel)
    wall = _wall_asked(given)
    if any_wall and wall:
        entries = entries_on(wall, entries, given.table)
    if quick and not entries and isinstance(parcel, Polygon):
        entries = (Entry("", parcel.representative_point()),)
    if whole:
        judge_entry_names(entries, root)
    if parcel_raw is None:
        return None
    if not isinstance(parcel, Polygon) or not judge_place(parcel_raw, parcel):
        return None
    judge_lot(parcel, reader.read_features, entries, root)
    return Lot(
        shapely.normalize(parcel), features, entries, tuple(reader.rules), frame, any_wall, wall,
        closure, parcel_raw.drawing, (*lot_repairs, *repairs, *guesses),
        tuple(lots_beside(reader.adjoining, parcel)), tuple(reader.assumed),
    )  # fmt: skip


def _ready(raws: Sequence[RawFeature]) -> tuple[list[RawFeature], list[Repair]]:
    """Features in local metres, mended and of no more corners than are planned with."""
    kept, repairs = mended(raws)
    lighter, thinned = lightened(kept)
    return lighter, [*repairs, *thinned]


def _frame(parcel: RawFeature) -> LocalFrame | None:
    """Frame around the parcel; None in local coordinates, or nowhere on earth: a fault."""
    if not parcel.crs:
        return None
    try:
        frame = frame_around(parcel.shape, parcel.crs)
    except GeometryError as error:
        parcel.table.fault("", str(error), "Check [geometry] crs.")
        return None
    judge_position(parcel, frame)
    return frame


def _everything(given: Read, folder: Path) -> tuple[list[RawFeature], DeedClosure | None]:
    """All that is drawn, the parcel of a deed too, and how the deed closes."""
    raws = _raw_features(given, folder)
    own_deed: Read | None = given["geometry"]["deed"]
    by_deed, closure = read_deed(own_deed) if own_deed is not None else (None, None)
    return raws + ([by_deed] if by_deed is not None else []), closure


def _raw_features(given: Read, folder: Path) -> list[RawFeature]:
    geometry: Read = given["geometry"]
    raws: list[RawFeature] = []
    asked = layers_asked(geometry, folder)
    if geometry.says("crs") and not asked:
        geometry.fault("crs", "is given without a file.", "Local coordinates have none: remove it.")
    if geometry["parcel"] is not None:
        shape = make_shape("polygon", geometry["parcel"], geometry.table, "parcel")
        if shape is not None:
            where = f"{geometry.table.where}, parcel"
            own = Table({"kind": PARCEL}, where, geometry.table.faults, geometry.unit)
            raws.append(RawFeature(where, shape, own))
    # the parcel comes first: of a county's other layers only what lies near it is read
    for layer in sorted(asked, key=_parcel_last_in):
        parcel = next((raw for raw in raws if raw.kind == PARCEL), None)
        near = parcel if _parcel_last_in(layer) else None
        raws.extend(features_of(layer, near))
    raws = moved_to_lot(raws, geometry.table)
    crs = next((raw.crs for raw in raws if raw.from_file), None)
    in_file = geometry["coordinates"] == "file"
    if in_file and any(raw.moves_with for raw in raws):
        what = "is file, but the drawing has no coordinate system."
        geometry.fault("coordinates", what, "Say crs of its layer, or write local coordinates.")
    raws.extend(_from_table(item, crs if in_file else None) for item in given["feature"])
    raws.extend(_taped_entry(entry) for entry in given["entry"] if isinstance(entry["at"], Mapping))
    return raws


def _taped_entry(entry: Read) -> RawFeature:
    """An ``[[entry]]`` that is placed by a tape, as a feature of its kind is."""
    own = entry.table
    values = {key: value for key, value in own.values.items() if key in ("at", "id", "label")}
    table = Table({"kind": ENTRY, **values}, own.where, own.faults, own.unit)
    return RawFeature(own.where, Point(), table, taped=True)


def _parcel_last_in(layer: LayerAsked) -> int:
    """Rank of a layer by how likely it holds the parcel: it, perhaps, not."""
    if not layer.mapped or plain_kind(layer.kind) == PARCEL:
        return 0
    return 2 if layer.kind else 1


def _judge_systems(raws: Sequence[RawFeature], parcel: RawFeature | None, table: Table) -> None:
    """Note files with a coordinate system beside a parcel that has none."""
    files = [raw for raw in raws if raw.crs]
    if parcel is not None and parcel.crs is None and files:
        table.fault(
            "parcel",
            f"is in local coordinates, but {files[0].where} is not.",
            "Give the parcel in a file too.",
        )


def _from_table(table: Table, crs: str | None) -> RawFeature:
    """Raw feature of a [[feature]] table; its shape is empty where the geometry is faulty."""
    written = [key for key in (*SHAPE_KEYS, *MEASURED) if table.has(key)]
    judge_measures(table)
    of_others = None if written else shape_of_others(table, plain_kind(table.text("kind")))
    if of_others is not None:
        key, mend = of_others
        table.fault(key, "is not a key here;", mend)
        return RawFeature(table.where, Point(), table, crs)
    if len(written) != 1:
        what = "has no geometry." if not written else f"has {' and '.join(written)}."
        table.fault("", what, "Give exactly one of: at = [x, y], line = [...], area = [...].")
        return RawFeature(table.where, Point(), table, crs)
    if is_taped(table):
        return RawFeature(table.where, Point(), table, taped=True)
    key = written[0]
    if key == "at":
        point = table.point(key)
        points: Sequence[tuple[float, float]] | None = None if point is None else [point]
    else:
        points = table.points(key)
    shape = make_shape(SHAPE_KEYS[key], points, table, key) if points else None
    return RawFeature(table.where, shape or Point(), table, crs)


def _the_parcel(raws: Sequence[RawFeature], table: Table, *, whole: bool) -> RawFeature | None:
    """The one parcel; that there is none is a fault only where everything else was readable."""
    parcels = [raw for raw in raws if raw.kind == PARCEL]
    if len(parcels) == 1:
        return parcels[0]
    if parcels:
        spots = [raw.shape.representative_point() for raw in parcels if not raw.shape.is_empty]
        there = " and ".join(f"({spot.x:.10g}, {spot.y:.10g})" for spot in spots[:TOLD])
        what = f"has {len(parcels)} parcels, around {there}: which one?"
        table.fault("", what, "Keep one; a lot in parts is one plan a part.")
    elif whole:
        table.fault(
            "",
            "has no parcel.",
            'Give parcel = [[x, y], ...], or a feature of kind = "parcel" in the file.',
        )
    return None


def _place(raw: RawFeature, frame: LocalFrame | None) -> RawFeature:
    """Raw feature in local metres."""
    if raw.shape.is_empty:
        return raw
    if raw.crs is None:
        factor = raw.table.unit.metres
        shape = shapely.transform(raw.shape, lambda points: points * factor)
    elif frame is not None and is_geographic(raw.crs) and _beyond_degrees(raw.shape):
        what = f"has coordinates that are not degrees, but {raw.crs} is."
        raw.table.fault("", what, "Name its crs.")
        return RawFeature(raw.where, Point(), raw.table)
    else:
        shape = frame.localize(raw.shape, raw.crs) if frame is not None else raw.shape
    return replace(raw, shape=shape, crs=None, drawing=None)


def _beyond_degrees(shape: BaseGeometry) -> bool:
    west, south, east, north = shape.bounds
    return west < -360 or east > 360 or south < -90 or north > 90


def _all_entries(
    given: Read, reader: FeatureReader, parcel: BaseGeometry
) -> tuple[tuple[Entry, ...], bool]:
    """Entries stated, or where none is places on the walls; and whether it is those."""
    stated = (*reader.entries, *_entries(given))
    asked = given["exchanger"]["entry"] == ANY_WALL or _wall_asked(given)
    if stated or (given["exchanger"].says("entry") and not asked):
        if asked:
            judge_any_wall(stated, given.table)
        return stated, False
    # a neighbor's house may be larger than the one on the lot, and touch the line
    read = [feature for feature, _ in reader.read_features if feature.kind == "building"]
    # an outline that crosses itself is a fault told elsewhere, and cannot be laid over another
    built = [feature for feature in read if feature.shape.is_valid and parcel.is_valid]
    on = [float(parcel.intersection(feature.shape).area) for feature in built]
    most = [
        feature
        for feature, area in zip(built, on, strict=True)
        if 0 < area >= OWN_SHARE * feature.shape.area
    ]
    own = [feature for feature, area in zip(built, on, strict=True) if area > 0]
    served = served_building(most or own)
    places = wall_entries_of(served) if served is not None else ()
    return tuple(place for place in places if parcel.covers(place.point)), True


def _wall_asked(given: Read) -> str:
    """Side that the wall of the entry faces, where the site file says no more of it; else empty."""
    entry = given["exchanger"]["entry"]
    return entry.removesuffix(" wall") if entry in ONE_WALL else ""


def _entries(given: Read) -> list[Entry]:
    """Entries of [[entry]] tables and of [exchanger] entry = [[x, y], ...], local units."""
    factor = given.unit.metres
    named = [
        (entry["id"] or "", entry["at"], entry["label"] or "")
        for entry in given["entry"]
        if entry["at"] is not None and not isinstance(entry["at"], Mapping)
    ]
    short = given["exchanger"]["entry"]
    plain = [] if isinstance(short, str) else [("", point, "") for point in short or ()]
    return [
        Entry(name, Point(x * factor, y * factor), label) for name, (x, y), label in named + plain
    ]
