"""Curves along the edge of a region, with rounded bends."""

from __future__ import annotations

import math
from typing import Final

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.bends import CHORD_ERROR, TOUCH, around
from siteplan.geometry.lines.coarsening import coarsened
from siteplan.geometry.lines.sweep import polygonal, polygons_of

QUARTER: Final = 6
"""Fewest straight pieces for a quarter of a bend."""


def contours(region: BaseGeometry, radius_m: float) -> list[LineString]:
    """Closed curves along the edge of a region, inside it, the longest first.

    The region is opened by a disc of the radius: corners that point outwards are rounded, and arms
    narrower than the disc are left out. Corners that point inwards stay as they are. A bend's
    chords depart from it by little, so that the whole departs by less than ``CHORD_ERROR``.

    Examples
    --------
    >>> from shapely import box  # 2 x (20 + 16) - 8 x 1.5 + 2 pi 1.5 = 69.42 m
    >>> [round(curve.length, 1) for curve in contours(box(0, 0, 20, 16), 1.5)]
    [69.4]
    """
    # Half a chord's angle, at which its middle lies so much inside the arc.
    # a fifth of the error allowed goes into the chords, and a fifth into coarsening: the rest is
    # left for what is cut and joined later
    half = math.acos(max(0.0, 1.0 - CHORD_ERROR / 5 / radius_m))
    pieces = max(QUARTER, math.ceil(math.pi / 4 / half))
    # opened with offsets that err outwards: a negative buffer's chords would come too near to the
    # edge
    kept = shapely.difference(region, around(region.boundary, radius_m))
    curves = [
        LineString(ring.coords)
        for core in polygons_of(polygonal(kept))
        for part in polygons_of(_rounded(core, region, radius_m, pieces))
        for ring in (part.exterior, *part.interiors)
    ]
    return sorted(curves, key=lambda curve: -round(curve.length, 6))


def _rounded(
    core: BaseGeometry, region: BaseGeometry, radius_m: float, pieces: int
) -> BaseGeometry:
    """Core widened again; a buffer leaves out shallow dents, so it may reach out of the region."""
    widened = shapely.intersection(core.buffer(radius_m - TOUCH, quad_segs=pieces), region)
    return coarsened(widened, CHORD_ERROR / 5)


def outline(region: BaseGeometry) -> list[LineString]:
    """Edges of a region as closed lines, its corners as they are, the longest first."""
    curves = [
        LineString(ring.coords)
        for part in polygons_of(region)
        for ring in (part.exterior, *part.interiors)
    ]
    return sorted(curves, key=lambda curve: -round(float(shapely.length(curve)), 6))
