"""Whether ground too small for its shape holds so few bores at all: proven over cells of it."""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

CELL_M: Final = 0.5
"""Side of the cells into which ground is divided [m]."""
MOST_CELLS: Final = 400
"""Ground of more cells is not looked at."""
FEW: Final = 4
"""Bores up to which it is worth a look."""


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
