"""Windows over a row pattern: neighbouring rows and a range along them, full and near an entry.

All windows of one width are weighed at once; a number of rows whose least possible cost is above
the best found so far is left out.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.geometry.points.lattice import Pattern
from siteplan.preferences.table import count_of, counts_of, figure_of

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

SPARE_COLUMNS: Final = counts_of("layout.windows.spare_columns")
STARTS_PER_POINT: Final = count_of("layout.windows.starts_per_point")
SPARE_STARTS: Final = count_of("layout.windows.spare_starts")
GAP_COST: Final = figure_of("layout.windows.gap_cost")
ROUNDING: Final = 1e-5
"""How far the rounding of costs may bring two of them together [m]."""
BEYOND: Final = 1.0
"""How far beyond the ends of a row a window is told from one that begins or ends there [m]."""


Crowding = Callable[[int], float]
"""What points near one another cost, by the number of rows in which they stand [m]."""


def _none(_: int) -> float:
    return 0.0


def starts_looked_at(count: int) -> int:
    """How many points, the nearest, a window of so many points may begin at."""
    return STARTS_PER_POINT * count + SPARE_STARTS


def least_cost(distance: Floats, count: int) -> float:
    """Cost that no window of ``count`` points is below, by the points' distances [m]."""
    nearest = np.partition(distance, count - 1)[:count]
    return float(nearest.min() + nearest.mean())


@dataclass(frozen=True, slots=True)
class Window:
    """Rows and a range along them, with what lies inside."""

    first_row: int
    last_row: int
    start: float
    width: float
    gaps: int
    cost_m: float


@dataclass(frozen=True, slots=True)
class Grid:
    """Row pattern prepared for windows.

    Parameters
    ----------
    order
        Its points row by row, along each row.
    keys
        Place of each point in this order, rising: along the row, and each row after the other [m].
    rows
        Number of rows.
    low, length
        Where along the rows the first point stands, and how far from it the last one [m].
    along, distance
        Place along the rows and distance to the entry of each point of the pattern [m].
    spacing_m
        Spacing of the points.
    """

    order: Numbers
    keys: Floats
    rows: int
    low: float
    length: float
    along: Floats
    distance: Floats
    spacing_m: float

    @classmethod
    def of(cls, pattern: Pattern, distance: Floats, *, spacing_m: float) -> Grid:
        """Grid of a pattern with the distance of its points to the entry."""
        angle = np.radians(pattern.direction_deg)
        along = pattern.points @ np.array([np.cos(angle), np.sin(angle)])
        order = np.lexsort((along, pattern.rows))
        row = np.cumsum(np.diff(pattern.rows[order], prepend=pattern.rows[order[0]]) != 0)
        low, length = float(along.min()), float(np.ptp(along))
        keys = row * (length + 3 * BEYOND) + (along[order] - low)
        rows = int(row[-1]) + 1
        return cls(order, keys, rows, low, length, along, distance, spacing_m)

    def cheapest(
        self, count: int, *, limit_m: float = math.inf, crowding: Crowding = _none
    ) -> Window | None:
        """Cheapest window that holds ``count`` points, the lowest rows first; None above a limit.

        Whether a window is found that costs a little more than the limit is left open. ``crowding``
        tells what points near one another cost in so many rows.
        """
        least = least_cost(self.distance, count)
        if least > limit_m:
            return None
        starts = self._starts(count)
        # half a spacing of slack takes in the shifted rows of a staggered pattern
        slack, gap_cost = 0.499 * self.spacing_m, GAP_COST * self.spacing_m
        best: tuple[float, int, int] = (limit_m, self.rows, 0)
        cheapest: Window | None = None
        # square blocks mostly win: met first, they set a limit that spares the long thin ones
        for columns, shapes in self._squarest_first(count):
            contents: _Contents | None = None
            width = (columns - 1) * self.spacing_m + 2 * slack
            for number, rows in shapes:
                fewest = rows * -(-count // rows) - count
                crowded = crowding(rows)
                if least + gap_cost * fewest + crowded > best[0] + ROUNDING:
                    continue
                # only when a shape of this width is not ruled out already: summing over the rows
                # is the dear part
                contents = contents or self._contents(starts - slack, width)
                window = contents.cheapest(rows, count=count, gap_cost=gap_cost)
                if window is None:
                    continue
                first, start, gaps, cost = window
                cost = round(cost + crowded, 6)
                # ties by place and then by shape, or the order of trying would decide between
                # equal blocks
                if (cost, first, number) < best:
                    begin = float(starts[start] - slack)
                    best = (cost, first, number)
                    cheapest = Window(first, first + rows - 1, begin, width, gaps, cost)
        return cheapest

    def _starts(self, count: int) -> Floats:
        # a good window begins near the entry: starts far away would only multiply the work
        near = np.argsort(self.distance, kind="stable")[: starts_looked_at(count)]
        # from the lowest of all starts the widest window holds every point of its rows
        return np.unique(np.round(np.append(self.along[near], self.low), 6))

    def _squarest_first(self, count: int) -> Iterator[tuple[int, list[tuple[int, int]]]]:
        """Numbers of columns worth trying, each with its numbers of rows.

        Each number of rows is numbered as the shape would come from the least rows and columns up.
        """
        longest = 1 + math.ceil(self.length / self.spacing_m)
        shapes: dict[int, list[int]] = {}
        for rows in range(1, min(self.rows, count) + 1):
            needed = -(-count // rows)
            for columns in sorted({min(needed + spare, longest) for spare in SPARE_COLUMNS}):
                shapes.setdefault(columns, []).append(rows)
        numbered: dict[int, list[tuple[int, int]]] = {}
        for columns, some in shapes.items():
            first = sum(len(before) for before in numbered.values())
            numbered[columns] = list(enumerate(some, first))
        square = math.sqrt(count)
        yield from sorted(numbered.items(), key=lambda pair: abs(pair[0] - square))

    def _contents(self, begin: Floats, width: float) -> _Contents:
        """What windows of one width hold of each row, for each of their starts."""
        first, last = self._slices(begin), self._slices(begin + width)
        distance = self.distance[self.order]
        summed = np.concatenate([[0.0], np.cumsum(distance)])
        near = _least_between(distance, first, last=last)
        return _Contents.of(last - first, summed[last] - summed[first], near)

    def _slices(self, at: Floats) -> Numbers:
        """For each row and each place along it the number of points before it, in order."""
        place = np.clip(at - self.low, -BEYOND, self.length + BEYOND)
        step = self.length + 3 * BEYOND
        return np.searchsorted(self.keys, np.arange(self.rows)[:, None] * step + place)

    def inside(self, window: Window) -> list[Numbers]:
        """Points of a window, row by row."""
        begin = np.array([window.start])
        first, last = self._slices(begin)[:, 0], self._slices(begin + window.width)[:, 0]
        rows = range(window.first_row, window.last_row + 1)
        return [self.order[first[row] : last[row]] for row in rows]

    def trimmed(self, chosen: list[Numbers], count: int) -> list[Numbers]:
        """The same rows with the surplus taken off an end of an outer row, the farthest one."""
        chosen = [row for row in chosen if row.size]
        surplus = sum(row.size for row in chosen) - count
        if surplus <= 0:
            return chosen
        cuts = []
        for number in (0, len(chosen) - 1):
            row, size = chosen[number], min(surplus, chosen[number].size)
            # only from an end of an outer row: taken anywhere else, the surplus would leave holes
            for off, kept in ((row[:size], row[size:]), (row[-size:], row[:-size])):
                farthest = round(float(self.distance[off].mean()), 6)
                cuts.append((size, farthest, number, kept))
        _, _, number, kept = max(cuts, key=lambda cut: cut[:2])
        return self.trimmed([*chosen[:number], kept, *chosen[number + 1 :]], count)

    def in_staking_order(self, chosen: list[Numbers]) -> Numbers:
        """Points row by row, to and fro, from the corner nearest the entry."""
        outer = [self.distance[row].min() for row in (chosen[0], chosen[-1])]
        rows = chosen if outer[0] <= outer[1] else chosen[::-1]
        backwards = self.distance[rows[0][0]] > self.distance[rows[0][-1]]
        ordered = []
        for row in rows:
            ordered.append(row[::-1] if backwards else row)
            backwards = not backwards
        return np.concatenate(ordered)


@dataclass(frozen=True, slots=True)
class _Contents:
    """What windows of one width hold, for each row and start, prepared for any number of rows.

    Parameters
    ----------
    held, far
        Points and their distances summed up over the rows before each row, and over all.
    most, near
        Most points in a row, and the least distance, over 1, 2, 4 ... rows from each row on.
    """

    held: Floats
    far: Floats
    most: list[Floats]
    near: list[Floats]

    @classmethod
    def of(cls, held: Numbers, far: Floats, near: Floats) -> _Contents:
        """Contents from the points, summed and least distances in each row for each start."""
        return cls(
            _summed(held.astype(np.float64)),
            _summed(far),
            _doubled(held.astype(np.float64), np.maximum),
            _doubled(near, np.minimum),
        )

    def cheapest(
        self, rows: int, *, count: int, gap_cost: float
    ) -> tuple[int, int, int, float] | None:
        """First row, start, gaps and cost of the cheapest window of so many rows; None: none."""
        total = self.held[rows:] - self.held[:-rows]
        far = self.far[rows:] - self.far[:-rows]
        step = rows.bit_length() - 1
        rest, size = rows - (1 << step), len(total)
        most = np.maximum(self.most[step][:size], self.most[step][rest : rest + size])
        near = np.minimum(self.near[step][:size], self.near[step][rest : rest + size])
        # a row that misses a point cannot be staked by counting steps: gaps cost, but do not
        # forbid
        gaps = rows * most - count
        # the header runs once to the block (its nearest point) and then about as far as the mean
        # point
        cost = near + far / np.maximum(total, 1) + gap_cost * gaps
        cost = np.where(total >= count, np.round(cost, 6), np.inf)
        row, start = divmod(int(cost.argmin()), cost.shape[1])
        if not np.isfinite(cost[row, start]):
            return None
        return row, start, int(gaps[row, start]), float(cost[row, start])


def _summed(values: Floats) -> Floats:
    """Running sums along the rows, from 0."""
    return np.concatenate([np.zeros((1, values.shape[1])), np.cumsum(values, axis=0)])


def _doubled(values: Floats, joined: np.ufunc) -> list[Floats]:
    """Greatest or least values over 1, 2, 4 ... rows from each row on."""
    doubled, step = [values], 1
    while 2 * step <= len(values):
        doubled.append(joined(doubled[-1][:-step], doubled[-1][step:]))
        step *= 2
    return doubled


def _least_between(values: Floats, first: Numbers, *, last: Numbers) -> Floats:
    """Least value of each slice; infinite for an empty one."""
    padded = np.append(values, np.inf)
    pairs = np.stack([first, last], axis=-1)
    least = np.minimum.reduceat(padded, pairs.ravel())[::2].reshape(first.shape)
    return np.where(last > first, least, np.inf)
