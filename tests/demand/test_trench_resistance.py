"""Pipes in trenches against published shape factors, an infinite row, and a general library."""

import math

import numpy as np
import pytest

from siteplan.demand.trench_resistance import (
    pipe_matrix,
    pulse_resistance,
    trench_resistance,
)

DAY = 86_400.0


def test_a_published_buried_pipe_is_met():
    # web example (S = 2 pi L / ln(4z/D)): D 0.3 m, z 1.5 m, L 100 m, k 1.2, 120 / 5 C:
    # S 209.7 m, Q 28,938 W; it rounds ln 20 and the formula's exact form gives 209.914
    resistance = trench_resistance([(0.0, 1.5)], 0.15, 1.2)
    assert 100 * 115 / resistance == pytest.approx(28_938, rel=1e-3)


def test_a_textbook_pipe_is_met():
    # Cengel, Heat and Mass Transfer (from memory): 30 m, D 10 cm, z 0.5 m, k 0.9, 80 / 10 C:
    # 3,963 W
    resistance = trench_resistance([(0.0, 0.5)], 0.05, 0.9)
    assert 30 * 70 / resistance == pytest.approx(3963, rel=2e-3)


def test_two_pipes_far_down_exchange_as_the_textbook_says():
    # Cengel (from memory): two 5 cm pipes 30 cm apart, 5 m long, k 0.75, 70 / 15 C: 262 W. Deep
    # pipes with opposite flows: their difference is 2 (M11 - M12) q, so R = 2 (M11 - M12)
    matrix = pipe_matrix([(-0.15, 500.0), (0.15, 500.0)], 0.025, 0.75)
    flow = 5 * 55 / (2 * (matrix[0, 0] - matrix[0, 1]))
    assert flow == pytest.approx(262, rel=0.01)


@pytest.mark.thorough
def test_an_infinite_row_meets_the_closed_formula():
    # R = ln[(s / (pi r)) sinh(2 pi z / s)] / (2 pi k) for each pipe of an infinite row
    s, z, r, k = 0.6, 1.5, 0.0167, 1.2
    closed = math.log(s / (math.pi * r) * math.sinh(2 * math.pi * z / s)) / (2 * math.pi * k)
    assert closed == pytest.approx(2.3145913, abs=1e-6)
    # what lies farther off adds about 2 z^2 / (s^2 pi k) / 2000 = 0.0017, within a thousandth
    row = pipe_matrix([(s * n, z) for n in range(-2000, 2001)], r, k)[2000].sum()
    assert row == pytest.approx(closed, rel=1e-3)


@pytest.mark.parametrize(
    ("pipes", "even", "uniform"),
    # own reference calculation: r 0.0167 m, k 1.5
    [
        ([(0.0, 1.5)], 0.55078, 0.55078),
        ([(0.0, 1.5), (0.6, 1.5)], 0.36181, 0.36181),
        ([(0.0, 1.2), (0.0, 1.8)], 0.35908, 0.35969),
        ([(0.0, 1.2), (0.6, 1.2), (0.0, 1.8), (0.6, 1.8)], 0.25552, 0.25660),
        ([(x, z) for x in (0.0, 0.3, 0.6) for z in (1.2, 1.8)], 0.24089, 0.24339),
    ],
)
def test_trenches_of_several_pipes_meet_the_reference(pipes, even, uniform):
    assert trench_resistance(pipes, 0.0167, 1.5) == pytest.approx(even, abs=1.1e-5)
    assert trench_resistance(pipes, 0.0167, 1.5, even=False) == pytest.approx(uniform, abs=1.1e-5)


@pytest.mark.parametrize(
    ("days", "expected"),
    # own reference calculation: [E1(r2/4at) - E1((2z)2/4at)] / (4 pi k), a 0.6e-6 m2/s
    [(1, 0.32019), (30, 0.49482), (90, 0.52798), (365, 0.54465), (3650, 0.55015)],
)
def test_pulses_of_a_single_pipe_meet_the_reference(days, expected):
    found = pulse_resistance([(0.0, 1.5)], 0.0167, (1.5, 0.6e-6), days * DAY)
    assert found == pytest.approx(expected, abs=1.1e-5)


def test_after_a_long_time_a_pulse_is_the_steady_state():
    pipes = [(0.0, 1.2), (0.0, 1.8)]
    steady = trench_resistance(pipes, 0.0167, 1.5, even=False)
    assert pulse_resistance(pipes, 0.0167, (1.5, 0.6e-6), 1e13) == pytest.approx(steady, rel=1e-3)


def test_neighbouring_trenches_raise_the_resistance_the_nearer_the_more():
    pipes = [(0.0, 1.5)]
    alone = pulse_resistance(pipes, 0.0167, (1.5, 0.6e-6), 90 * DAY)
    rows = [
        pulse_resistance(pipes, 0.0167, (1.5, 0.6e-6), 90 * DAY, spacing_m=s) for s in (1, 2, 3, 9)
    ]
    assert rows == sorted(rows, reverse=True)
    assert rows[-1] == pytest.approx(alone, rel=1e-3)
    assert np.all(np.array(rows) >= alone)
