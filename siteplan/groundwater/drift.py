"""Temperature of the water at the supply well over years of seasons.

Heat is carried by the water of the aquifer, which mixes over its thickness, and conducted into what
lies above and below, without end. Each month pumps its own water, changed in the heat pump by its
own difference, and returns it. The scheme is implicit in time and takes what comes from upstream:
its own mixing is that of a grain of half a cell, less than aquifers are known to mix.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import count, islice
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.groundwater.doublet import Doublet
from siteplan.groundwater.grid import Grid, Sides, grid_around, sides_of

Floats = NDArray[np.float64]

MONTHS: Final = 12
MONTH_S: Final = 8760 * 3600.0 / MONTHS
STEPS_A_MONTH: Final = 2
CELLS: Final = 16
"""From well to well."""
LAYERS: Final = 11
FIRST_LAYER_M: Final = 0.4
LAYER_GROWTH: Final = 1.5
REACH: Final = 4.0
"""The grid reaches so many separations beyond the wells [-]."""


@dataclass(frozen=True, slots=True)
class Season:
    """What the heat pump does with the water in twelve months, from any of them on.

    Parameters
    ----------
    flows_m3s
        Mean flow of each month [m3/s].
    changes_k
        What the water is changed by, colder negative [K].
    """

    flows_m3s: tuple[float, ...]
    changes_k: tuple[float, ...]

    @property
    def mean_m3s(self) -> float:
        """Mean flow of the year [m3/s]."""
        return sum(self.flows_m3s) / len(self.flows_m3s)


@dataclass(frozen=True, slots=True)
class Rock:
    """How aquifer and surroundings take up heat.

    Parameters
    ----------
    aquifer, beside
        Volumetric heat capacity of the aquifer with its water, of what lies above and below
        [J/(m3 K)].
    conductivity
        Of both [W/(m K)].
    water
        Volumetric heat capacity of water [J/(m3 K)].
    """

    aquifer: float
    beside: float
    conductivity: float
    water: float = 4.19e6


@dataclass(frozen=True, slots=True)
class _Column:
    """Layers above or below a cell: what they hold back of a step's heat.

    ``keeps`` and ``takes`` lead from layers and cell to the layers after a step; ``gives`` and
    ``share`` say what of both comes back to the cell; ``conducts`` [W/(m2 K)].
    """

    keeps: Floats
    takes: Floats
    conducts: float


def supply_drift(
    pair: Doublet,
    season: Season,
    rock: Rock,
    years: int,
    *,
    cells: int = CELLS,
    feeds_back: bool = True,
) -> Floats:
    """How much warmer than the aquifer the supply well's water is after each month [K].

    Parameters
    ----------
    pair
        The wells; its flow is not read, but the season's.
    season
        Flow and change of twelve months.
    rock
        How heat is taken up.
    years
        So many.
    cells
        From well to well: more are closer and slower.
    feeds_back
        Whether what is returned begins with what was pumped; False: with the aquifer's own
        temperature, as published solutions have it.
    """
    months = month_by_month(pair, season, rock, cells=cells, feeds_back=feeds_back)
    return np.array(list(islice(months, years * MONTHS)))


def month_by_month(
    pair: Doublet,
    season: Season,
    rock: Rock,
    *,
    cells: int = CELLS,
    feeds_back: bool = True,
) -> Iterator[float]:
    """The drift of `supply_drift` month after month, without end [K]."""
    grid = grid_around(pair.separation_m, REACH * pair.separation_m, cells)
    column = _column(rock, MONTH_S / STEPS_A_MONTH)
    # months with the same flow, before and after the hardest, share one matrix
    step_with = {
        flow: _step_of(grid, replace(pair, flow_m3s=flow), rock, column, feeds_back=feeds_back)
        for flow in dict.fromkeys(season.flows_m3s)
    }
    steps = [step_with[flow] for flow in season.flows_m3s]
    heat, layers = np.zeros(grid.areas.size), np.zeros((LAYERS, grid.areas.size))
    for month in count():
        step, change = steps[month % MONTHS], season.changes_k[month % MONTHS]
        for _ in range(STEPS_A_MONTH):
            heat, layers = step(heat, layers, change)
        yield float(heat[grid.supply])


_Step = Callable[[Floats, Floats, float], tuple[Floats, Floats]]


def _step_of(
    grid: Grid, pair: Doublet, rock: Rock, column: _Column, *, feeds_back: bool
) -> _Step:  # fmt: skip
    """What brings the temperatures of the cells and of the layers beside them one step on."""
    # both load slowly, and only well pairs need them
    from scipy.sparse import csc_array  # noqa: PLC0415
    from scipy.sparse.linalg import splu  # noqa: PLC0415

    given = pair.flow_m3s / pair.thickness_m
    stored = grid.areas * rock.aquifer / rock.water / (MONTH_S / STEPS_A_MONTH)
    # above and below
    beside = 2 * grid.areas * column.conducts / (rock.water * pair.thickness_m)
    rows, columns, values = _carried(sides_of(grid, pair), rock)
    cells = np.arange(grid.areas.size)
    rows = np.concatenate([rows, cells, [grid.supply]])
    columns = np.concatenate([columns, cells, [grid.supply]])
    own = stored + beside * (1 - column.takes[0])
    values = np.concatenate([values, own, [given]])
    if feeds_back:
        rows, columns = np.append(rows, grid.back), np.append(columns, grid.supply)
        values = np.append(values, -given)
    matrix = csc_array((values, (rows, columns)))
    # what flows from cell to cell has a symmetric pattern, and a heavy diagonal: so ordered the
    # factors have two thirds of the entries
    solve = splu(
        matrix, permc_spec="MMD_AT_PLUS_A", diag_pivot_thresh=0.01,
        options={"SymmetricMode": True},
    ).solve  # fmt: skip

    def step(heat: Floats, layers: Floats, change_k: float) -> tuple[Floats, Floats]:
        before = column.keeps @ layers
        right = stored * heat + beside * before[0]
        right[grid.back] += given * change_k
        after = np.asarray(solve(right))
        return after, before + column.takes[:, None] * after

    return step


def _carried(sides: Sides, rock: Rock) -> tuple[NDArray[np.intp], NDArray[np.intp], Floats]:
    """What flows and is conducted from cell to cell, as rows, columns and values of a matrix."""
    there, back = np.maximum(sides.through, 0.0), np.maximum(-sides.through, 0.0)
    conducted = sides.conducts * rock.conductivity / rock.water
    gives, takes = there + conducted, back + conducted
    first, other = sides.first, sides.other
    rows = [first, other, first, other, sides.rim]
    columns = [first, first, other, other, sides.rim]
    values = [gives, -gives, -takes, takes, np.maximum(sides.leaves, 0.0)]
    return np.concatenate(rows), np.concatenate(columns), np.concatenate(values)


def _column(rock: Rock, step_s: float) -> _Column:
    """Layers beside a cell over one step, the nearest first."""
    thick = FIRST_LAYER_M * LAYER_GROWTH ** np.arange(LAYERS)
    first = rock.conductivity / (thick[0] / 2)
    between = rock.conductivity / ((thick[1:] + thick[:-1]) / 2)
    stored = rock.beside * thick / step_s
    matrix = np.diag(stored)
    matrix[0, 0] += first
    for layer, conducts in enumerate(between):
        pair = np.ix_([layer, layer + 1], [layer, layer + 1])
        matrix[pair] += conducts * np.array([[1.0, -1.0], [-1.0, 1.0]])
    inverse = np.linalg.inv(matrix)
    return _Column(inverse * stored[None, :], inverse[:, 0] * first, first)
