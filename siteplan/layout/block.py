"""Which points of a row pattern to use: full straight rows in a compact block near an entry.

Every number of rows and every window of the pattern is tried; the best few blocks get a header,
and the shortest header wins. Then a wider spacing is taken where the header pays no more for it
than the longer steps from point to point.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lattice import Pattern, edge_directions, patterns_along
from siteplan.geometry.packing import clusters, pack_rows
from siteplan.layout.header import route_header
from siteplan.layout.model import Ground, Header
from siteplan.layout.way import Ways, ways_of
from siteplan.site.model import DisplayUnit
from siteplan.units import FOOT

Floats = NDArray[np.float64]

FAR: Final = 1e6
"""Stands for the distance to an entry where there is none [m]."""
TIDY_DIRECTIONS: Final = 4
"""Edge directions of the ground, longest first, along and across which rows are tried first."""
BLOCKS_ROUTED: Final = 3
"""Blocks that get a header before one is chosen."""
ROUNDING_SLACK: Final = 1e-9
"""Share of a step that a float's last bits may be off before it is rounded."""
SPARE_COLUMNS: Final = (0, 1, 2, 4, 8, 1000)
"""How much wider than needed a block may be to make up for gaps; the last takes whole rows."""
OBLIQUE_COST: Final = 0.5
"""Header worth spending to follow the longest edges, in spacings; common practice, no source."""
STARTS_PER_POINT: Final = 4
SPARE_STARTS: Final = 60
"""Windows begin at the points nearest the entry: so many for each point wanted, and some more."""
GAP_COST: Final = 0.5
"""Header worth spending to spare one gap in a block, in spacings; common practice, no source."""
STAGGER_COST: Final = 0.5
"""Header worth spending to stake a square grid, in spacings; common practice, no source."""
SPACING_STEP_M: Final[dict[DisplayUnit, float]] = {"ft": FOOT, "m": 0.5}
"""Wider spacings are tried in whole steps of this, by display unit [m]."""
HEADER_FOR_SPACING: Final = 1.0
"""Header worth spending on a wider spacing, for each metre that each step from point to point
grows by: 1 lets the header grow by those steps and no more; common practice, no source."""
WIDER_ROUTED: Final = 2
"""Wider spacings that get a header before the search is given up, the widest first."""


@dataclass(frozen=True, slots=True)
class Block:
    """Points in staking order, the direction of their rows, and how far from tidy and near.

    Parameters
    ----------
    points
        Coordinates, row by row, to and fro [m].
    direction_deg
        Direction of the rows [deg].
    untidy
        Header worth spending for a tidier block, in spacings.
    cost_m
        Distance to the entry plus what a tidier block is worth [m].
    """

    points: Floats
    direction_deg: float
    untidy: float
    cost_m: float


@dataclass(frozen=True, slots=True)
class Placement:
    """Points chosen on the ground, their header, how many it holds, and the spacing they keep."""

    points: Floats
    header: Header | None
    capacity: int
    spacing_m: float


def place_in_rows(
    ground: Ground,
    area: BaseGeometry,
    *,
    spacing_m: float,
    count: int,
    widest_m: float | None = None,
) -> Placement:
    """Points in rows, as many as asked for or as the area holds, with their header.

    ``widest_m``: widest spacing to try; None: no wider than ``spacing_m``.
    """
    fullest = pack_rows(area, spacing_m)
    capacity = sum(len(pattern.points) for pattern in fullest)
    widest_m = widest_m if count <= capacity else None
    count = min(count, capacity)
    if count == 0:
        return Placement(np.zeros((0, 2)), None, capacity, spacing_m)
    ways = ways_of(ground)
    blocks = _blocks(area, fullest, spacing_m=spacing_m, count=count, ways=ways)
    routed = [
        (block, _routed(ground, block))
        for block in sorted(blocks, key=lambda block: block.cost_m)[:BLOCKS_ROUTED]
    ]
    block, header = min(routed, key=lambda pair: _worth(*pair, spacing_m=spacing_m))
    narrow = Placement(block.points, header, capacity, spacing_m)
    worth = _worth(block, header, spacing_m=spacing_m)
    return _widened(ground, area, narrow, worth_m=worth, widest_m=widest_m) or narrow


def _widened(
    ground: Ground, area: BaseGeometry, narrow: Placement, *, worth_m: float, widest_m: float | None
) -> Placement | None:
    """As many points at the widest spacing for which the header need not grow too much."""
    count, ways, routed = len(narrow.points), ways_of(ground), 0
    for spacing in _wider(narrow.spacing_m, widest_m, ground.unit) if count > 1 else ():
        if routed == WIDER_ROUTED:
            break
        blocks = _tidy_blocks(area, spacing, count=count, ways=ways)
        if not blocks:
            continue
        block = min(blocks, key=lambda one: one.cost_m)
        header, routed = _routed(ground, block), routed + 1
        spent = HEADER_FOR_SPACING * (count - 1) * (spacing - narrow.spacing_m)
        if _worth(block, header, spacing_m=spacing) <= worth_m + spent:
            return Placement(block.points, header, narrow.capacity, spacing)
    return None


def _wider(spacing_m: float, widest_m: float | None, unit: DisplayUnit) -> Iterator[float]:
    """Spacings in whole steps above one, the widest first [m]."""
    step = SPACING_STEP_M[unit]
    most = math.floor((widest_m or 0.0) / step + ROUNDING_SLACK)
    for number in range(most, math.floor(spacing_m / step + ROUNDING_SLACK), -1):
        yield number * step


def _routed(ground: Ground, block: Block) -> Header | None:
    return route_header(ground, _ends(block), along_deg=block.direction_deg)


def _worth(block: Block, header: Header | None, *, spacing_m: float) -> float:
    length = header.length_m if header else np.inf
    return round(length + block.untidy * spacing_m, 4)


def _ends(block: Block) -> list[list[tuple[float, float]]]:
    return [[(float(x), float(y))] for x, y in block.points]


def _blocks(
    area: BaseGeometry,
    fullest: Sequence[Pattern],
    *,
    spacing_m: float,
    count: int,
    ways: Ways,
) -> list[Block]:
    """Best block of each pattern that holds enough, rows along or across the area's edges first."""
    found = _tidy_blocks(area, spacing_m, count=count, ways=ways)
    if found:
        return found
    enough = [pattern for pattern in fullest if len(pattern.points) >= count]
    if enough:
        return [_best_block(pattern, spacing_m, count=count, ways=ways) for pattern in enough]
    return [_spilling_block(fullest, spacing_m, count=count, ways=ways)]


def _tidy_blocks(area: BaseGeometry, spacing_m: float, *, count: int, ways: Ways) -> list[Block]:
    return [
        _best_block(pattern, spacing_m, count=count, ways=ways, untidy=untidy)
        for pattern, untidy in _tidy_patterns(area, spacing_m)
        if len(pattern.points) >= count
    ]


def _tidy_patterns(area: BaseGeometry, spacing_m: float) -> Iterator[tuple[Pattern, float]]:
    """Rows along and across the longest edges of each cluster, and how untidy they are."""
    for cluster in clusters(area, spacing_m):
        along = edge_directions(cluster)[:TIDY_DIRECTIONS]
        across = np.mod(along + np.pi / 2, np.pi)
        turned = np.column_stack([along, across]).ravel()
        for number, direction in enumerate(turned):
            oblique = OBLIQUE_COST * (number > 1)
            for pattern in patterns_along(cluster, spacing_m, direction=float(direction)):
                yield pattern, oblique + STAGGER_COST * pattern.staggered


def _spilling_block(
    patterns: Sequence[Pattern], spacing_m: float, *, count: int, ways: Ways
) -> Block:
    """Points of several clusters, the nearest cluster filled first."""
    near = sorted(patterns, key=lambda pattern: float(pipe_distance(pattern.points, ways).min()))
    taken: list[Block] = []
    for pattern in near:
        wanted = min(count - sum(len(block.points) for block in taken), len(pattern.points))
        if wanted:
            taken.append(_best_block(pattern, spacing_m, count=wanted, ways=ways))
    points = np.vstack([block.points for block in taken])
    return Block(points, taken[0].direction_deg, 0.0, 0.0)


def pipe_distance(points: Floats, ways: Ways) -> Floats:
    """Pipe length from the nearest entry to each point [m]; straight where no way is found."""
    lengths = ways.to(points)
    lost = ~np.isfinite(lengths)
    if lost.any():
        steps = points[lost][:, None, :] - ways.bends[None, :, :]
        lengths[lost] = np.hypot(steps[..., 0], steps[..., 1]).min(axis=1, initial=FAR)
    return lengths


def _best_block(
    pattern: Pattern, spacing_m: float, *, count: int, ways: Ways, untidy: float = 0.0
) -> Block:
    """Cheapest window of a pattern that holds ``count`` points, trimmed and in staking order."""
    grid = _Grid.of(pattern, pipe_distance(pattern.points, ways), spacing_m=spacing_m)
    best = min(grid.windows(count), key=lambda window: (window.cost_m, window.first_row))
    chosen = grid.trimmed(grid.inside(best), count)
    return Block(
        pattern.points[grid.in_staking_order(chosen)],
        pattern.direction_deg,
        untidy + GAP_COST * best.gaps,
        best.cost_m + untidy * spacing_m,
    )


@dataclass(frozen=True, slots=True)
class _Window:
    """Rows and a range along them, with what lies inside."""

    first_row: int
    last_row: int
    start: float
    width: float
    gaps: int
    cost_m: float


@dataclass(frozen=True, slots=True)
class _Grid:
    """Row pattern prepared for windows: for each row the points, sorted along it."""

    rows: list[NDArray[np.intp]]
    along: Floats
    distance: Floats
    spacing_m: float

    @classmethod
    def of(cls, pattern: Pattern, distance: Floats, *, spacing_m: float) -> _Grid:
        """Grid of a pattern with the distance of its points to the entry."""
        angle = np.radians(pattern.direction_deg)
        along = pattern.points @ np.array([np.cos(angle), np.sin(angle)])
        order = np.lexsort((along, pattern.rows))
        breaks = np.flatnonzero(np.diff(pattern.rows[order])) + 1
        return cls(np.split(order, breaks), along, distance, spacing_m)

    def windows(self, count: int) -> Iterator[_Window]:
        """Cheapest window of each number of rows and columns that holds ``count`` points."""
        near = np.argsort(self.distance, kind="stable")[: STARTS_PER_POINT * count + SPARE_STARTS]
        # from the lowest of all starts the widest window holds every point of its rows
        starts = np.unique(np.round(np.append(self.along[near], self.along.min()), 6))
        # half a spacing of slack takes in the shifted rows of a staggered pattern
        slack = 0.499 * self.spacing_m
        for columns, row_counts in self._shapes(count).items():
            width = (columns - 1) * self.spacing_m + 2 * slack
            contents = self._contents(starts - slack, width)
            for rows in row_counts:
                window = _cheapest(contents, rows, count=count, gap_cost=GAP_COST * self.spacing_m)
                if window is not None:
                    first, start, gaps, cost = window
                    begin = float(starts[start] - slack)
                    yield _Window(first, first + rows - 1, begin, width, gaps, cost)

    def _shapes(self, count: int) -> dict[int, list[int]]:
        """For each number of columns worth trying the numbers of rows that go with it."""
        longest = 1 + math.ceil(float(np.ptp(self.along)) / self.spacing_m)
        shapes: dict[int, list[int]] = {}
        for rows in range(1, min(len(self.rows), count) + 1):
            needed = -(-count // rows)
            for columns in sorted({min(needed + spare, longest) for spare in SPARE_COLUMNS}):
                shapes.setdefault(columns, []).append(rows)
        return shapes

    def _contents(self, begin: Floats, width: float) -> tuple[Floats, Floats, Floats]:
        """How many points, their summed and least distance: for each row and window start."""
        held, far, near = [], [], []
        for row in self.rows:
            first = np.searchsorted(self.along[row], begin)
            last = np.searchsorted(self.along[row], begin + width)
            summed = np.concatenate([[0.0], np.cumsum(self.distance[row])])
            held.append(last - first)
            far.append(summed[last] - summed[first])
            near.append(_least_between(self.distance[row], first, last=last))
        return np.array(held, dtype=np.float64), np.array(far), np.array(near)

    def inside(self, window: _Window) -> list[NDArray[np.intp]]:
        """Points of a window, row by row."""
        chosen = []
        for row in self.rows[window.first_row : window.last_row + 1]:
            position = self.along[row] - window.start
            chosen.append(row[(position >= 0) & (position < window.width)])
        return chosen

    def trimmed(self, chosen: list[NDArray[np.intp]], count: int) -> list[NDArray[np.intp]]:
        """The same rows with the surplus taken off an end of an outer row, the farthest one."""
        chosen = [row for row in chosen if row.size]
        surplus = sum(row.size for row in chosen) - count
        if surplus <= 0:
            return chosen
        cuts = []
        for number in (0, len(chosen) - 1):
            row, size = chosen[number], min(surplus, chosen[number].size)
            for off, kept in ((row[:size], row[size:]), (row[-size:], row[:-size])):
                farthest = round(float(self.distance[off].mean()), 6)
                cuts.append((size, farthest, number, kept))
        _, _, number, kept = max(cuts, key=lambda cut: cut[:2])
        return self.trimmed([*chosen[:number], kept, *chosen[number + 1 :]], count)

    def in_staking_order(self, chosen: list[NDArray[np.intp]]) -> NDArray[np.intp]:
        """Points row by row, to and fro, from the corner nearest the entry."""
        outer = [self.distance[row].min() for row in (chosen[0], chosen[-1])]
        rows = chosen if outer[0] <= outer[1] else chosen[::-1]
        backwards = self.distance[rows[0][0]] > self.distance[rows[0][-1]]
        ordered = []
        for row in rows:
            ordered.append(row[::-1] if backwards else row)
            backwards = not backwards
        return np.concatenate(ordered)


def _cheapest(
    contents: tuple[Floats, Floats, Floats], rows: int, *, count: int, gap_cost: float
) -> tuple[int, int, int, float] | None:
    """First row, start, gaps and cost of the cheapest window of so many rows; None: none holds."""
    held, far, near = (_over_rows(values, rows) for values in contents)
    total = held.sum(axis=2)
    gaps = rows * held.max(axis=2) - count
    cost = near.min(axis=2) + far.sum(axis=2) / np.maximum(total, 1) + gap_cost * gaps
    cost = np.where(total >= count, np.round(cost, 6), np.inf)
    row, start = np.unravel_index(int(np.argmin(cost)), cost.shape)
    if not np.isfinite(cost[row, start]):
        return None
    return int(row), int(start), int(gaps[row, start]), float(cost[row, start])


def _over_rows(values: Floats, rows: int) -> Floats:
    """Views of each ``rows`` neighbouring lines, along a last axis."""
    return np.lib.stride_tricks.sliding_window_view(values, rows, axis=0)


def _least_between(values: Floats, first: NDArray[np.intp], *, last: NDArray[np.intp]) -> Floats:
    """Least value of each slice; infinite for an empty one."""
    padded = np.append(values, np.inf)
    pairs = np.column_stack([first, last]).ravel()
    least = np.minimum.reduceat(padded, pairs)[::2]
    return np.where(last > first, least, np.inf)
