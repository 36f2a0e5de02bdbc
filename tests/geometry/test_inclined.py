"""Distances between inclined lines, against quadrature and minimisation of scipy."""

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad
from scipy.optimize import minimize

from siteplan.geometry.inclined import downward, least_gap, mean_gap

TILTS = st.floats(0.0, 60.0)
TURNS = st.floats(0.0, 360.0)
STEPS = st.tuples(st.floats(-9.0, 9.0), st.floats(-9.0, 9.0))


def test_a_line_without_tilt_runs_straight_down():
    assert downward(0.0, 123.0) == pytest.approx([0.0, 0.0, -1.0])


def test_an_azimuth_of_ninety_degrees_leads_east():
    assert downward(90.0, 90.0) == pytest.approx([1.0, 0.0, 0.0])


@settings(deadline=None)
@given(STEPS, TILTS, TURNS, TILTS, TURNS)
def test_the_mean_gap_is_that_of_quadrature(step, tilt, turn, other_tilt, other_turn):
    between = np.array([*step, 0.0])
    apart = downward(other_tilt, other_turn) - downward(tilt, turn)
    length = 80.0
    near = float(np.clip(-(between @ apart) / max(float(apart @ apart), 1e-9), 0.0, length))
    total, _ = quad(lambda s: np.linalg.norm(between + s * apart), 0.0, length, points=[near])
    assert float(mean_gap(between, apart, length)) == pytest.approx(total / length, abs=1e-6)


@settings(max_examples=several(20, 300), deadline=None)
@given(STEPS, TILTS, TURNS, TILTS, TURNS)
def test_the_least_gap_is_that_of_a_minimiser(step, tilt, turn, other_tilt, other_turn):
    between = np.array([*step, 0.0])
    first, second = downward(tilt, turn), downward(other_tilt, other_turn)
    length = 40.0

    def square(depths):
        return float(np.sum((between + depths[1] * second - depths[0] * first) ** 2))

    # the square is convex in the two depths: from anywhere the way down leads to the least
    starts = [(0.0, 0.0), (20.0, 20.0)]
    bounds = [(0.0, length)] * 2
    best = min(minimize(square, start, bounds=bounds, tol=1e-14).fun for start in starts)
    found = float(least_gap(between, first, second, length))
    assert found <= np.sqrt(best) + 1e-6
    assert found == pytest.approx(np.sqrt(best), abs=2e-4)


def test_two_lines_that_lean_towards_each_other_cross():
    # 10 m apart, both lean 45 degrees inwards: they meet 5 m down, 5 sqrt(2) = 7.07 m drilled
    between = np.array([10.0, 0.0, 0.0])
    first, second = downward(45.0, 90.0), downward(45.0, 270.0)
    assert float(least_gap(between, first, second, 8.0)) == pytest.approx(0.0, abs=1e-9)
    # each drilled 5 m: 5/sqrt(2) = 3.536 m towards each other, 10 - 2 x 3.536 = 2.929 m are left
    assert float(least_gap(between, first, second, 5.0)) == pytest.approx(2.9289, abs=1e-4)


def test_parallel_lines_keep_their_distance_square_to_them():
    # 10 m apart and leaning along the line between them: 10 cos 30 = 8.66 m
    between = np.array([10.0, 0.0, 0.0])
    lean = downward(30.0, 90.0)
    assert float(least_gap(between, lean, lean, 60.0)) == pytest.approx(8.6603, abs=1e-4)
    assert float(mean_gap(between, lean - lean, 60.0)) == pytest.approx(10.0)


def test_lines_that_hardly_part_are_apart_as_half_way_down():
    # a metre apart, and 8e-6 m nearer or farther at the end: the mean is that of both ends
    for parting in (9e-8, -9e-8):
        found = float(mean_gap(np.array([1.0, 0.0, 0.0]), np.array([parting, 0.0, 0.0]), 80.0))
        assert found == pytest.approx((1.0 + (1.0 + 80.0 * parting)) / 2, abs=1e-9)
