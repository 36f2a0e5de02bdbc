"""The most that many lots can hold: proven bounds, no construction."""

from __future__ import annotations

import math

import numpy as np
import shapely

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.screening.room import LENIENT, OUTSIDE, SEGMENTS
from siteplan.screening.scan import Floats, Shapes


def most_bores(areas: Shapes, spacing_m: float) -> Floats:
    """Number of bores that no arrangement on an area exceeds, for each area.

    The smaller of the dilation bound and Oler's bound of the convex hull, as
    :func:`siteplan.geometry.points.bound.packing_bound` has them of one area.

    Source: H. Groemer, Math. Zeitschrift 73 (1960) 285-294; N. Oler, Acta Mathematica 105 (1961)
    19-48.

    Examples
    --------
    >>> most_bores(np.array([shapely.box(0, 0, 4, 4)]), 1.0).tolist()
    [27.0]
    """
    least = spacing_m - 2 * TOLERANCE
    cell = math.sqrt(0.75) * least**2
    wide = shapely.area(_widened(areas, least / math.sqrt(3) + TOLERANCE)) / cell
    hull = shapely.convex_hull(areas)
    oler = shapely.area(hull) / cell + shapely.length(hull) / (2 * least) + 1
    most = np.floor(np.minimum(wide, oler) + 1e-9)
    return np.where(shapely.is_empty(areas), 0.0, most)


def most_trench(areas: Shapes, spacing_m: float) -> Floats:
    """Length of trench that no arrangement on an area exceeds, for each area [m].

    Each trench has a strip as wide as the spacing for itself, on the area widened by half of it. It
    ends square, half its width beyond the area of its middle line; what that adds at both ends, a
    width in all, is less than the round ends of its strip take, pi / 4 of the spacing.

    Examples
    --------
    >>> float(most_trench(np.array([shapely.box(0, 0, 10, 3)]), 3.0)[0]) > 20.0
    True
    """
    least = spacing_m - 2 * TOLERANCE
    wide = shapely.area(_widened(areas, least / 2 + TOLERANCE)) / least
    return np.where(shapely.is_empty(areas), 0.0, wide)


def plain_most(outlines: Shapes, line_m: float, spacing_m: float, *, upright: bool) -> Floats:
    """Bores, or length of trench [m], that no arrangement on a lot exceeds, by its size alone.

    Each has room of its own within half a spacing (a bore: within the spacing over √3, see
    :func:`most_bores`) of ground that is so far from the property line [m]. Where that is farther,
    it lies within the lot; else within the lot widened by the rest, which adds a strip along each
    side and less than half a disc at each corner.

    Examples
    --------
    >>> lot = np.array([shapely.box(0, 0, 30, 20)])
    >>> plain_most(lot, 3.0, 3.0, upright=False).round(2).tolist()
    [200.0]
    """
    least = spacing_m - 2 * TOLERANCE
    own = least / math.sqrt(3) if upright else least / 2
    more = max(0.0, own - line_m * LENIENT + TOLERANCE)
    area, corners = shapely.area(outlines), shapely.get_num_coordinates(outlines)
    wide = area + shapely.length(outlines) * more + corners * math.pi / 2 * more**2
    if upright:
        return np.asarray(np.floor(wide / (math.sqrt(0.75) * least**2) + 1e-9))
    return np.asarray(wide / least, dtype=np.float64)


def outline_most(outlines: Shapes, line_m: float, spacing_m: float, upright: bool) -> Floats:
    """The same, of trench on ground drawn in by what the line takes less half a spacing.

    Whatever lies within half a spacing of ground off the property line lies off it by the rest.
    """
    least = spacing_m - 2 * TOLERANCE
    most = plain_most(outlines, line_m, spacing_m, upright=upright)
    rest = (line_m * LENIENT - least / 2 - TOLERANCE) * LENIENT
    if upright or rest <= 0:
        return most
    inner = shapely.buffer(outlines, -rest, quad_segs=SEGMENTS)
    return np.asarray(np.minimum(most, shapely.area(inner) / least))


def _widened(areas: Shapes, distance: float) -> Shapes:
    return np.asarray(shapely.buffer(areas, distance * OUTSIDE, quad_segs=SEGMENTS))
