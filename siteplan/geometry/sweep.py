"""Chords of a polygon along parallel lines, and the small helpers that share its rings."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """Polygons of any shape, without stray lines, points and empty parts.

    Examples
    --------
    >>> mixed = shapely.GeometryCollection([shapely.Point(0, 0), shapely.box(0, 0, 2, 3)])
    >>> [part.area for part in polygons_of(mixed)]
    [6.0]
    """
    if shape.is_empty:
        return []
    if isinstance(shape, Polygon):
        return [shape] if shape.area > 0 else []
    return [part for piece in getattr(shape, "geoms", ()) for part in polygons_of(piece)]


def polygonal(shape: BaseGeometry) -> Polygon | MultiPolygon:
    """Polygon or multipolygon part of any shape, free of a precision grid."""
    parts = polygons_of(shape)
    clean: Polygon | MultiPolygon = parts[0] if len(parts) == 1 else MultiPolygon(parts)
    # A grid would stick to every later overlay and swallow offsets as small as the tolerance.
    return shapely.set_precision(clean, 0) if shapely.get_precision(clean) else clean


def rings_of(shape: BaseGeometry) -> list[npt.NDArray[np.float64]]:
    """Rings of all polygons as open coordinate arrays, the inside always on the left."""
    turned = [orient(part, 1.0) for part in polygons_of(shape)]
    return [
        shapely.get_coordinates(ring)[:-1]
        for part in turned
        for ring in (part.exterior, *part.interiors)
    ]
