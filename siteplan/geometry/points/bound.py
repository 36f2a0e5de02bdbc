"""Proven upper bounds on the number of points an area holds at a spacing."""

from __future__ import annotations

import math

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.offset import widened_over
from siteplan.geometry.tolerance import TOLERANCE


def packing_bound(area: BaseGeometry, spacing: float) -> int:
    """Number of points that no arrangement at a spacing [m] can exceed.

    The smallest of three proven bounds, each for points that may stand outside or too near by the
    tolerance: the dilation bound of the whole area, Oler's bound of its convex hull, and the sum
    over its parts of the smaller of the two.

    Source: H. Groemer, Math. Zeitschrift 73 (1960) 285-294, and N. Oler, Acta Mathematica 105
    (1961) 19-48, for the convex hull; the dilation bound rests on the Voronoi cell of a point, cut
    by a disc of radius d/sqrt(3), having an area of at least sqrt(3)/2 d2.

    Examples
    --------
    >>> from shapely import box
    >>> packing_bound(box(0, 0, 4, 4), 1.0)
    27
    """
    if area.is_empty:
        return 0
    slack = shapely.buffer(area, TOLERANCE / math.cos(math.pi / 4), quad_segs=1)
    least = spacing - TOLERANCE if spacing > 2 * TOLERANCE else spacing / 2
    parts = shapely.get_parts(slack)
    return min(_bound(slack, least), sum(_bound(part, least) for part in parts))


def _bound(area: BaseGeometry, spacing: float) -> int:
    return math.floor(min(_dilation_bound(area, spacing), _hull_bound(area, spacing)))


def _dilation_bound(area: BaseGeometry, spacing: float) -> float:
    """Area of the widened shape over the least cell of a point; any compact shape."""
    widened = widened_over(area, spacing / math.sqrt(3))
    return float(widened.area) / (math.sqrt(0.75) * spacing**2)


def _hull_bound(area: BaseGeometry, spacing: float) -> float:
    """Oler's bound 2A/(sqrt(3) d2) + P/(2d) + 1 of the convex hull."""
    hull = shapely.convex_hull(area)
    return float(hull.area / (math.sqrt(0.75) * spacing**2) + hull.length / (2 * spacing) + 1)
