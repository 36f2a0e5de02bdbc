"""A raster of square cells over an area: which are inside, and areas made of cells."""

from __future__ import annotations

import math
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]


@dataclass(frozen=True, slots=True)
class Raster:
    """Square cells, numbered row by row from the lower left.

    Parameters
    ----------
    left, bottom
        Lower left corner [m].
    size
        Side of a cell [m].
    columns, rows
        How many.
    """

    left: float
    bottom: float
    size: float
    columns: int
    rows: int

    @staticmethod
    def over(area: BaseGeometry, finest: float, most: int) -> Raster:
        """Raster over the bounds of an area, as fine as allowed with at most so many cells.

        Examples
        --------
        >>> Raster.over(shapely.box(0, 0, 10, 5), 1.0, 1000)
        Raster(left=0.0, bottom=0.0, size=1.0, columns=11, rows=6)
        """
        west, south, east, north = area.bounds
        size = max(finest, math.sqrt((east - west) * (north - south) / most))
        columns, rows = int((east - west) / size) + 1, int((north - south) / size) + 1
        return Raster(west, south, size, columns, rows)

    @property
    def told(self) -> tuple[float, float, float, int, int]:
        """All of it, as loops take it."""
        return float(self.left), float(self.bottom), float(self.size), self.columns, self.rows

    @property
    def count(self) -> int:
        """Number of cells."""
        return self.columns * self.rows

    def middles(self) -> Floats:
        """Middle of every cell [m]."""
        rows, columns = np.divmod(np.arange(self.count), self.columns)
        corner = np.array([self.left, self.bottom])
        return np.asarray(corner + (np.column_stack([columns, rows]) + 0.5) * self.size)

    def holds(self, points: Floats) -> NDArray[np.bool_]:
        """Whether points lie on the raster."""
        across, up = points[:, 0] - self.left, points[:, 1] - self.bottom
        width, height = self.columns * self.size, self.rows * self.size
        return np.asarray((across >= 0) & (across < width) & (up >= 0) & (up < height))

    def cell_of(self, points: Floats) -> Numbers:
        """Number of the cell of each point on the raster."""
        columns = ((points[:, 0] - self.left) / self.size).astype(np.intp)
        rows = ((points[:, 1] - self.bottom) / self.size).astype(np.intp)
        return np.asarray(rows * self.columns + columns)

    def look_up(self, values: NDArray[np.bool_], x: Floats, y: Floats) -> NDArray[np.bool_]:
        """Value of the cell of each point, false off the raster."""
        # what lies below the first column or row is cut to it, and told apart by its sign
        across, up = (x - self.left) / self.size, (y - self.bottom) / self.size
        columns, rows = across.astype(np.intp), up.astype(np.intp)
        on = (across >= 0) & (columns < self.columns) & (up >= 0) & (rows < self.rows)
        cell = rows * self.columns + columns
        return np.asarray(on & values.take(cell, mode="clip"))

    def area_of(self, cells: Numbers) -> BaseGeometry:
        """Area of the given cells, sorted by number."""
        if len(cells) == 0:
            return shapely.MultiPolygon()
        rows, columns = np.divmod(cells, self.columns)
        # runs of neighbours in a row become one box
        breaks = np.flatnonzero((np.diff(cells) != 1) | (np.diff(rows) != 0)) + 1
        bounds = [0, *breaks.tolist(), len(cells)]
        boxes = [
            shapely.box(
                self.left + columns[first] * self.size,
                self.bottom + rows[first] * self.size,
                self.left + (columns[end - 1] + 1) * self.size,
                self.bottom + (rows[first] + 1) * self.size,
            )
            for first, end in pairwise(bounds)
        ]
        return shapely.union_all(boxes)


def rastered(area: BaseGeometry, raster: Raster) -> NDArray[np.bool_]:
    """For every cell whether its middle lies in the area (even-odd rule).

    Examples
    --------
    >>> raster = Raster(0.0, 0.0, 1.0, 3, 2)
    >>> rastered(shapely.box(0, 0, 2, 1), raster).tolist()
    [True, True, False, False, False, False]
    """
    toggles = np.zeros((raster.rows, raster.columns + 1), dtype=np.int64)
    for ring in shapely.get_rings(shapely.get_parts(area)):
        points = shapely.get_coordinates(ring)
        rows, across = _crossings(points, raster)
        columns = np.ceil((across - raster.left) / raster.size - 0.5)
        columns = np.clip(columns, 0, raster.columns).astype(np.intp)
        np.add.at(toggles, (rows, columns), 1)
    inside = np.cumsum(toggles, axis=1)[:, :-1] % 2 == 1
    return np.asarray(inside.ravel())


def _crossings(ring: Floats, raster: Raster) -> tuple[Numbers, Floats]:
    """Row and easting of every crossing of a ring with the middle line of a row."""
    start, end = ring[:-1], ring[1:]
    low, high = np.minimum(start[:, 1], end[:, 1]), np.maximum(start[:, 1], end[:, 1])
    # rows whose middle line lies in [low, high)
    first = np.ceil((low - raster.bottom) / raster.size - 0.5)
    last = np.ceil((high - raster.bottom) / raster.size - 0.5)
    first = np.clip(first, 0, raster.rows).astype(np.intp)
    last = np.clip(last, 0, raster.rows).astype(np.intp)
    counts = last - first
    side = np.repeat(np.arange(len(start)), counts)
    rows = np.arange(len(side)) - np.repeat(np.cumsum(counts) - counts, counts) + first[side]
    height = raster.bottom + (rows + 0.5) * raster.size
    share = (height - start[side, 1]) / (end[side, 1] - start[side, 1])
    return rows, start[side, 0] + share * (end[side, 0] - start[side, 0])
