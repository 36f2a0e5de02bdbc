"""Windows over row patterns: the cheapest one is the cheapest of all, tried one by one."""

from __future__ import annotations

import math
from itertools import combinations

import numpy as np
import pytest
from shapely import Point, box

from siteplan.geometry.points.lattice import Pattern, patterns_along
from siteplan.layout.windows import GAP_COST, SPARE_COLUMNS, Grid, least_cost

SPACING = 5.0
AREA = box(0, 0, 52, 38).difference(Point(20, 12).buffer(6)).difference(box(30, 20, 41, 31))


def patterns() -> list[Pattern]:
    """Square and staggered rows in four directions."""
    return [
        pattern
        for degrees in (0.0, 31.0, 90.0, 140.0)
        for pattern in patterns_along(AREA, SPACING, direction=math.radians(degrees))
    ]


def grid_of(pattern: Pattern) -> Grid:
    """Grid of a pattern, with straight ways from a corner."""
    return Grid.of(pattern, np.hypot(*(pattern.points - (3.0, -4.0)).T), spacing_m=SPACING)


def cheapest_by_hand(pattern: Pattern, count: int) -> float:
    """Least cost over every number of rows and columns, every first row and every start."""
    grid, slack, best = grid_of(pattern), 0.499 * SPACING, math.inf
    rows = [np.flatnonzero(pattern.rows == number) for number in np.unique(pattern.rows)]
    longest = 1 + math.ceil(grid.length / SPACING)
    starts = np.unique(np.round(grid.along, 6)) - slack
    for high in range(1, min(len(rows), count) + 1):
        for spare in SPARE_COLUMNS:
            width = (min(math.ceil(count / high) + spare, longest) - 1) * SPACING + 2 * slack
            for first in range(len(rows) - high + 1):
                for start in starts:
                    held = [
                        one[(grid.along[one] >= start) & (grid.along[one] < start + width)]
                        for one in rows[first : first + high]
                    ]
                    distance = grid.distance[np.concatenate(held)]
                    if len(distance) >= count:
                        gaps = high * max(len(one) for one in held) - count
                        cost = distance.min() + distance.mean() + GAP_COST * SPACING * gaps
                        best = min(best, cost)
    return best


@pytest.mark.parametrize("number", range(8))
@pytest.mark.parametrize("count", [1, 5, 11])
def test_the_cheapest_window_is_the_cheapest_of_all_tried_one_by_one(
    number: int, count: int
) -> None:
    pattern = patterns()[number]
    grid = grid_of(pattern)
    window = grid.cheapest(count)
    assert window is not None
    # so few points wanted that every place of the pattern is tried as a start
    assert window.cost_m == pytest.approx(cheapest_by_hand(pattern, count), abs=1e-6)
    assert sum(len(one) for one in grid.inside(window)) >= count


@pytest.mark.parametrize("number", range(8))
def test_no_window_is_below_the_least_cost(number: int) -> None:
    grid = grid_of(patterns()[number])
    for count in (1, 4, 9, 20):
        window = grid.cheapest(count)
        assert window is not None
        assert window.cost_m >= least_cost(grid.distance, count) - 1e-6


def test_a_limit_leaves_out_dearer_windows_and_keeps_the_cheapest() -> None:
    grid = grid_of(patterns()[0])
    window = grid.cheapest(9)
    assert window is not None
    assert grid.cheapest(9, limit_m=window.cost_m + 0.001) == window
    assert grid.cheapest(9, limit_m=window.cost_m - 0.001) is None


def test_a_row_without_points_lies_between_no_two_others() -> None:
    # rows 0 and 2 with nothing in row 1: two points above one another make a window of two rows
    points = np.array([[0.0, 0.0], [0.0, 10.0]])
    pattern = Pattern(points, np.array([0, 2]), 0.0, staggered=False)
    window = Grid.of(pattern, np.array([1.0, 11.0]), spacing_m=SPACING).cheapest(2)
    assert window is not None
    assert (window.first_row, window.last_row, window.gaps) == (0, 1, 0)


@pytest.mark.parametrize("count", range(1, 7))
def test_of_so_many_points_none_cost_less_than_the_nearest_and_the_mean_together(
    count: int,
) -> None:
    chance = np.random.default_rng(count)
    for _ in range(20):
        away = chance.uniform(1.0, 90.0, 7)
        # every choice of so many points, one by one
        least = min(min(some) + sum(some) / count for some in combinations(away, count))
        assert least_cost(away, count) == pytest.approx(least)
