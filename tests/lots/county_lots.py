"""Invented parcel files for the screening of many lots: oblong, bent, small, and broken ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pyogrio
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry

from siteplan.screening.chunk import Chunk

CRS = "EPSG:26986"
CORNER = (214_000.0, 915_000.0)


def lots(count: int, seed: int = 3) -> list[BaseGeometry]:
    """Lots of 400 to 9,000 m2, some with a bay or a bent side, turned any way."""
    random = np.random.default_rng(seed)
    found: list[BaseGeometry] = []
    for number in range(count):
        wide, deep = math.exp(random.uniform(2.9, 4.5)), math.exp(random.uniform(3.1, 4.6))
        shape: BaseGeometry = shapely.box(0, 0, wide, deep)
        if number % 3 == 1:
            shape = shape.difference(shapely.box(0.6 * wide, 0.55 * deep, wide + 1, deep + 1))
        if number % 3 == 2:
            bend = shapely.Point(wide / 2, -1.2 * wide).buffer(1.4 * wide, quad_segs=6)
            shape = shape.difference(bend)
        shape = affinity.rotate(shape, random.uniform(0, 180), origin=(0, 0))
        east, north = CORNER[0] + 150 * (number % 10), CORNER[1] + 150 * (number // 10)
        found.append(affinity.translate(shape, east, north))
    return found


def lot_on_street(
    outline: shapely.Polygon, house: shapely.Polygon, *things: tuple[str, BaseGeometry]
) -> Chunk:
    """One lot with a house; a street runs along y = -6."""
    street = shapely.LineString([(-30, -6), (90, -6)])
    all_ = [("street", street), ("building", house), *things]
    return Chunk(
        np.array([outline]), np.array([shape for _, shape in all_]), np.zeros(len(all_), int),
        np.array([kind for kind, _ in all_]), np.array([1]),
    )  # fmt: skip


def write_lots(path: Path, shapes: Sequence[BaseGeometry | None], *, crs: str | None = CRS) -> Path:
    """A GeoPackage of lots with their numbers, and an owner's name in each row."""
    numbers = np.array([f"A-{number:03d}" for number in range(len(shapes))], dtype=object)
    owners = np.array([f"Owner {number}" for number in range(len(shapes))], dtype=object)
    told = {"LOC_ID": numbers, "OWNER": owners}
    pyogrio.raw.write(
        path, shapely.to_wkb(np.array(shapes, dtype=object)), list(told.values()), list(told),
        layer="parcels", driver="GPKG", geometry_type="Unknown", crs=crs,
    )  # fmt: skip
    return path


def write_things(path: Path, layer: str, shapes: Sequence[BaseGeometry], kind: str) -> Path:
    """A GeoPackage of what is on the lots."""
    names = np.array([f"{layer} {number}" for number in range(len(shapes))], dtype=object)
    pyogrio.raw.write(
        path, shapely.to_wkb(np.array(shapes, dtype=object)), [names], ["name"],
        layer=layer, driver="GPKG", geometry_type=kind, crs=CRS,
    )  # fmt: skip
    return path


def rows_of(path: Path) -> list[dict[str, Any]]:
    """Rows of a GeoPackage as another reader of it finds them."""
    frame = pyogrio.read_dataframe(path, read_geometry=False)
    return [dict(row) for row in frame.to_dict("records")]
