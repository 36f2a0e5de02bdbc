"""Which points of a row pattern to use: full straight rows in a compact block near an entry.

Every number of rows and every window of the pattern is tried; what a header to the points may
cost ranks them.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.frame import DRAWN_M
from siteplan.geometry.memory import Memory, remembered
from siteplan.geometry.points.bound import packing_bound
from siteplan.geometry.points.lattice import Pattern, edge_directions, patterns_along
from siteplan.geometry.points.packing import clusters
from siteplan.layout.bores.neighbours import Neighbours
from siteplan.layout.header.least import least_header
from siteplan.layout.model import Ground
from siteplan.layout.way import MORE, Ways, ways_of
from siteplan.layout.windows import GAP_COST, ROUNDING, Grid, Window, least_cost, starts_looked_at
from siteplan.preferences.table import count_of, figure_of

Floats = NDArray[np.float64]

MOST_TRACED: Final = 2_000_000
"""Points times bends beyond which not every way is traced: no lot of a house has so many."""
FAR: Final = 1e6
"""Stands for the distance to an entry where there is none [m]."""
TIDY_DIRECTIONS: Final = count_of("layout.block.tidy_directions")
ALIKE: Final = math.radians(figure_of("layout.block.alike_deg"))
LOOKED_AT: Final = count_of("layout.block.looked_at")
BLOCKS_ROUTED: Final = count_of("layout.block.blocks_routed")
OBLIQUE_COST: Final = figure_of("layout.block.oblique_cost")
STAGGER_COST: Final = figure_of("layout.block.stagger_cost")


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
class Field:
    """What is to be filled: the ground, the area for points, the ways there, and how many.

    And what points near one another cost, where that is known.
    """

    ground: Ground
    area: BaseGeometry
    ways: Ways
    count: int
    neighbours: Neighbours | None = None

    def crowding(self, points: Floats) -> float:
        """Length of bore that points near one another cost [m]."""
        return 0.0 if self.neighbours is None else self.neighbours.of(points)


def blocks_of(field: Field, fullest: Sequence[Pattern], *, spacing_m: float) -> list[Block]:
    """Cheapest blocks of patterns that hold enough, rows along or across the edges first."""
    # rows along or across an edge are staked by tape from it: taken wherever they hold enough, and
    # only then rows of any direction, and only then several clusters
    blocks = tidy_blocks(field, spacing_m, most=BLOCKS_ROUTED)
    if blocks:
        return blocks
    enough = [(pattern, 0.0) for pattern in fullest if len(pattern.points) >= field.count]
    if enough:
        every = _Group(0, 0.0, enough)
        return _cheapest_blocks(field, [every], spacing_m, most=BLOCKS_ROUTED)
    return [_spilling_block(field, fullest, spacing_m)]


@dataclass(frozen=True, slots=True)
class _Group:
    """Patterns of one cluster and how untidy they are, its number, and its distance to an entry."""

    number: int
    away_m: float
    patterns: Iterable[tuple[Pattern, float]]


def tidy_blocks(field: Field, spacing_m: float, *, most: int) -> list[Block]:
    """Cheapest blocks along or across the longest edges of a cluster."""
    entries = shapely.union_all([entry.point for entry in field.ground.entries])
    groups = [
        _Group(
            number,
            float(cluster.distance(entries)),
            _tidy_patterns(cluster, spacing_m, field.ground.memory),
        )
        for number, cluster in enumerate(clusters(field.area, spacing_m))
        # a proof is cheaper than packing a cluster that is too small anyway
        if packing_bound(cluster, spacing_m) >= field.count
    ]
    # near clusters set a low limit early, so that far ones are passed over without being packed
    groups.sort(key=lambda group: group.away_m)
    return _cheapest_blocks(field, groups, spacing_m, most=most)


def _cheapest_blocks(
    field: Field, groups: Sequence[_Group], spacing_m: float, *, most: int
) -> list[Block]:
    """Of the blocks that look cheapest those that a header joins at the least, the best first."""
    cheapest: list[tuple[float, int, Block]] = []
    limit_m = math.inf
    for group in groups:
        # a block costs its nearest and its mean way, and none is shorter than the straight line
        if 2 * group.away_m > limit_m + ROUNDING:
            continue
        for pattern, untidy in group.patterns:
            block = _best_block(field, pattern, spacing_m, untidy=untidy, limit_m=limit_m)
            if block is not None:
                found = (block.cost_m, group.number, block)
                cheapest = sorted([*cheapest, found], key=_rank)[:LOOKED_AT]
                limit_m = cheapest[-1][0] if len(cheapest) == LOOKED_AT else math.inf
    # bores share their way, which ways to each of them do not tell: a tree over them does
    blocks = [block for _, _, block in cheapest]
    return sorted(blocks, key=lambda block: _least_joined(field, block, spacing_m))[:most]


def _least_joined(field: Field, block: Block, spacing_m: float) -> float:
    """What joins a block at the least, with what a tidier one is worth [m]."""
    tree = least_header([(float(x), float(y)) for x, y in block.points])
    way = float(field.ways.at_least(block.points).min(initial=FAR))
    return round(tree + way + block.untidy * spacing_m + field.crowding(block.points), 4)


def _rank(ranked: tuple[float, int, Block]) -> tuple[float, int]:
    return ranked[:2]


def _tidy_patterns(
    cluster: BaseGeometry, spacing_m: float, memory: Memory
) -> Iterator[tuple[Pattern, float]]:
    """Rows along and across the longest edges of a cluster, and how untidy they are."""
    edges = edge_directions(cluster, least_m=DRAWN_M)
    # where there are few edges, half-way between the longest and square to it, as an arc has chords
    half_way = edges[0] + np.pi / 4
    along = np.mod(np.append(edges, half_way), np.pi)[:TIDY_DIRECTIONS]
    across = np.mod(along + np.pi / 2, np.pi)
    turned = np.column_stack([along, across]).ravel()
    for number, direction in enumerate(_each_once(turned)):
        # the first two directions are along and across the longest edge; a crew likes those best
        oblique = OBLIQUE_COST * (number > 1)
        for pattern in memory.of(patterns_along, cluster, spacing_m, direction=float(direction)):
            yield pattern, oblique + STAGGER_COST * pattern.staggered


def _each_once(directions: Floats) -> list[float]:
    """Directions of rows that differ, each where it comes first [rad]."""
    kept: list[float] = []
    for direction in directions.tolist():
        apart = np.abs(np.array(kept) - direction)
        if not (np.minimum(apart, np.pi - apart) < ALIKE).any():
            kept.append(direction)
    return kept


def _spilling_block(field: Field, patterns: Sequence[Pattern], spacing_m: float) -> Block:
    """Points of several clusters, the nearest cluster filled first."""
    near = sorted(patterns, key=lambda pattern: float(_pipe_to(field.ground, pattern).min()))
    taken: list[Block] = []
    for pattern in near:
        left = field.count - sum(len(block.points) for block in taken)
        some = replace(field, count=min(left, len(pattern.points)))
        block = _best_block(some, pattern, spacing_m) if some.count else None
        taken += [block] if block is not None else []
    points = np.vstack([block.points for block in taken])
    return Block(points, taken[0].direction_deg, 0.0, 0.0)


@remembered
def _pipe_to(ground: Ground, pattern: Pattern) -> Floats:
    """Pipe length to each point of a pattern [m], kept for another count asked for."""
    lengths = pipe_distance(pattern.points, ways_of(ground))
    lengths.setflags(write=False)
    return lengths


def _cheapest_window(
    field: Field, pattern: Pattern, spacing_m: float, *, limit_m: float
) -> tuple[Grid, Window] | None:
    """Cheapest window of a pattern, with its grid; None where every one costs more than that."""
    crowding = partial(_crowding, field, spacing_m)
    for lengths, traced in _lengths_to(field, pattern):
        grid = Grid.of(pattern, lengths, spacing_m=spacing_m)
        best = grid.cheapest(field.count, limit_m=limit_m, crowding=crowding)
        if best is None:
            return None
        if traced[np.concatenate(grid.inside(best))].all():
            return grid, best
    return None


def _crowding(field: Field, spacing_m: float, rows: int) -> float:
    """What so many full rows cost, as their points take heat from one another [m]."""
    near, count = field.neighbours, field.count
    return (
        0.0 if near is None else field.ground.memory.of(_in_full_rows, near, spacing_m, rows, count)
    )


def _in_full_rows(near: Neighbours, spacing_m: float, rows: int, count: int) -> float:
    across, along = np.divmod(np.arange(count), -(-count // rows))
    return near.of(spacing_m * np.column_stack([along, across]).astype(np.float64))


def _lengths_to(field: Field, pattern: Pattern) -> Iterator[tuple[Floats, NDArray[np.bool_]]]:
    """Pipe length to each point of a pattern, and whether its way was traced; more each time [m].

    On a large lot ways are traced to the points nearest to the entries, and others stand for the
    straight line, which no way is below: a window of traced points that is the cheapest then is
    the cheapest of all.
    """
    points, count = pattern.points, len(pattern.points)
    if count * len(field.ways.bends) > MOST_TRACED:
        straight = field.ways.straight(points)
        order, enough = np.argsort(straight, kind="stable"), starts_looked_at(field.count)
        taken = MORE * enough
        while taken < count:
            lengths, near = straight.copy(), order[:taken]
            lengths[near] = _pipe_near(field.ground, pattern, taken)
            # a window may begin at any of the nearest: all of these are to be known
            if straight[order[taken]] >= np.partition(lengths[near], enough - 1)[enough - 1]:
                yield lengths, np.isin(np.arange(count), near)
            taken *= MORE
    yield _pipe_to(field.ground, pattern), np.ones(count, dtype=bool)


@remembered
def _pipe_near(ground: Ground, pattern: Pattern, taken: int) -> Floats:
    """Pipe length to so many points of a pattern, those nearest to an entry [m]."""
    ways = ways_of(ground)
    near = np.argsort(ways.straight(pattern.points), kind="stable")[:taken]
    lengths = pipe_distance(pattern.points[near], ways)
    lengths.setflags(write=False)
    return lengths


def pipe_distance(points: Floats, ways: Ways) -> Floats:
    """Pipe length from the nearest entry to each point [m]; straight where no way is found."""
    lengths = ways.to(points)
    lost = ~np.isfinite(lengths)
    if lost.any():
        steps = points[lost][:, None, :] - ways.bends[None, :, :]
        lengths[lost] = np.hypot(steps[..., 0], steps[..., 1]).min(axis=1, initial=FAR)
    return lengths


def _best_block(
    field: Field,
    pattern: Pattern,
    spacing_m: float,
    *,
    untidy: float = 0.0,
    limit_m: float = math.inf,
) -> Block | None:
    """Cheapest window of a pattern, trimmed and in staking order.

    None where the pattern holds too few points, and where every window costs more than the limit.
    """
    if len(pattern.points) < field.count:
        return None
    limit_m += ROUNDING - untidy * spacing_m
    # the straight way is no longer than the true one: a cheap proof that spares tracing ways round
    # walls
    if least_cost(field.ways.at_least_nearest(pattern.points, field.count), field.count) > limit_m:
        return None
    found = _cheapest_window(field, pattern, spacing_m, limit_m=limit_m)
    if found is None:
        return None
    grid, best = found
    chosen = grid.trimmed(grid.inside(best), field.count)
    return Block(
        pattern.points[grid.in_staking_order(chosen)],
        pattern.direction_deg,
        untidy + GAP_COST * best.gaps,
        best.cost_m + untidy * spacing_m,
    )
