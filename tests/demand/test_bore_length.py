"""The three-pulse equation: own worked case, its parts, and how it answers to spacing."""

import math

import numpy as np
import pytest
from scipy.spatial.distance import pdist

from siteplan.demand.bore_length import Bed, Pulses, pulse_resistances, size_bores
from siteplan.demand.cylinder_source import cylinder_response
from siteplan.demand.line_source import Line, neighbours_response

BED = Bed(2.0, 1e-6, 0.0635, 0.12, 2.0, 10)
PULSES = Pulses(8000.0, 4000.0, 1500.0)
ALONE = np.zeros(0)


def grid(spacing, side=3):
    return pdist(np.array([(x * spacing, y * spacing) for x in range(side) for y in range(side)]))


def test_the_worked_case_of_one_bore_is_met():
    # own reference calculation V1: numerator 2,848.828 over 9.5 K
    assert pulse_resistances(BED) == pytest.approx((0.190785, 0.179426, 0.110618), abs=1e-6)
    by_hand = 8000 * 0.12 + 1500 * 0.190785 + 4000 * 0.179426 + 8000 * 0.110618
    assert by_hand == pytest.approx(2848.828, abs=0.01)
    assert size_bores(PULSES, BED, 9.5, ALONE).length_m == pytest.approx(299.877, abs=1e-3)


def test_the_worked_case_of_two_bores_is_met():
    # own reference calculation: 6 m apart, iterated: 158.637 m each, penalty 0.52095 K
    found = size_bores(PULSES, BED, 9.5, np.array([6.0]))
    assert found.length_m == pytest.approx(317.275, abs=0.01)
    assert found.penalty_k == pytest.approx(0.52095, abs=1e-4)


@pytest.mark.parametrize(
    ("diffusivity_m2_day", "radius_m", "expected"),
    # Philippe, Bernier and Marchio (2010), curve fits (coefficients from memory): f of six hours,
    # a month, ten years at 0.068 m2/day and 0.06 m: 0.21387, 0.35687, 0.38158
    [(0.068, 0.06, (0.38158, 0.35687, 0.21387))],
)
def test_the_published_curve_fits_are_met(diffusivity_m2_day, radius_m, expected):
    bed = Bed(1.0, diffusivity_m2_day / 86_400, radius_m, 0.1, 2.0, 10)
    assert pulse_resistances(bed) == pytest.approx(expected, rel=8e-3)


def test_a_wider_field_needs_less_length():
    lengths = [size_bores(PULSES, BED, 9.5, grid(s)).length_m for s in (4.0, 5.0, 6.0, 8.0, 12.0)]
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] > size_bores(PULSES, BED, 9.5, ALONE).length_m


def test_a_balanced_year_makes_neighbours_harmless():
    balanced = Pulses(8000.0, 4000.0, 0.0)
    apart, near = (size_bores(balanced, BED, 9.5, grid(s)).length_m for s in (20.0, 4.0))
    assert near == pytest.approx(apart, rel=1e-9)


def test_a_year_that_gives_back_more_than_it_draws_shortens_the_field():
    surplus = Pulses(8000.0, 4000.0, -500.0)
    near = size_bores(surplus, BED, 9.5, grid(5.0))
    assert near.penalty_k < 0
    assert near.length_m < size_bores(surplus, BED, 9.5, ALONE).length_m


def test_a_little_heat_takes_a_little_of_the_bore():
    # far from others temperatures add up: length goes with the heat, however little it is
    little = Pulses(PULSES.peak_w / 1e4, PULSES.month_w / 1e4, PULSES.year_w / 1e4)
    assert size_bores(little, BED, 9.5, ALONE).length_m == pytest.approx(299.877e-4, abs=1e-6)


def test_a_fluid_as_warm_as_the_ground_is_refused():
    with pytest.raises(ValueError, match="colder than the ground"):
        size_bores(PULSES, BED, 0.0, ALONE)


def test_the_equation_holds_at_its_solution():
    found = size_bores(PULSES, BED, 7.0, grid(5.0))
    years, month, peak = found.resistances
    load = 8000 * (0.12 + peak) + 4000 * month + 1500 * years
    assert load / (7.0 - found.penalty_k) == pytest.approx(found.length_m, rel=1e-6)


@pytest.mark.parametrize("spacing", [4.0, 6.0, 9.0])
def test_temperatures_add_up_to_the_difference_pulse_by_pulse(spacing):
    # each load is a step that lasts to the end: qy from the beginning, qm - qy over the month and
    # the peak, qh - qm over the peak. What a metre of wall falls by, what the bore itself takes and
    # what the neighbours take is the whole difference: the grouping of the denominator
    sized = size_bores(PULSES, BED, 7.0, grid(spacing))
    hours = (6.0, 30 * 24 + 6.0, 10 * 8760 + 30 * 24 + 6.0)
    peak, month, whole = (cylinder_response(1e-6 * 3600 * time / 0.0635**2) for time in hours)
    wall = (1500 * whole + (4000 - 1500) * month + (8000 - 4000) * peak) / (2.0 * sized.length_m)
    bore = 8000 * 0.12 / sized.length_m
    line = Line(sized.length_m / 9, 2.0, 1e-6, 3600 * hours[2])
    others = 1500 / sized.length_m / (2 * math.pi * 2.0) * neighbours_response(grid(spacing), line)
    assert others > 0.1
    assert wall + bore + others == pytest.approx(7.0, abs=1e-6)
