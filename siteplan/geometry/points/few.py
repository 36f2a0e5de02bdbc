"""A proof that an area holds no so many points at a spacing, for few of them on little ground.

A point lies in a cell of a grid. Points that stand a spacing apart, two by two, lie in cells of
which two by two some corners do: where no so many cells are so far from one another, there are no
such points. Cells that stand in no such set hold none of the points; the others are cut in four
and looked at again, until none is left, or there are too many.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.points.bound import packing_bound
from siteplan.geometry.points.scanline import Floats
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.preferences.table import count_of, figure_of

FEW: Final = count_of("geometry.points.few.few")
CELLS: Final = figure_of("geometry.points.few.cells")
MOST_CELLS: Final = count_of("geometry.points.few.most_cells")
LARGEST: Final = count_of("geometry.points.few.largest")
LEVELS: Final = count_of("geometry.points.few.levels")
STEPS: Final = count_of("geometry.points.few.steps")
QUARTERS: Final = np.array([[0, 0], [1, 0], [0, 1], [1, 1]])

Apart = NDArray[np.bool_]
"""Which cells may hold points a spacing apart, shape (n, n)."""


def most_points(area: BaseGeometry, spacing: float, *, held: int) -> int:
    """Number of points that no arrangement at a spacing [m] can exceed; at least those held.

    The bound of :func:`packing_bound`, and for few points the proof of :func:`holds_none_of`.

    Examples
    --------
    A square of 5 m holds two points 6 m apart, at the ends of a diagonal, and no third.

    >>> square = shapely.box(0, 0, 5, 5)
    >>> packing_bound(square, 6.0), most_points(square, 6.0, held=2)
    (3, 2)
    """
    most = max(packing_bound(area, spacing), held)
    for count in range(held + 1, min(most, FEW) + 1):
        if holds_none_of(area, count, spacing):
            return count - 1
    return most


def holds_none_of(area: BaseGeometry, count: int, spacing: float) -> bool:
    """Whether it is proven that no so many points of an area lie a spacing apart [m].

    Points may stand outside or too near by the tolerance. What is not proven within a fixed number
    of steps is not said to be possible.

    Examples
    --------
    Three points in a square of 5 m stand at most 5 (sqrt(6) - sqrt(2)) = 5.18 m apart.

    >>> [holds_none_of(shapely.box(0, 0, 5, 5), 3, apart) for apart in (5.15, 5.2)]
    [False, True]
    """
    if count < 2 or area.is_empty:
        return count > (not area.is_empty)
    side = spacing / CELLS
    if count > FEW or float(area.area) > MOST_CELLS * side**2:
        return False
    room = shapely.buffer(area, 2 * TOLERANCE, quad_segs=2)
    shapely.prepare(room)
    cells = _cells(room, side)
    for _ in range(LEVELS):
        if len(cells) > MOST_CELLS:
            return False
        cells = cells[_standing(_apart(cells, side, spacing - TOLERANCE), count)]
        if len(cells) == 0:
            return True
        side /= 2
        cells = _meeting(room, (cells[:, None] + side * QUARTERS).reshape(-1, 2), side)
    return False


def _cells(room: BaseGeometry, side: float) -> Floats:
    """Lower left corners of the cells that meet an area; too many where it is wide."""
    west, south, east, north = room.bounds
    if (east - west + side) * (north - south + side) > LARGEST * side**2:
        return np.zeros((MOST_CELLS + 1, 2))
    x, y = np.arange(west, east + side, side), np.arange(south, north + side, side)
    return _meeting(room, np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2), side)


def _meeting(room: BaseGeometry, corners: Floats, side: float) -> Floats:
    boxes = shapely.box(*corners.T, *(corners + side).T)
    return np.asarray(corners[shapely.intersects(boxes, room)])


def _apart(cells: Floats, side: float, spacing: float) -> Apart:
    """Which cells have corners a spacing apart; none is apart from itself."""
    farthest = np.abs(cells[:, None] - cells) + side
    apart = np.asarray((farthest**2).sum(axis=2) >= spacing**2)
    np.fill_diagonal(apart, val=False)
    return apart


def _standing(apart: Apart, count: int) -> NDArray[np.intp]:
    """Numbers of the cells that may stand in a set of so many that are apart, two by two."""
    left = _with_enough_in_common(apart, count)
    live = np.flatnonzero(left.any(axis=1))
    sets = _Sets(left[np.ix_(live, live)])
    return live[sets.members(count)]


def _with_enough_in_common(apart: Apart, count: int) -> Apart:
    """Pairs that are apart, both of them from so many others as a set with both has besides."""
    while True:
        shared = apart.astype(np.float32) @ apart.astype(np.float32)  # exact below 2^24
        left = apart & (shared > count - 2.5)
        busy = left.sum(axis=1) >= count - 1
        left &= busy[:, None] & busy
        if left.sum() == apart.sum():
            return np.asarray(left)
        apart = left


class _Sets:
    """Sets of cells that are apart, two by two; the cells as bits of whole numbers."""

    def __init__(self, apart: Apart) -> None:
        rows = np.packbits(apart, axis=1, bitorder="little")
        self.apart = [int.from_bytes(row.tobytes(), "little") for row in rows]
        self.steps = STEPS

    def members(self, count: int) -> list[int]:
        """Numbers of cells that stand in a set, or of which the steps left that open."""
        known, out = 0, 0
        for number, others in enumerate(self.apart):
            if not known >> number & 1:
                found = self._one(others & ~out, count - 1)
                if self.steps <= 0:
                    break
                if found:
                    known |= found | 1 << number
                else:
                    out |= 1 << number
        return [number for number in range(len(self.apart)) if not out >> number & 1]

    def _one(self, among: int, count: int) -> int:
        """One set of so many among some cells; 0 where there is none, or the steps are used up."""
        if count == 1:
            return among & -among
        while among.bit_count() >= count and self.steps > 0:
            self.steps -= 1
            lowest = among & -among
            among ^= lowest
            found = self._one(among & self.apart[lowest.bit_length() - 1], count - 1)
            if found:
                return found | lowest
        return 0
