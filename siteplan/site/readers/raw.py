"""Features as a source writes them: in the source's coordinates, not yet judged."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.reading import Pair, Table


@dataclass(frozen=True, slots=True)
class RawFeature:
    """One feature of a source.

    Parameters
    ----------
    where
        File and feature, for messages.
    shape
        Geometry in the source's coordinates.
    table
        Its other keys.
    from_file
        Whether it comes from the geometry file.
    local
        True where the coordinates are local metres already, not those of the geometry file.
    """

    where: str
    shape: BaseGeometry
    table: Table = field(repr=False)
    local: bool = True
    from_file: bool = False


def shape_name(shape: BaseGeometry) -> str:
    """Plain name of a geometry: point, line or polygon."""
    return {"LineString": "line", "MultiLineString": "line", "MultiPolygon": "polygon"}.get(
        shape.geom_type, shape.geom_type.lower()
    )


def make_shape(kind: str, points: Sequence[Pair], table: Table, key: str) -> BaseGeometry | None:
    """Point, line or polygon of checked coordinates; too few points is a fault."""
    least = {"point": 1, "line": 2, "polygon": 3}[kind]
    distinct = len(set(points))
    if distinct < least:
        table.fault(
            key, f"has {distinct} different points.", f"A {kind} needs {least}; add the others."
        )
        return None
    if kind == "point":
        return shapely.Point(points[0])
    return shapely.LineString(points) if kind == "line" else shapely.Polygon(points)
