"""Short ways through all points, beside every order that there is."""

from __future__ import annotations

from itertools import permutations

import numpy as np
import pytest

from siteplan.geometry.points.tours import short_tour


def squares_of(points, order):
    steps = np.diff(points[list(order)], axis=0)
    return float((steps**2).sum())


@pytest.mark.parametrize("seed", range(12))
def test_the_way_is_near_the_best_of_all_orders(seed):
    points = np.random.default_rng(seed).uniform(0, 50, (7, 2))
    order = short_tour(points, start=0)
    assert order[0] == 0
    assert sorted(order) == list(range(7))
    best = min(squares_of(points, (0, *rest)) for rest in permutations(range(1, 7)))
    assert squares_of(points, order) <= 1.25 * best


@pytest.mark.parametrize("seed", range(6))
def test_no_turn_of_a_stretch_and_no_move_of_a_point_makes_the_way_shorter(seed):
    points = np.random.default_rng(seed).uniform(0, 90, (14, 2))
    order = [int(at) for at in short_tour(points, start=3)]
    own = squares_of(points, order)
    for first in range(1, 14):
        for last in range(first + 1, 14):
            turned = [*order[:first], *order[first : last + 1][::-1], *order[last + 1 :]]
            assert squares_of(points, turned) > own - 1e-4
        rest = order[:first] + order[first + 1 :]
        for place in range(1, 14):
            moved = [*rest[:place], order[first], *rest[place:]]
            assert squares_of(points, moved) > own - 1e-4


def test_a_row_is_walked_from_its_end_and_one_point_is_a_way():
    row = np.array([(3.0, 0), (0, 0), (2, 0), (1, 0)])
    assert short_tour(row, start=1).tolist() == [1, 3, 2, 0]
    assert short_tour(row[:1], start=0).tolist() == [0]
