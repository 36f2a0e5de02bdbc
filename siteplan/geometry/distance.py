"""Exact distances between shapes, with the two nearest points."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.tolerance import TOLERANCE


@dataclass(frozen=True, slots=True)
class Gap:
    """Distance between two shapes and where it was measured [m].

    ``distance`` is negative where the first shape lies inside the second: by how far.
    """

    distance: float
    start: tuple[float, float]
    end: tuple[float, float]


def gap(first: BaseGeometry, second: BaseGeometry, *, reach: float = 0.0) -> Gap:
    """Least distance from the first shape, widened by a reach, to the second.

    Parameters
    ----------
    first, second
        Shapes [m].
    reach
        Radius by which the first shape is wider than drawn, as a bore around its centre [m].

    Examples
    --------
    >>> from shapely import Point, box
    >>> gap(Point(-3, 5), box(0, 0, 10, 10), reach=0.5).distance
    2.5
    >>> gap(Point(4, 5), box(0, 0, 10, 10)).distance
    -4.0
    """
    line = shapely.shortest_line(first, second)
    (x1, y1), (x2, y2) = shapely.get_coordinates(line)
    distance = float(shapely.distance(first, second))
    if distance == 0 and second.area > 0:
        depth = _depth(first, second)
        if depth > TOLERANCE:
            distance = -depth
    if distance > 0 and reach > 0:
        share = min(1.0, reach / distance)
        x1, y1 = x1 + (x2 - x1) * share, y1 + (y2 - y1) * share
    return Gap(distance - reach, (float(x1), float(y1)), (float(x2), float(y2)))


def _depth(inner: BaseGeometry, outer: BaseGeometry) -> float:
    """How far the deepest corner of the overlap lies inside ``outer`` [m]."""
    overlap = shapely.get_coordinates(shapely.intersection(inner, outer))
    if len(overlap) == 0:
        return 0.0
    return float(shapely.distance(shapely.points(overlap), outer.boundary).max())
