"""A site file and the files it names, read without the package: places in metres as drawn.

Only what a random lot is written with: places in the file's own unit, GeoJSON, layers of a
GeoPackage.
"""

from __future__ import annotations

import json
import re
import tomllib
from dataclasses import dataclass, field
from functools import cached_property
from pathlib import Path
from typing import Any, Final

import geopandas
import numpy as np
import shapely
from pyproj import Transformer
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

METRES: Final = {"ft": 0.3048, "m": 1.0, "in": 0.0254, "mm": 0.001, "cm": 0.01}
"""Foot and inch of 1959."""


@dataclass
class Written:
    """A feature as it is written: kind, shape [m], its other keys."""

    kind: str
    shape: BaseGeometry
    says: dict[str, Any]

    @property
    def id(self) -> str:
        """Its name."""
        return str(self.says.get("id", ""))


@dataclass
class SiteAsWritten:
    """What a site file says, with places in metres as the drawing has them.

    Parameters
    ----------
    values
        The tables of the site file.
    unit_m
        Metres in the display unit.
    parcel, features, entries
        Places [m].
    centre
        Longitude and latitude at the middle of the parcel; None where the lot lies nowhere.
    origin
        Place of the drawing's origin from there [m].
    """

    values: dict[str, Any]
    unit_m: float
    parcel: Polygon
    features: list[Written]
    entries: list[Point]
    centre: tuple[float, float] | None = None
    origin: tuple[float, float] = (0.0, 0.0)
    faults: list[str] = field(default_factory=list)

    def length(self, value: Any, default: float | None = None) -> float | None:
        """A length as it is written, in metres."""
        return default if value is None else metres(value, self.unit_m)

    @cached_property
    def to_degrees(self) -> Transformer:
        """From metres around the centre to longitude and latitude."""
        assert self.centre is not None
        return Transformer.from_crs(_around(*self.centre), "EPSG:4326", always_xy=True)

    def lon_lat(self, x: float, y: float) -> tuple[float, float]:
        """Longitude and latitude of a place on the drawing [deg]."""
        lon, lat = self.to_degrees.transform(x + self.origin[0], y + self.origin[1])
        return float(lon), float(lat)


def metres(value: Any, unit_m: float) -> float:
    """A length as it is written, in metres; a bare one is in the display unit."""
    if isinstance(value, (int, float)):
        return float(value) * unit_m
    total = 0.0
    for number, unit in re.findall(r"([\d.,]+)\s*([a-z]+)", value):
        total += float(number.replace(",", "")) * METRES[unit]
    return total


def read(path: Path) -> SiteAsWritten:
    """What a site file says."""
    values = tomllib.loads(path.read_text(encoding="utf-8"))
    unit_m = METRES[values["project"].get("units", "ft")]
    rows = list(_rows(values, path.parent, unit_m))
    parcel = next(shape for says, shape, _ in rows if says["kind"] == "parcel")
    system = next(crs for says, _, crs in rows if says["kind"] == "parcel")
    centre, origin = None, (0.0, 0.0)
    if system:
        centre, origin = _frame(parcel, system)
        rows = [(says, _local(shape, crs, centre, origin), crs) for says, shape, crs in rows]
        parcel = next(shape for says, shape, _ in rows if says["kind"] == "parcel")
    return SiteAsWritten(
        values, unit_m, Polygon(parcel.exterior),
        [
            Written(says["kind"], shape, says)
            for says, shape, _ in rows
            if says["kind"] not in ("parcel", "entry")
        ],
        [shape for says, shape, _ in rows if says["kind"] == "entry"], centre, origin,
    )  # fmt: skip


def _rows(values: dict[str, Any], folder: Path, unit_m: float) -> Any:
    """Properties, shape in its own coordinates, coordinate system of each."""
    geometry = values["geometry"]
    if "parcel" in geometry:
        yield {"kind": "parcel"}, Polygon(np.array(geometry["parcel"]) * unit_m), ""
    files = [(geometry["file"], geometry)] if "file" in geometry else []
    files += [(layer["file"], layer) for layer in geometry.get("layer", [])]
    for name, layer in files:
        if name.endswith(".gpkg"):
            frame = geopandas.read_file(folder / name, layer=layer["layer"])
            if "where" in layer:
                column, _, wanted = layer["where"].partition(" = ")
                frame = frame[frame[column] == wanted]
            named = layer.get("columns", {}).get("id")
            for _, row in frame.iterrows():
                says = {"kind": layer["kind"], **({"id": row[named]} if named else {})}
                yield says, row.geometry, str(frame.crs)
        else:
            for each in json.loads((folder / name).read_text(encoding="utf-8"))["features"]:
                shape = shapely.from_geojson(json.dumps(each["geometry"]))
                yield each["properties"], shape, layer.get("crs", "EPSG:4326")
    for each in values.get("feature", []):
        key = next(key for key in ("at", "line", "area") if key in each)
        build = {"at": Point, "line": LineString, "area": Polygon}[key]
        says = {name: value for name, value in each.items() if name != key}
        yield says, build(np.array(each[key], dtype=float) * unit_m), ""
    for each in values.get("entry", []):
        yield {**each, "kind": "entry"}, Point(np.array(each["at"], dtype=float) * unit_m), ""


def _around(lon: float, lat: float) -> str:
    """Azimuthal equidistant: over a lot the same as any other system of scale 1 at its centre."""
    return f"+proj=aeqd +lat_0={lat!r} +lon_0={lon!r} +datum=WGS84 +units=m"


def _frame(parcel: BaseGeometry, system: str) -> tuple[tuple[float, float], tuple[float, float]]:
    west, south, east, north = parcel.bounds
    to_earth = Transformer.from_crs(system, "EPSG:4326", always_xy=True)
    centre = to_earth.transform((west + east) / 2, (south + north) / 2)
    x, y, *_ = _local(parcel, system, centre, (0.0, 0.0)).bounds
    return centre, (x, y)


def _local(
    shape: BaseGeometry, system: str, centre: tuple[float, float], origin: tuple[float, float]
) -> BaseGeometry:
    carry = Transformer.from_crs(system, _around(*centre), always_xy=True)

    def move(points: Any) -> Any:
        x, y = carry.transform(points[:, 0].tolist(), points[:, 1].tolist())
        return np.column_stack((x, y)) - np.array(origin)

    return shapely.transform(shape, move)
