"""Few bores on little ground: places for them at its edge, or a proof over its cells of none."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]

CELL_M: Final = 0.5
"""Side of the cells into which ground is divided [m]."""
MOST_CELLS: Final = 400
"""Ground of more cells is not looked at."""
FEW: Final = 4
"""Bores up to which it is worth a look."""
MOST_PLACES: Final = 160
"""Places along the edge of ground at which bores are tried."""


def holds_none_of(ground: BaseGeometry, count: int, spacing_m: float) -> bool:
    """Whether it is proven that no so many places on ground lie a spacing apart.

    Each place lies in a cell. Two of them that lie a spacing apart lie in cells of which some
    corners do; where no so many cells are so far from one another, two by two, there are no such
    places. What is not proven is not said to be possible.

    Examples
    --------
    Three places 6 m apart need more than a square of 5 m, of which only the corners of one
    diagonal are so far apart:

    >>> holds_none_of(shapely.box(0, 0, 5, 5), 3, 6.0), holds_none_of(shapely.box(0, 0, 5, 5), 2, 6)
    (True, False)
    """
    if ground.is_empty:
        return count > 0
    cells = _cells(ground)
    if len(cells) > MOST_CELLS:
        return False
    apart = np.abs(cells[:, None] - cells) + CELL_M
    return not _together((apart**2).sum(axis=2) >= spacing_m**2, count)


def _cells(ground: BaseGeometry) -> NDArray[np.float64]:
    """Lower left corners of the cells that meet ground; too many where it is large."""
    west, south, east, north = ground.bounds
    if ground.area > MOST_CELLS * CELL_M**2:
        return np.zeros((MOST_CELLS + 1, 2))
    x, y = np.arange(west, east + CELL_M, CELL_M), np.arange(south, north + CELL_M, CELL_M)
    corners = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    shapely.prepare(ground)
    boxes = shapely.box(*corners.T, *(corners + CELL_M).T)
    return np.asarray(corners[shapely.intersects(boxes, ground)])


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


def _together(apart: NDArray[np.bool_], count: int) -> bool:
    """Whether so many are apart from one another, two by two."""
    if count <= 1:
        return len(apart) >= count
    if count == 2:
        return bool(apart.any())
    if count == 3:
        one, other = np.nonzero(np.triu(apart))
        bits = np.packbits(apart, axis=1)
        return bool((bits[one] & bits[other]).any())
    for number in range(len(apart)):
        later = np.flatnonzero(apart[number, number + 1 :]) + number + 1
        if len(later) >= count - 1 and _together(apart[np.ix_(later, later)], count - 1):
            return True
    return False
