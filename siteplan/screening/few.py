"""Few bores on little ground: places for them at its edge."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]

CELL_M: Final = 0.5
"""Least step along the edge of ground [m]."""
FEW: Final = 4
"""Bores up to which it is worth a look."""
MOST_PLACES: Final = 160
"""Places along the edge of ground at which bores are tried."""


def few_places(ground: BaseGeometry, count: int, spacing_m: float) -> Floats | None:
    """Places of so many bores on ground, a spacing apart two by two; None: none were found.

    Bores that stand as far apart as they can stand at the edge of their ground, most at its
    corners.

    Examples
    --------
    Three places 5 m apart on a square of 5 m, where rows along its sides hold four, and on a
    triangle of 6 m, where no row of two leaves room for the third beside it:

    >>> triangle = shapely.Polygon([(0, 0), (6, 0), (3, 5.2)])
    >>> [len(few_places(each, 3, 5.0)) for each in (shapely.box(0, 0, 5, 5), triangle)]
    [3, 3]
    """
    rings = shapely.get_rings(shapely.get_parts(ground))
    lengths = shapely.length(rings)
    step = max(float(lengths.sum()) / MOST_PLACES, CELL_M)
    along = [
        shapely.line_interpolate_point(ring, np.arange(0.0, length, step))
        for ring, length in zip(rings, lengths, strict=True)
    ]
    corners = shapely.points(shapely.get_coordinates(shapely.simplify(ground, CELL_M / 4)))
    places = np.unique(shapely.get_coordinates(np.concatenate([corners, *along])), axis=0)
    apart = np.hypot(*(places[:, None] - places).transpose(2, 0, 1)) >= spacing_m
    chosen = _chosen(apart, count)
    return None if chosen is None else places[chosen]


def _chosen(apart: NDArray[np.bool_], count: int) -> list[int] | None:
    """Numbers of so many that are apart from one another, two by two; None: there are none."""
    if count <= 1:
        return list(range(count)) if len(apart) >= count else None
    for number in range(len(apart)):
        later = np.flatnonzero(apart[number, number + 1 :]) + number + 1
        if len(later) >= count - 1:
            others = _chosen(apart[np.ix_(later, later)], count - 1)
            if others is not None:
                return [number, *later[others].tolist()]
    return None
