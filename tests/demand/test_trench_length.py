"""Length of trench: the flows of pipes at one temperature, run fraction and peak hours."""

import math

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.demand.model import DemandError
from siteplan.demand.trench_length import (
    PEAK_S,
    PipedTrench,
    Soil,
    Steps,
    _distances,
    drawn_per_metre,
    rise_matrix,
    steady_matrix,
    steady_per_metre,
    trench_length,
)
from siteplan.demand.trench_resistance import trench_resistance
from siteplan.site.trench_kinds import TrenchKind, trench_kinds

SOIL = Soil(1.5, 0.6e-6)


MONTH_S = 30 * 86_400.0


def running(fraction: float) -> Steps:
    """A share of the design flow for a thousand years, and all of it for six hours."""
    return Steps((fraction, 1 - fraction), (3.2e10, PEAK_S))


def one_pipe(
    spacing: float = 1000.0, depth: float = 1.5, resistance: float = 0.0821
) -> PipedTrench:
    kind = TrenchKind("", "one-pipe", 0.3, depth, ((0.0, 0.0),))
    return PipedTrench(kind, depth, spacing, 0.0167, resistance)


def test_one_pipe_running_all_month_follows_the_equation_of_practice():
    # L = q (Rp + Rs F)/(TL - Tmin) (J. E. Bose; no text of it was seen), F 1: own arithmetic, 10 kW
    # at COP 3.5 draws 7,142.9 W; Rp 0.0821 + Rs 0.5508; 4.77 + 1 = 5.77 K: 783.5 m
    found = trench_length(7142.86, one_pipe(), SOIL, np.array([5.77]), running(1.0))
    assert found == pytest.approx(7142.86 * (0.0821 + 0.55078) / 5.77, rel=1e-4)


def test_a_run_fraction_below_one_counts_the_peak_hours():
    # F 0.5: Rp + 0.5 Rs + 0.5 R6h, with R6h = E1(r2/4at)/(4 pi k), 6 h
    from scipy.special import exp1

    six_hours = exp1(0.0167**2 / (4 * 0.6e-6 * 21_600)) / (4 * math.pi * 1.5)
    expected = 0.0821 + 0.5 * 0.55078 + 0.5 * six_hours
    assert 1 / drawn_per_metre(one_pipe(), SOIL, np.array([1.0]), running(0.5)) == pytest.approx(
        expected, rel=1e-4
    )


def test_pipes_of_one_depth_share_the_steady_resistance_of_the_trench():
    kind = TrenchKind("", "two-pipe", 0.6, 1.5, ((-0.3, 0.0), (0.3, 0.0)))
    pair = PipedTrench(kind, 1.5, 1000.0, 0.0167, 0.09)
    alone = trench_resistance([(-0.3, 1.5), (0.3, 1.5)], 0.0167, 1.5)
    # two pipes beside one another: half the pipe resistance
    assert 1 / drawn_per_metre(pair, SOIL, np.ones(2), running(1.0)) == pytest.approx(
        alone + 0.045, rel=1e-4
    )


def test_an_endless_row_of_trenches_meets_the_closed_formula():
    # R = ln[(s / (pi r)) sinh(2 pi z / s)] / (2 pi k): images summed over an infinite row.
    # Twelve trenches a side leave out sum over n > 12 of 2 x 2 z2 / (n s)2 / (2 pi k), and
    # sum 1/n2 from 13 on is 0.080: 4 x 2.25 x 0.080 / 9 / 9.42 = 0.0085
    s, z, r = 3.0, 1.5, 0.0167
    closed = math.log(s / (math.pi * r) * math.sinh(2 * math.pi * z / s)) / (2 * math.pi * 1.5)
    found = steady_matrix(one_pipe(spacing=s), SOIL)[0, 0]
    assert found == pytest.approx(closed - 0.0085, abs=0.002)


def test_a_colder_upper_pipe_draws_less_than_the_lower():
    trench = PipedTrench(trench_kinds()["two pipes stacked"], 1.83, 3.0, 0.0133, 0.09)
    matrix = 0.09 * np.eye(2) + steady_matrix(trench, SOIL)
    lower, upper = np.linalg.solve(matrix, np.array([6.0, 4.0]))
    assert lower > upper > 0


def test_neighbours_raise_the_length_the_nearer_the_more():
    lengths = [
        trench_length(5000, one_pipe(spacing=s), SOIL, np.array([5.0]), running(0.5))
        for s in (9.0, 5.0, 3.0, 2.0)
    ]
    assert lengths == sorted(lengths)


@settings(max_examples=several(30, 300))
@given(
    st.sampled_from(list(trench_kinds())),
    st.floats(0.05, 0.95),
    st.floats(0.5, 3.0),
    st.floats(2.0, 6.0),
)
def test_length_rises_with_run_fraction_and_falls_with_conductivity(name, fraction, k, spacing):
    kind = trench_kinds()[name]
    trench = PipedTrench(kind, kind.depth_m, spacing, 0.0133, 0.09)
    differences = np.full(len(trench.places), 5.0)
    little = drawn_per_metre(trench, Soil(k, 0.6e-6), differences, running(fraction))
    assert little >= drawn_per_metre(trench, Soil(k, 0.6e-6), differences, running(fraction + 0.05))
    assert little < drawn_per_metre(trench, Soil(1.1 * k, 0.6e-6), differences, running(fraction))


@pytest.mark.parametrize("name", list(trench_kinds()))
def test_a_peak_of_hours_never_resists_more_than_the_steady_state(name):
    kind = trench_kinds()[name]
    trench = PipedTrench(kind, kind.depth_m, 3.0, 0.0133, 0.09)
    if kind.coil is None:
        assert np.all(rise_matrix(trench, SOIL, PEAK_S) <= steady_matrix(trench, SOIL))


@pytest.mark.parametrize("age_s", [PEAK_S, 1e7, 1e9])
def test_a_field_seen_in_a_mirror_rises_alike(age_s):
    # trenches lie alike on both sides: two pipes on one level cannot be told from one another
    kind = TrenchKind("", "", 0.6, 1.5, ((-0.25, 0.0), (0.25, 0.0)))
    rises = rise_matrix(PipedTrench(kind, 1.5, 2.0, 0.0167, 0.09), SOIL, age_s)
    assert rises[0, 0] == pytest.approx(rises[1, 1], rel=1e-12)
    assert rises[0, 1] == pytest.approx(rises[1, 0], rel=1e-12)


def test_a_pipe_above_the_ground_is_refused():
    shallow = PipedTrench(trench_kinds()["two pipes stacked"], 0.6, 3.0, 0.0133, 0.09)
    with pytest.raises(DemandError, match="pipes-uncovered"):
        trench_length(5000, shallow, SOIL, np.ones(2), running(0.5))


def test_a_coil_that_stands_out_of_the_ground_is_refused():
    # rings of 36 in that stand on 3 in of sand reach 39 in above the bottom of their trench
    kind = trench_kinds()["upright coil"]
    for depth_in, fits in ((37, False), (41, True)):
        trench = PipedTrench(kind, depth_in * 0.0254, 3.0, 0.0133, 0.09)
        if fits:
            assert len(trench.places) > 0
        else:
            with pytest.raises(DemandError, match="pipes-uncovered"):
                _ = trench.places


def test_ground_no_warmer_than_the_fluid_is_refused():
    with pytest.raises(ValueError, match="colder than the ground"):
        trench_length(5000, one_pipe(), SOIL, np.array([-1.0]), running(0.5))


def test_a_flow_of_a_month_has_not_spread_as_far_as_a_steady_one():
    # E1(r2/4at) - E1((2z)2/4at) over 4 pi k for 30 days: own reference calculation 0.49482, steady
    # 0.55078 (pipe alone, r 16.7 mm, 1.5 m deep, 1.5 W/(m K), 0.6e-6 m2/s)
    alone = one_pipe(spacing=1e4)
    assert rise_matrix(alone, SOIL, MONTH_S)[0, 0] == pytest.approx(0.49482, abs=2e-5)
    assert rise_matrix(alone, SOIL, 3.2e10)[0, 0] == pytest.approx(0.55078, abs=2e-5)
    month = Steps((1.0,), (MONTH_S,))
    found = trench_length(7142.86, alone, SOIL, np.array([5.77]), month)
    assert found == pytest.approx(7142.86 * (0.0821 + 0.49482) / 5.77, rel=1e-4)


def test_steps_up_and_down_add_up():
    # on for 60 days and off for the last 30 is the response to 60 days less that to 30
    up_and_down = Steps((1.0, -0.9), (2 * MONTH_S, MONTH_S))
    alone = one_pipe(spacing=1e4, resistance=0.0)
    sixty, thirty = (rise_matrix(alone, SOIL, n * MONTH_S)[0, 0] for n in (2, 1))
    drawn = drawn_per_metre(alone, SOIL, np.array([1.0]), up_and_down)
    assert 1 / drawn == pytest.approx(sixty - 0.9 * thirty)


@pytest.mark.parametrize("name", ["flat coil", "upright coil"])
@pytest.mark.parametrize("spacing", [2.0, 4.0])
def test_a_coil_that_has_run_for_ever_draws_what_the_steady_form_says(name, spacing):
    kind = trench_kinds()[name]
    trench = PipedTrench(kind, 1.8, spacing, 0.0167, 0.0821)
    ever = drawn_per_metre(trench, SOIL, np.array([10.0]), running(1.0))
    steady = steady_per_metre(trench, SOIL, np.array([10.0]), 1.0)
    assert steady == pytest.approx(ever, rel=1e-3)
    # its neighbours are warmed by the same pipe: with them far off it draws more
    alone = PipedTrench(kind, 1.8, 1000.0, 0.0167, 0.0821)
    assert steady_per_metre(alone, SOIL, np.array([10.0]), 1.0) > steady


def test_the_image_of_a_pipe_lies_as_far_above_the_ground_as_the_pipe_below_it():
    # pipes 1 m and 2 m deep, 0.5 m aside, in a trench and in one 3 m beside it; mirrored at the
    # surface (method of images): 1 + 2 m from the one to the image of the other
    places = np.array([[0.0, 1.0], [0.5, 2.0]])
    real, image = _distances(places, np.array([0.0, 3.0]), 0.016)
    assert real[0, 1] == pytest.approx(np.hypot([-0.5, -3.5], 1.0))
    assert image[0, 1] == pytest.approx(np.hypot([-0.5, -3.5], 3.0))
    assert image[1, 0] == pytest.approx(np.hypot([0.5, -2.5], 3.0))
    assert image[[0, 1], [0, 1], 0] == pytest.approx([2.0, 4.0])
    # a pipe is as far from itself as its own wall
    assert real[[0, 1], [0, 1], 0] == pytest.approx([0.016, 0.016])
