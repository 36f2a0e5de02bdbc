"""GeoJSON (RFC 7946) to raw features; faults are collected, not raised one by one."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any, Final

from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.errors import Fault, InputError
from siteplan.limits import MOST_FEATURES, MOST_GEOJSON_BYTES
from siteplan.reading import Pair, Table, as_pair, load_json
from siteplan.site.options.choices import PARCEL
from siteplan.site.readers.raw import RawFeature, make_shape, plain_kind
from siteplan.units.model import UnitSystem

NAMING: Final = frozenset({"kind", "id", "label"})
"""Properties that are ours however they are capitalised, and that may be numbers."""
SINGLE = {"Point": "point", "LineString": "line", "Polygon": "polygon"}


@dataclass(frozen=True, slots=True)
class GeoJson:
    """What a GeoJSON file brings: its features, and the coordinate system if it names one."""

    features: tuple[RawFeature, ...]
    crs: str | None


def read_geojson(path: Path, unit: UnitSystem, faults: list[Fault]) -> GeoJson:
    """Features of a GeoJSON file, in the file's own coordinates.

    Parameters
    ----------
    path
        The file.
    unit
        Unit of bare lengths among the properties.
    faults
        Where faults go.
    """
    content = _content(path, faults)
    if content is None:
        return GeoJson((), None)
    items = _items(content)
    if items is None:
        faults.append(Fault(str(path), "is not GeoJSON with features.", "Export it as GeoJSON."))
        return GeoJson((), None)
    if len(items) > MOST_FEATURES:
        what = f"has {len(items):,} features; {MOST_FEATURES:,} are read."
        faults.append(Fault(str(path), what, "Leave out what lies far from the lot."))
        return GeoJson((), None)
    features = tuple(
        feature
        for number, item in enumerate(items, start=1)
        for feature in _features(item, number, path.name, unit, faults)
    )
    return GeoJson(features, _crs(content) if isinstance(content, Mapping) else None)


def _content(path: Path, faults: list[Fault]) -> object:
    """What a JSON file says; None where it cannot be read."""
    try:
        content: object = load_json(path, MOST_GEOJSON_BYTES, "Export it again.")
    except InputError as error:
        faults.extend(error.faults)
        return None
    return content


def _items(content: object) -> list[object] | None:
    """Features of a collection, or the one feature or geometry that a file holds alone."""
    if not isinstance(content, dict):
        return None
    if content.get("type") == "Feature":
        return [content]
    if "coordinates" in content:
        return [{"geometry": content}]
    items = content.get("features")
    return items if isinstance(items, list) else None


def _crs(content: Mapping[str, Any]) -> str | None:
    """The ``crs`` member of GeoJSON 2008; RFC 7946 files have none and are WGS 84."""
    try:
        name = str(content["crs"]["properties"]["name"])
    except (KeyError, TypeError):
        return None
    return "EPSG:4326" if name.endswith("CRS84") else name


def _features(
    item: object, number: int, file: str, unit: UnitSystem, faults: list[Fault]
) -> Iterator[RawFeature]:
    if not isinstance(item, dict) or not isinstance(item.get("geometry"), dict):
        faults.append(
            Fault(f"{file}, feature {number}", "has no geometry.", "Draw it or delete it.")
        )
        return
    values = _properties(item)
    is_parcel = plain_kind(str(values.get("kind", ""))) == PARCEL
    name = "parcel" if is_parcel else f"feature {values.get('id', number)!r}"
    where = f"{file}, {name}"
    geometry = item["geometry"]
    kind, coordinates = str(geometry.get("type")), geometry.get("coordinates")
    multiple = kind.startswith("Multi")
    parts = coordinates if multiple and isinstance(coordinates, list) else [coordinates]
    for part_number, part in enumerate(parts, start=1):
        own = dict(values)
        if len(parts) > 1 and "id" in own and not is_parcel:
            own["id"] = f"{own['id']}-{part_number}"
        table = Table(own, where, faults, unit, "" if is_parcel else str(own.get("id", "")))
        shape = _shape(kind.removeprefix("Multi"), part, table)
        if shape is not None:
            was_open = kind.endswith("Polygon") and any(map(_is_open, part))
            yield RawFeature(where, shape, table, from_file=True, was_open=was_open)


def _is_open(ring: Sequence[object]) -> bool:
    """Whether a ring, which has been read, ends elsewhere than where it starts."""
    return as_pair(ring[0]) != as_pair(ring[-1])


def _properties(item: Mapping[str, Any]) -> dict[str, Any]:
    """Properties that say something, ours in our spelling, and a number that names as a text."""
    properties = item.get("properties")
    values = {
        key: value
        for key, value in (properties if isinstance(properties, Mapping) else {}).items()
        if value is not None
    }
    for key in list(values):
        if key.casefold() in NAMING and key.casefold() not in values:
            values[key.casefold()] = values.pop(key)
    if item.get("id") is not None:
        values.setdefault("id", item["id"])
    for key in NAMING & values.keys():
        if isinstance(values[key], int) and not isinstance(values[key], bool):
            values[key] = str(values[key])
    return values


def _shape(kind: str, coordinates: object, table: Table) -> BaseGeometry | None:
    if kind not in SINGLE:
        table.fault("", f"has geometry {kind!r}.", "Use points, lines or polygons.")
        return None
    if kind == "Polygon":
        return _polygon(coordinates, table)
    points = _points([coordinates] if kind == "Point" else coordinates, table)
    return make_shape(SINGLE[kind], points, table, "geometry") if points is not None else None


def _polygon(coordinates: object, table: Table) -> BaseGeometry | None:
    if not isinstance(coordinates, list) or not coordinates:
        table.fault("", "has no ring.", "Draw its outline again.")
        return None
    # a ring that was left open is closed here, and told where what was mended is told
    rings = [_points(ring, table) for ring in coordinates]
    if any(ring is None for ring in rings):
        return None
    outer, *holes = [ring for ring in rings if ring is not None]
    if make_shape("polygon", outer, table, "geometry") is None:
        return None
    return Polygon(outer, holes)


def _points(value: object, table: Table) -> list[Pair] | None:
    if not isinstance(value, list) or not value:
        table.fault("", "has no coordinates.", "Draw it again or delete it.")
        return None
    pairs = [as_pair(item) for item in value]
    bad = [index for index, pair in enumerate(pairs) if pair is None]
    if bad:
        table.fault(
            "",
            f"point {bad[0] + 1} is {value[bad[0]]!r}, not two finite numbers.",
            "Give x and y, or delete the point.",
        )
        return None
    return [pair for pair in pairs if pair is not None]
