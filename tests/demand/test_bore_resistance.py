"""Bore resistance against a two-dimensional conduction solution, and a published pipe."""

import math

import pytest

from siteplan.demand.bore_resistance import Section, bore_resistance, wall_resistance

# own reference calculation by boundary collocation, residual below 2e-8:
# bore radius, pipe radius, shank [m], grout, ground [W/(m K)], pipe [m K/W], result
NUMERIC = [
    (0.048, 0.016, 0.0427, 0.6, 4.0, 0.05, 0.166956),
    (0.05715, 0.01335, 0.0381, 0.75, 2.0, 0.09, 0.236401),
    (0.0635, 0.0167, 0.0526, 1.5, 2.5, 0.09, 0.125057),
    (0.0762, 0.02108, 0.0635, 0.78, 2.0, 0.089, 0.188064),
    (0.076, 0.0211, 0.1016, 1.0, 3.0, 0.09, 0.112843),
    (0.060, 0.0167, 0.0511, 2.0, 2.0, 0.09, 0.102641),
]


@pytest.mark.parametrize("row", NUMERIC)
def test_the_first_order_is_within_a_thousandth_of_conduction_in_two_dimensions(row):
    *sizes, exact = row
    assert bore_resistance(Section(*sizes)) == pytest.approx(exact, rel=1.2e-3)


def test_a_pipe_that_conducts_as_the_grout_around_it_is_no_singular_case():
    # 2 pi kg Rp = 1
    section = Section(0.0635, 0.0167, 0.0526, 1.5, 2.5, 1 / (2 * math.pi * 1.5))
    beside = Section(0.0635, 0.0167, 0.0526, 1.5, 2.5, 1.0001 / (2 * math.pi * 1.5))
    assert bore_resistance(section) == pytest.approx(bore_resistance(beside), rel=1e-3)


def test_the_published_wall_resistance_is_met():
    # Geothermal Energy (2015), s40517-015-0029-1, Table 1: 1-1/4 in DR-11, k 0.389 W/(m K),
    # Rp 0.089 m K/W with the film; the wall alone is ln(11/9)/(2 pi k) = 0.0821
    assert wall_resistance(11, 0.389) == pytest.approx(0.0821, abs=5e-5)
    assert wall_resistance(11, 0.389) < 0.089


def test_pipes_that_do_not_fit_in_the_bore_are_refused():
    with pytest.raises(ValueError, match="do not fit in the bore"):
        bore_resistance(Section(0.05, 0.0211, 0.07, 1.0, 2.0, 0.09))
    with pytest.raises(ValueError, match="do not fit in the bore"):
        bore_resistance(Section(0.076, 0.0211, 0.04, 1.0, 2.0, 0.09))


@pytest.mark.parametrize(
    ("grout", "ground"), [(0.0, 2.0), (1.0, 0.0), (-1.0, 2.0), (1.0, -2.0), (0.0, 0.0)]
)
def test_nothing_conducts_less_than_nothing(grout, ground):
    with pytest.raises(ValueError, match="not above zero"):
        bore_resistance(Section(0.0635, 0.0167, 0.0526, grout, ground, 0.09))
