"""Ends of trenches that a header joins, and where it comes through a shore."""

from __future__ import annotations

import math
from itertools import product
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from scipy.sparse.csgraph import minimum_spanning_tree
from shapely import LineString, MultiLineString, Point

from siteplan.layout.header.ends import choose_ends
from siteplan.layout.header.shore import gated, landings_of


class Straight:
    """Ways in a straight line between all points."""

    def __init__(self, points):
        self.points = np.array(points, dtype=float)

    def ways(self, points):
        steps = self.points[points][:, None] - self.points[None]
        return np.hypot(*steps.transpose(2, 0, 1)), None


def tree_m(graph, root, choice):
    points = [root, *dict.fromkeys(choice)]
    return float(minimum_spanning_tree(graph.ways(points)[0][:, points]).sum())


def rows(count, low=0.0, high=30.0):
    """Two ends of each of so many rows 4 m apart, the entry at (-5, 2)."""
    spots = [(-5.0, 2.0)]
    for row in range(count):
        spots += [(low, 4.0 * row), (high, 4.0 * row)]
    return spots, [(1 + 2 * row, 2 + 2 * row) for row in range(count)]


def test_a_header_on_the_near_side_is_the_first_choice_worth_a_tree():
    spots, groups = rows(5)
    choices = choose_ends(Straight(spots), 0, groups, along_deg=None)
    assert choices[0] == (1, 3, 5, 7, 9)
    # the far side too, and no choice twice
    assert (2, 4, 6, 8, 10) in choices
    assert len(set(choices)) == len(choices)


@pytest.mark.parametrize("seed", range(8))
def test_the_best_of_all_choices_of_ends_is_nearly_found(seed):
    chance = np.random.default_rng(seed)
    spots = [(0.0, 0.0), *map(tuple, chance.uniform(-40, 40, (10, 2)))]
    groups = [(1 + 2 * row, 2 + 2 * row) for row in range(5)]
    graph = Straight(spots)
    choices = choose_ends(graph, 0, groups, along_deg=0.0)
    for choice in choices:
        assert all(end in group for end, group in zip(choice, groups, strict=True))
    found = min(tree_m(graph, 0, choice) for choice in choices)
    best = min(tree_m(graph, 0, choice) for choice in product(*groups))
    assert found <= 1.15 * best


def test_a_bore_has_but_one_place():
    assert choose_ends(Straight([(0, 0), (3, 1), (5, 2)]), 0, [(1,), (2,)], along_deg=None) == [
        (1, 2)
    ]


def test_an_end_that_no_way_leads_to_is_not_joined():
    spots, groups = rows(3)

    class Walled(Straight):
        def ways(self, points):
            far, before = super().ways(points)
            far = far.copy()
            far[:, 3] = np.inf
            far[[at for at, point in enumerate(points) if point == 3]] = np.inf
            return far, before

    # the second row's near end lies in a closed corner: every choice takes its far one
    for choice in choose_ends(Walled(spots), 0, groups, along_deg=None):
        assert choice[1] == 4


def pond(stated=()):
    water = shapely.box(10, 0, 30, 20)
    return SimpleNamespace(entered=water, shore_entries=tuple(stated))


def test_a_header_lands_where_it_crosses_the_shore_from_west_to_east():
    runs = MultiLineString([[(20, -5), (20, 8)], [(5, 10), (35, 10)]])
    landings = landings_of(runs, pond([(10.2, 10.0)]))
    assert [landing.at for landing in landings] == [(10.0, 10.0), (20.0, 0.0), (30.0, 10.0)]
    assert [landing.stated for landing in landings] == [True, False, False]


def test_two_crossings_within_a_centimetre_are_one_and_there_is_none_without_water():
    runs = MultiLineString([[(5, 10), (15, 10)], [(5, 10.005), (15, 10.005)]])
    assert len(landings_of(runs, pond())) == 1
    apart = MultiLineString([[(5, 10), (15, 10)], [(5, 10.02), (15, 10.02)]])
    assert len(landings_of(apart, pond())) == 2
    dry = SimpleNamespace(entered=None, shore_entries=())
    assert landings_of(runs, dry) == ()


def test_a_shore_is_open_at_its_entry_alone():
    ground, shore = shapely.box(0, 0, 40, 20), LineString([(20, 0), (20, 20)])
    open_at = gated(ground, shore, Point(20, 12))
    assert open_at.covers(LineString([(0, 12), (40, 12)]))
    for y in (3.0, 11.7, 12.3, 18.0):
        assert not open_at.covers(LineString([(0, y), (40, y)]))
    # a bank of a tenth of a metre is closed, but for the gate
    lost = ground.area - open_at.area
    assert lost == pytest.approx(0.1 * (20 - 0.5), abs=0.01)
    assert math.isclose(open_at.area + lost, 800.0)
