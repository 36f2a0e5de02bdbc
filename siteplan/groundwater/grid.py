"""A grid around two wells, and the water that flows through each of its sides."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.groundwater.doublet import Doublet

Floats = NDArray[np.float64]
Ints = NDArray[np.intp]

GROWTH: Final = 1.3
"""Each cell beyond the wells is so much wider than the one before [-]."""


@dataclass(frozen=True, slots=True)
class Grid:
    """Cells in the frame of a pair: both wells stand in the middle of one.

    Parameters
    ----------
    x, y
        Sides of the cells [m].
    back, supply
        Number of the cell with the return well, with the supply well.
    """

    x: Floats
    y: Floats
    back: int
    supply: int

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        return len(self.y) - 1, len(self.x) - 1

    @property
    def areas(self) -> Floats:
        """Area of each cell, row by row [m2]."""
        return np.outer(np.diff(self.y), np.diff(self.x)).ravel()

    @property
    def middles(self) -> tuple[Floats, Floats]:
        """Middle of each column and of each row [m]."""
        return (self.x[1:] + self.x[:-1]) / 2, (self.y[1:] + self.y[:-1]) / 2


@dataclass(frozen=True, slots=True)
class Sides:
    """Sides between two cells, and those towards the ground beyond the grid.

    Parameters
    ----------
    first, other
        Cells on both sides: left and right, or below and above.
    through
        Flow from the first to the other, of a metre of height [m2/s].
    conducts
        Length of the side over the way from middle to middle [-].
    rim, leaves
        Cells at the rim, a row for each side there, and what leaves the grid through it [m2/s].
    """

    first: Ints
    other: Ints
    through: Floats
    conducts: Floats
    rim: Ints
    leaves: Floats


def grid_around(separation_m: float, reach_m: float, cells: int) -> Grid:
    """Grid with so many cells from well to well, that reaches so far beyond them.

    Examples
    --------
    >>> grid = grid_around(40.0, 100.0, 4)
    >>> [round(float(side)) for side in grid.x[grid.x > -30][:4]]
    [-18, -5, 5, 15]
    """
    step = separation_m / cells
    wide, beyond = step, list[float]()
    while sum(beyond) < reach_m:
        wide *= GROWTH
        beyond.append(wide)
    outward = np.cumsum(beyond)
    inner = step * (np.arange(cells + 2) - 0.5)
    x = np.concatenate([inner[0] - outward[::-1], inner, inner[-1] + outward])
    rows = 2 * (cells // 4) + 1
    middle = step * (np.arange(rows + 1) - rows / 2)
    y = np.concatenate([middle[0] - outward[::-1], middle, middle[-1] + outward])
    row, column = len(beyond) + cells // 4, len(beyond)
    back = row * (len(x) - 1) + column
    return Grid(x, y, back=back, supply=back + cells)


def sides_of(grid: Grid, pair: Doublet) -> Sides:
    """Flow through all sides: what a well gives goes through each by the angle it is seen under.

    So no cell but those of the wells gains or loses water.
    """
    upright, level = _through_upright(grid, pair), _through_level(grid, pair)
    number = np.arange(grid.areas.size).reshape(grid.shape)
    wide, high = np.diff(grid.x), np.diff(grid.y)
    apart_x, apart_y = (wide[1:] + wide[:-1]) / 2, (high[1:] + high[:-1]) / 2
    return Sides(
        first=np.concatenate([number[:, :-1].ravel(), number[:-1].ravel()]),
        other=np.concatenate([number[:, 1:].ravel(), number[1:].ravel()]),
        through=np.concatenate([upright[:, 1:-1].ravel(), level[1:-1].ravel()]),
        conducts=np.concatenate([
            np.outer(high, 1 / apart_x).ravel(), np.outer(1 / apart_y, wide).ravel(),
        ]),
        rim=np.concatenate([number[:, 0], number[:, -1], number[0], number[-1]]),
        leaves=np.concatenate([-upright[:, 0], upright[:, -1], -level[0], level[-1]]),
    )  # fmt: skip


def _through_upright(grid: Grid, pair: Doublet) -> Floats:
    """Flow to the right through upright sides, a row for each row of cells [m2/s]."""
    flow = np.outer(np.diff(grid.y), np.full(len(grid.x), pair.past[0]))
    for at, sign in ((0.0, 1.0), (pair.separation_m, -1.0)):
        angle = np.arctan2(grid.y[:, None], grid.x[None, :] - at)
        flow += sign * pair.strength * _within_half_a_turn(np.diff(angle, axis=0))
    return flow


def _through_level(grid: Grid, pair: Doublet) -> Floats:
    """Flow upward through level sides, a row for each line of sides [m2/s]."""
    flow = np.outer(np.full(len(grid.y), pair.past[1]), np.diff(grid.x))
    for at, sign in ((0.0, 1.0), (pair.separation_m, -1.0)):
        angle = np.arctan2(grid.y[:, None], grid.x[None, :] - at)
        flow -= sign * pair.strength * _within_half_a_turn(np.diff(angle, axis=1))
    return flow


def _within_half_a_turn(angle: Floats) -> Floats:
    return np.asarray((angle + math.pi) % (2 * math.pi) - math.pi)
