"""Trenches cut to a level, and the directions that rows are tried in."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import LineString, Polygon, affinity

from siteplan.geometry.lines.directions import turn_between
from siteplan.layout.trenches.cutting import level, start_of
from siteplan.layout.trenches.turns import different, directions_of


@pytest.mark.parametrize("seed", range(12))
def test_all_cut_to_the_level_lose_the_excess_and_none_below_is_cut(seed):
    chance = np.random.default_rng(seed)
    lengths = chance.uniform(20.0, 60.0, 7).tolist()
    excess = float(chance.uniform(0.0, sum(lengths) - 7 * min(lengths)))
    to = level(lengths, excess, 5.0)
    assert sum(max(0.0, each - to) for each in lengths) == pytest.approx(excess)


def test_the_level_is_never_below_the_shortest_nor_above_the_longest():
    assert level([50.0, 40.0, 30.0], 90.0, 15.0) == 15.0
    assert level([50.0, 40.0, 30.0], 75.0, 15.0) == pytest.approx(15.0)
    assert level([50.0, 40.0], 0.0, 10.0) == 50.0
    assert level([], 5.0, 10.0) == 0.0
    assert level([30.0], 12.0, 10.0) == 18.0
    # two of the same, and one that the level just reaches: (50 + 50 - 20) / 2 = 40
    assert level([50.0, 50.0, 40.0], 20.0, 10.0) == 40.0


def test_the_first_part_of_a_line_with_a_bend_begins_where_the_line_does():
    line = LineString([(0, 0), (10, 0), (10, 10)])
    part = start_of(line, 13.0)
    assert [tuple(at) for at in part.coords] == [(0, 0), (10, 0), (10, 3)]


@pytest.mark.parametrize("turn_deg", [0.0, 12.5, 77.0, 133.3])
def test_rows_are_tried_along_and_across_the_longest_side_first(turn_deg):
    lot = affinity.rotate(shapely.box(0, 0, 60, 25), turn_deg, origin=(0, 0))
    turns = directions_of(lot)
    for found in (turns.lines, turns.edges):
        assert len(found) == 2
        assert turn_between(found[0], turn_deg) < 1e-4
        assert turn_between(found[1], turn_deg + 90.0) < 1e-4
    assert [turns.others[0], turns.others[1]] == pytest.approx(list(turns.edges))
    # what lies between is spread evenly over half a turn
    rest = np.sort(np.array(turns.others) % 180.0)
    gaps = np.diff([*rest, rest[0] + 180.0])
    assert gaps.max() <= 1.5 * np.median(gaps)
    assert all(turn_between(a, b) > 0.01 for i, a in enumerate(rest) for b in rest[:i])


def test_the_longer_of_two_slanting_sides_comes_first():
    lot = Polygon([(0, 0), (80, 0), (50, 40), (0, 40)])
    lines = directions_of(lot).lines
    slant = math.degrees(math.atan2(40, -30))
    # sides of 80 and 50 along the x axis, a slanting one of 50, and one of 40 upright
    assert lines[:2] == pytest.approx((0.0, 90.0))
    assert any(turn_between(line, slant) < 1e-6 for line in lines)
    assert any(turn_between(line, slant + 90) < 1e-6 for line in lines)


def test_an_arc_in_short_chords_gives_no_direction_where_a_side_does():
    angles = np.linspace(0, math.pi, 90)
    arc = np.column_stack([30 + 30 * np.cos(angles), 40 + 30 * np.sin(angles)])
    lot = Polygon([(0, 0), (60, 0), *arc.tolist()])
    assert sorted(directions_of(lot).lines) == pytest.approx([0.0, 90.0])


def test_of_directions_half_a_turn_apart_one_is_left():
    assert different([10.0, 190.0, 10.005, 100.0, 10.02]) == (10.0, 100.0, 10.02)
