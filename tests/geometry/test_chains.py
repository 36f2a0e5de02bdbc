"""Pieces joined end to end, and chords that keep a curve's area."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely

from siteplan.geometry.chains import chains_of, chords

SQUARE = [np.array(pair, dtype=float) for pair in (
    [(0, 0), (4, 0)], [(4, 3), (4, 0)], [(4, 3), (0, 3)], [(0, 0), (0, 3)],
)]  # fmt: skip


@pytest.mark.parametrize("seed", range(6))
def test_sides_in_any_order_and_sense_become_one_closed_chain(seed):
    chance = np.random.default_rng(seed)
    order = chance.permutation(4)
    pieces = [SQUARE[at][:: 1 if chance.random() < 0.5 else -1] for at in order]
    (chain,) = chains_of(pieces, 0.01)
    assert chain.closed
    assert sorted(chain.pieces) == [0, 1, 2, 3]
    assert chain.gap == 0.0
    assert shapely.Polygon(chain.points).area == 12.0
    assert len(chain.points) == 5


def test_the_widest_gap_that_was_closed_is_told():
    pieces = [np.array([(0.0, 0.0), (5.0, 0.0)]), np.array([(5.0, 0.004), (9.0, 3.0)])]
    (chain,) = chains_of(pieces, 0.01)
    assert chain.gap == pytest.approx(0.004)
    assert not chain.closed
    assert shapely.LineString(chain.points).length == pytest.approx(5 + math.hypot(4, 3), abs=0.004)
    assert [one.pieces for one in chains_of(pieces, 0.003)] == [(0,), (1,)]


def test_a_fork_parts_three_pieces():
    pieces = [np.array([(0.0, 0.0), tip]) for tip in ((5.0, 0.0), (-3.0, 4.0), (-3.0, -4.0))]
    chains = chains_of(pieces, 0.01)
    assert [chain.pieces for chain in chains] == [(0,), (1,), (2,)]
    assert not any(chain.closed for chain in chains)


def test_chains_stand_in_the_order_of_their_first_pieces():
    pieces = [np.array([(at, 0.0), (at + 1.0, 0.0)]) for at in (10.0, 0.0, 11.0, 1.0)]
    assert [chain.pieces for chain in chains_of(pieces, 0.01)] == [(0, 2), (1, 3)]
    assert chains_of([], 0.01) == []


def test_two_pieces_there_and_back_hold_nothing():
    pieces = [np.array([(0.0, 0.0), (5.0, 0.0)]), np.array([(5.0, 0.0), (0.0, 0.0)])]
    (chain,) = chains_of(pieces, 0.01)
    assert not chain.closed


@pytest.mark.parametrize("within", [0.01, 0.05, 0.2])
@pytest.mark.parametrize("turn_deg", [40.0, 90.0, 170.0])
@pytest.mark.parametrize("left", [True, False])
def test_few_chords_of_an_arc_keep_its_ends_and_its_area_and_stay_near(within, turn_deg, left):
    angles = np.radians(np.linspace(0.0, turn_deg, 400)) * (1 if left else -1)
    curve = 30.0 * np.column_stack([np.cos(angles), np.sin(angles)]) + (500.0, -200.0)
    few = chords(curve, within)
    assert len(few) < 100
    assert (few[0], few[-1]) == (pytest.approx(curve[0]), pytest.approx(curve[-1]))
    # the segment between an arc and its chord: r2 (a - sin a) / 2
    angle = math.radians(turn_deg)
    segment = 900.0 * (angle - math.sin(angle)) / 2
    assert shapely.Polygon(few).area == pytest.approx(segment, rel=2e-4)
    arc = shapely.LineString(curve)
    assert max(arc.distance(shapely.Point(at)) for at in few) <= within * 1.01


@pytest.mark.parametrize("count", [2, 3])
def test_a_curve_of_few_points_is_left_alone(count):
    curve = np.array([(0.0, 0.0), (1.0, 0.1), (2.0, 0.0)])[:count]
    assert (chords(curve, 1.0) == curve).all()


def test_points_on_a_line_become_its_two_ends():
    curve = np.column_stack([np.linspace(0, 9, 10), np.zeros(10)])
    assert chords(curve, 0.01).tolist() == [[0.0, 0.0], [9.0, 0.0]]
