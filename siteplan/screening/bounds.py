"""The most that many lots can hold: proven bounds, no construction."""

from __future__ import annotations

import math

import numpy as np
import shapely

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.screening.room import OUTSIDE, SEGMENTS
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

    Each trench has a strip as wide as the spacing for itself, on the area widened by half of it.

    Examples
    --------
    >>> float(most_trench(np.array([shapely.box(0, 0, 10, 3)]), 3.0)[0]) > 20.0
    True
    """
    least = spacing_m - 2 * TOLERANCE
    wide = shapely.area(_widened(areas, least / 2 + TOLERANCE)) / least
    return np.where(shapely.is_empty(areas), 0.0, wide)


def _widened(areas: Shapes, distance: float) -> Shapes:
    return np.asarray(shapely.buffer(areas, distance * OUTSIDE, quad_segs=SEGMENTS))
