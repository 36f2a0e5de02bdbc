"""Which end of each trench the header joins: on one side where that pays, else the nearer ones."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.sparse.csgraph import minimum_spanning_tree

from siteplan.geometry.ways.routing import RouteGraph
from siteplan.preferences.table import count_of, figure_of

SIDE_CHANGE_COST: Final = figure_of("layout.header.ends.side_change_cost")
PASSES: Final = count_of("layout.header.ends.passes")
IMPROVED: Final = count_of("layout.header.ends.improved")

Table = npt.NDArray[np.float64]
Choice = tuple[int, ...]


def choose_ends(
    graph: RouteGraph, root: int, groups: Sequence[Choice], *, along_deg: float | None
) -> list[Choice]:
    """Choices of one point for each group that are worth a full tree; without doubles.

    The points of a group are the ends of one trench, or the one place of a bore.
    """
    if all(len(group) == 1 for group in groups):
        return [tuple(group[0] for group in groups)]
    points = list(dict.fromkeys([root, *(point for group in groups for point in group)]))
    costs = graph.ways(points)[0][:, points]
    number = {point: index for index, point in enumerate(points)}
    numbered = [tuple(number[point] for point in group) for group in groups]
    # all on one side first: then one straight header joins all trenches
    starts = _starts(graph.points[points], costs, numbered, along_deg=along_deg)
    starts.sort(key=lambda choice: round(_tree_cost(costs, choice), 4))
    # the cheapest starts only: each asks for a tree for every end
    improved = [_improved(costs, numbered, start) for start in starts[:IMPROVED]]
    chosen = dict.fromkeys([*starts, *improved])
    return [tuple(points[index] for index in choice) for choice in chosen]


def _starts(
    spots: Table, costs: Table, groups: Sequence[Choice], *, along_deg: float | None
) -> list[Choice]:
    """All ends on one side, all on the other, and of each trench the end nearer to the entry."""
    step = spots[groups[0][-1]] - spots[groups[0][0]]
    turn = math.atan2(step[1], step[0]) if along_deg is None else math.radians(along_deg)
    along = spots @ np.array([math.cos(turn), math.sin(turn)])
    # an end in a closed corner is no choice, on whichever side it lies
    walled = ~np.isfinite(costs[0])
    orders = [along, -along, costs[0]]
    return [
        tuple(min(group, key=lambda end: (bool(walled[end]), order[end])) for group in groups)
        for order in orders
    ]


def _improved(costs: Table, groups: Sequence[Choice], choice: Choice) -> Choice:
    """Choice after changing, one at a time, the ends whose change shortens the tree."""
    best = _tree_cost(costs, choice)
    for _ in range(PASSES):
        before = choice
        for index, group in enumerate(groups):
            for end in group:
                other = (*choice[:index], end, *choice[index + 1 :])
                cost = best if end == choice[index] else _tree_cost(costs, other)
                # a trench begun from the other side breaks the line of the header: not for a few
                # centimetres
                if cost < best - SIDE_CHANGE_COST:
                    best, choice = cost, other
        if choice == before:
            break
    return choice


def _tree_cost(costs: Table, choice: Choice) -> float:
    joined = list(dict.fromkeys([0, *choice]))
    table = costs[np.ix_(joined, joined)]
    # A tree needs every point; scipy reads an infinite cost as "no link".
    if not np.isfinite(table[0]).all():
        return math.inf
    return float(minimum_spanning_tree(table).sum())
