"""Whether the shapes of a lot can be true: crossings, sizes, places."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely import Polygon

from siteplan.limits import MOST_FEATURES, MOST_VERTICES, MOST_VERTICES_IN_ALL
from siteplan.reading import Table
from siteplan.site.frame import LocalFrame, is_geographic
from siteplan.site.model import Entry, Feature
from siteplan.site.options.choices import MEASURED
from siteplan.site.readers.judge_ponds import judge_depths
from siteplan.site.readers.mend import TOUCHES
from siteplan.site.readers.raw import SHAPE_KEYS, RawFeature, corners_of
from siteplan.site.walls import COMPASS, wall_of
from siteplan.units.lengths import format_length
from siteplan.units.model import UnitSystem

SMALLEST_PARCEL_M2 = 20.0
"""A parcel below this is a drawing error or in the wrong unit [m2]."""
LARGEST_PARCEL_M = 20_000.0
"""Widest lot the local frame is meant for [m]."""
POLAR_SOUTH_DEG, POLAR_NORTH_DEG = -60.0, 80.0
"""Latitudes between which people have lots [deg]."""
NEIGHBOURHOOD_M = 400.0
"""How far from the parcel a feature may lie, or three times the parcel's diagonal [m]."""
TURNED: Final = 1.25
"""How much farther its corners may lie, as rows of a file are cut at a box in the file's system,
which may be turned against ours."""
SAME_PLACE_M: Final = 1e-3
"""Entries no farther apart are one place typed twice [m]."""


def judge_numbers(raws: Sequence[RawFeature], table: Table) -> bool:
    """Whether a lot has no more features and corners than are read."""
    if len(raws) > MOST_FEATURES:
        what = f"has {len(raws):,} features; {MOST_FEATURES:,} are read."
        table.fault("", what, "Leave out what lies far from the lot.")
        return False
    corners = [corners_of(raw.shape) for raw in raws]
    many = [(raw, count) for raw, count in zip(raws, corners, strict=True) if count > MOST_VERTICES]
    for raw, count in many:
        what = f"has {count:,} corners; {MOST_VERTICES:,} are read."
        raw.table.fault("", what, "Simplify it: to 0.1 ft nobody sees the difference.")
    if sum(corners) > MOST_VERTICES_IN_ALL:
        what = f"has {sum(corners):,} corners in all; {MOST_VERTICES_IN_ALL:,} are read."
        table.fault("", what, "Leave out what lies far from the lot.")
        return False
    return not many


def judge_parcel(raw: RawFeature) -> bool:
    """Whether a parcel can be used, in the coordinates of its source."""
    shape, crs = raw.shape, raw.crs
    if not isinstance(shape, Polygon):
        raw.table.fault("", f"is a {shape.geom_type}, not an area.", "Close its outline.")
        return False
    if not _is_simple(shape, raw.table):
        return False
    if shape.interiors:
        raw.table.fault(
            "",
            "has a hole: land of somebody else inside the lot.",
            'Draw the outline alone, and the hole as a feature of kind "other keep-out".',
        )
        return False
    if crs and is_geographic(crs):
        west, south, east, north = shape.bounds
        if max(abs(west), abs(east)) > 180 or max(abs(south), abs(north)) > 90:
            raw.table.fault(
                "",
                f"has coordinates such as ({west:.1f}, {south:.1f}), but {crs} is in degrees.",
                'Name the file\'s own system: [geometry] crs = "EPSG:...".',
            )
            return False
    return not _looks_like_degrees(raw)


def _looks_like_degrees(raw: RawFeature) -> bool:
    west, south, east, north = raw.shape.bounds
    in_range = max(abs(west), abs(east)) <= 180 and max(abs(south), abs(north)) <= 90
    if (raw.crs and is_geographic(raw.crs)) or not in_range:
        return False
    if max(east - west, north - south) > 1.0:
        return False
    unit = "its own unit" if raw.crs else raw.table.unit
    raw.table.fault(
        "",
        f"is {max(east - west, north - south):.6g} across in {unit}: these look like degrees.",
        "Put them in a GeoJSON file (degrees are its default), or give feet or metres.",
    )
    return True


def judge_position(raw: RawFeature, frame: LocalFrame) -> None:
    """Note a parcel where its coordinate system is not meant to be used, or nobody builds."""
    where = f"lies at latitude {frame.latitude:.3f}, longitude {frame.longitude:.3f}"
    if not POLAR_SOUTH_DEG < frame.latitude < POLAR_NORTH_DEG:
        raw.table.fault("", f"{where}.", "Are longitude and latitude swapped?")
    elif not frame.in_area_of_use():
        raw.table.fault(
            "",
            f"{where}, where {frame.crs_name} is not used.",
            "Check [geometry] crs, and whether easting and northing are swapped.",
        )


def judge_place(raw: RawFeature, parcel: Polygon) -> bool:
    """Whether a parcel in local metres has a believable size."""
    west, south, east, north = parcel.bounds
    size = max(east - west, north - south)
    if parcel.area < SMALLEST_PARCEL_M2:
        raw.table.fault(
            "",
            f"has an area of {_area_words(parcel.area, raw.table.unit)}.",
            f"A parcel has at least {_area_words(SMALLEST_PARCEL_M2, raw.table.unit)}: check unit "
            "and coordinates.",
        )
        return False
    if size > LARGEST_PARCEL_M:
        raw.table.fault(
            "",
            f"is {_way_words(size, raw.table.unit)} across.",
            "Check the unit and the coordinate system.",
        )
        return False
    return True


def _area_words(area_m2: float, unit: UnitSystem) -> str:
    """A small area in the unit of the file.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> _area_words(9.290304, US), _area_words(9.290304, METRIC)
    ('100 sq ft', '9.29 m²')
    """
    return f"{unit.area.of(area_m2):.4g} {unit.area.label}"


def _way_words(length_m: float, unit: UnitSystem) -> str:
    """A long way in the unit of the file: miles of 5,280 ft, or kilometres.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> _way_words(16_093.44, US), _way_words(16_093.44, METRIC)
    ('10.0 miles', '16.1 km')
    """
    return unit.way.text(length_m)


def judge_lot(
    parcel: Polygon,
    features: Sequence[tuple[Feature, Table]],
    entries: Sequence[Entry],
    root: Table,
) -> None:
    """Note every feature and entry that cannot be true."""
    west, south, east, north = parcel.bounds
    limit = max(NEIGHBOURHOOD_M, 3 * ((east - west) ** 2 + (north - south) ** 2) ** 0.5)
    for feature, table in features:
        _judge_feature(feature, table, parcel, limit)
    _judge_ids([(feature.id, table) for feature, table in features])
    _judge_written_twice([table for _, table in features])
    _judge_entries(parcel, entries, root)


def _judge_feature(feature: Feature, table: Table, parcel: Polygon, limit: float) -> None:
    if feature.shape.is_empty:
        return
    if isinstance(feature.shape, Polygon) and not _is_simple(feature.shape, table, local=True):
        return
    _judge_way(feature, table, parcel, limit)
    judge_depths(feature, table)
    if feature.kind == "building" and feature.shape.buffer(0.01).covers(parcel):
        table.fault("", "covers the whole parcel.", "Check which outline is the building.")


def judge_outline(shape: Polygon, table: Table) -> bool:
    """Whether an area in local metres has an outline that neither crosses itself nor is flat."""
    return shape.is_empty or _is_simple(shape, table, local=True)


def _judge_way(feature: Feature, table: Table, parcel: Polygon, limit: float) -> None:
    """Note a feature that lies beyond the neighbourhood, or a corner of it that does."""
    distance = parcel.distance(feature.shape)
    if distance > limit:
        table.fault(
            "",
            f"lies {format_length(distance, table.unit, 0)} from the parcel.",
            "Check its coordinates and the coordinate system.",
        )
        return
    corners = shapely.get_coordinates(feature.shape)
    west, south, east, north = parcel.bounds
    beyond = np.maximum(np.maximum((west, south) - corners, corners - (east, north)), 0.0)
    farthest = int(np.argmax(beyond.max(axis=1)))
    if beyond[farthest].max() > TURNED * limit:
        x, y = corners[farthest] / table.unit.metres
        away = format_length(float(beyond[farthest].max()), table.unit, 0)
        table.fault(
            "",
            f"has a corner at ({x:.10g}, {y:.10g}) {table.unit}, {away} from the parcel.",
            "Check its coordinates; draw what goes on only near the lot.",
        )


def _judge_ids(named: Sequence[tuple[str, Table]]) -> None:
    seen: dict[str, str] = {}
    for name, table in named:
        if name in seen:
            table.fault("id", f"{name!r} is used before, by {seen[name]}.", "Rename one.")
        seen.setdefault(name, table.where)
        if name == "parcel":
            table.fault("id", "'parcel' is the property line's own.", "Rename it.")


def _judge_written_twice(tables: Sequence[Table]) -> None:
    """Note a feature typed once more, word for word; rows of a file may be there twice."""
    seen: dict[str, str] = {}
    for table in tables:
        if not any(key in table.values for key in (*SHAPE_KEYS, *MEASURED)):
            continue
        said = repr(sorted((key, value) for key, value in table.values.items() if key != "id"))
        if said in seen:
            table.fault("", f"says the same as {seen[said]}.", "Leave out one of the two.")
        seen.setdefault(said, table.where)


def judge_entry_names(entries: Sequence[Entry], root: Table) -> None:
    """Note a site without an entry or a building to choose one on, and names used twice."""
    if not entries:
        root.fault(
            "[exchanger], entry",
            "is missing, and no building is drawn whose walls could be tried: where do the pipes "
            "enter the building?",
            "Add entry = [[x, y]] at the wall, or several to let the shortest header win; or draw "
            "the building.",
        )
    ids = [entry.id for entry in entries if entry.id]
    for name in sorted({name for name in ids if ids.count(name) > 1}):
        root.fault(f"entry {name!r}", "is named twice.", "Rename one.")
    for number, entry in enumerate(entries, start=1):
        same = [
            f"{other.id or place!r}"
            for place, other in enumerate(entries[: number - 1], start=1)
            if entry.point.dwithin(other.point, SAME_PLACE_M)
            and not (other.id and other.id == entry.id)
        ]
        if same:
            what = f"lies where entry {same[0]} lies."
            root.fault(f"entry {entry.id or number!r}", what, "Leave out one of the two.")


def judge_any_wall(entries: Sequence[Entry], root: Table) -> None:
    """Note that the wall is left open where an entry is stated."""
    names = ", ".join(entry.id or "one without id" for entry in entries)
    root.fault(
        "[exchanger], entry",
        f"leaves the wall open, but entries are stated: {names}.",
        "Leave out one of the two.",
    )


def entries_on(wall: str, places: Sequence[Entry], root: Table) -> tuple[Entry, ...]:
    """Of places along walls those in walls that face so, or nearly; a fault where none does."""
    at = COMPASS.index(wall)
    for sides in ((wall,), (COMPASS[at - 1], COMPASS[(at + 1) % len(COMPASS)])):
        found = tuple(place for place in places if wall_of(place) in sides)
        if found:
            return found
    if places:
        faced = ", ".join(dict.fromkeys(wall_of(place) for place in places))
        what = f"no wall of the building faces {wall}."
        root.fault("[exchanger], entry", what, f"Its walls face {faced}.")
    return tuple(places)


def _judge_entries(parcel: Polygon, entries: Sequence[Entry], root: Table) -> None:
    for number, entry in enumerate(entries, start=1):
        if parcel.distance(entry.point) > 0:
            x, y = entry.point.x / root.unit.metres, entry.point.y / root.unit.metres
            root.fault(
                f"entry {entry.id or number!r}",
                f"at ({x:.1f}, {y:.1f}) {root.unit} lies outside the parcel.",
                "Place it at the building wall.",
            )


def _is_simple(shape: Polygon, table: Table, *, local: bool = False) -> bool:
    """Whether an outline neither crosses nor has no area."""
    if shape.convex_hull.area == 0:
        table.fault("", "has no area.", "Draw its outline again.")
        return False
    reason = shapely.is_valid_reason(shape)
    if reason == "Valid Geometry":
        return True
    match = re.match(r"(.*)\[(\S+) (\S+)\]", reason)
    what = reason.lower()
    if match:
        factor = table.unit.metres if local else 1.0
        x, y = float(match[2]) / factor, float(match[3]) / factor
        what = f"{match[1].lower()} at ({x:.10g}, {y:.10g})" + (f" {table.unit}" if local else "")
    if reason.startswith(TOUCHES):
        at = what.partition(" at ")[2]
        mend = "Draw the part that is the lot alone; one plan is for one part."
        table.fault("", f"touches itself at {at}: it is in parts there.", mend)
    else:
        table.fault("", f"crosses itself: {what}.", "Put its corners in order around the outline.")
    return False
