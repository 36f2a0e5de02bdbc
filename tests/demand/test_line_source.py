"""The finite line source against closed forms, point sources added up, and tabulated fields."""

import math

import numpy as np
import pytest
from scipy.integrate import dblquad, quad
from scipy.spatial.distance import pdist
from scipy.special import erfc, exp1

from siteplan.demand.line_source import Line, line_response, neighbours_response

DAY = 86_400.0
YEAR = 365 * DAY


def field(rows, columns, spacing=6.0):
    return np.array([(x * spacing, y * spacing) for x in range(columns) for y in range(rows)])


@pytest.mark.parametrize(
    ("length", "radius", "steady"), [(100, 0.05, 6.601652350), (60, 0.0635, 5.852646945)]
)
def test_the_steady_state_is_the_closed_form(length, radius, steady):
    # {4H asinh(H/r) - 2H asinh(2H/r) - 4 sqrt(H2+r2) + sqrt(4H2+r2) + 3r} / (2H), bore from the
    # surface: own derivation from the integral of point sources and images
    h, r = length, radius
    closed = 4 * h * math.asinh(h / r) - 2 * h * math.asinh(2 * h / r)
    closed = (closed - 4 * math.hypot(h, r) + math.hypot(2 * h, r) + 3 * r) / (2 * h)
    assert closed == pytest.approx(steady, rel=1e-9)
    long_after = Line(length, 0.0, 1e-6, 1e17)
    assert line_response(np.array([radius]), long_after)[0] == pytest.approx(closed, rel=1e-6)


def test_point_sources_and_their_images_add_up_to_it():
    line = Line(50.0, 3.0, 1e-6, 2 * YEAR)
    root = math.sqrt(4 * line.diffusivity_m2s * line.time_s)

    def source(depth, at):
        near, image = math.hypot(5.0, depth - at), math.hypot(5.0, depth + at)
        return erfc(near / root) / near - erfc(image / root) / image

    total, _ = dblquad(source, 3.0, 53.0, 3.0, 53.0, epsabs=1e-6)
    # dT = q'/(4 pi k) Int; times 2 pi k / q' and averaged over the length
    assert line_response(np.array([5.0]), line)[0] == pytest.approx(total / 2 / 50.0, rel=1e-5)


@pytest.mark.parametrize("top", [0.0, 1.0, 4.0])
@pytest.mark.parametrize("years", [0.01, 1.0, 25.0])
@pytest.mark.parametrize(("distance", "length"), [(0.05, 100.0), (0.0635, 60.0), (6.0, 150.0)])
def test_integrated_point_sources_give_the_same(distance, length, years, top):
    # a continuous point source gives erfc(d / sqrt(4 a t)) / (4 pi k d); the sink is its mirror
    # image above the surface. Of the two lengths u apart, H - u of each bore lie so; depths that
    # add up to w occur min(w - 2 D, 2 D + 2 H - w) times. No step is shared with the code.
    root = math.sqrt(4 * 1e-6 * years * YEAR)

    def rise(apart):
        return erfc(math.hypot(distance, apart) / root) / math.hypot(distance, apart)

    def real(apart):
        return 2 * (length - apart) * rise(apart)

    def image(added):
        return min(added - 2 * top, 2 * (top + length) - added) * rise(added)

    marks = [distance, 10 * distance, 1.0, 10.0]
    source, _ = quad(real, 0.0, length, points=marks, limit=400, epsabs=1e-9)
    ends, middle = (2 * top, 2 * (top + length)), 2 * top + length
    sink, _ = quad(image, *ends, points=[middle, ends[0] + 0.1], limit=400, epsabs=1e-9)
    line = Line(length, top, 1e-6, years * YEAR)
    expected = (source - sink) / (2 * length)
    assert line_response(np.array([distance]), line)[0] == pytest.approx(expected, abs=1e-7)


@pytest.mark.parametrize(
    ("argument", "printed"),
    [(0.01, 4.03792957654), (0.1, 1.82292395842), (0.5, 0.559773594776), (1.0, 0.219383934396)],
)
def test_a_very_long_line_meets_the_exponential_integral(argument, printed):
    # E1: M. Abramowitz and I. Stegun, Handbook of Mathematical Functions, table 5.1. An infinite
    # line source rises by q'/(4 pi k) E1(r2 / 4 a t), so that g = E1/2; here r = 1 m and the ends
    # of 100 km of line, 1 km below the surface, are out of reach
    assert exp1(argument) == pytest.approx(printed, rel=1e-11)
    line = Line(1e5, 1e3, 1e-6, 1.0 / (4e-6 * argument))
    assert line_response(np.array([1.0]), line)[0] == pytest.approx(printed / 2, rel=1e-4)


# own reference calculation, two methods: rb 0.05 m, H 100 m, D 4 m, a 1e-6 m2/s, year of 365 d
SINGLE = [
    (6 / 24, 1.495898, 0.0, 0.0, 0.0), (30.25, 3.863009, 0.014153, 0.003676, 0.000816),
    (365, 5.061244, 0.588275, 0.449736, 0.343630), (3650, 6.042479, 1.494829, 1.325925, 1.185738),
    (9125, 6.342634, 1.791041, 1.620420, 1.478217),
]  # fmt: skip


@pytest.mark.parametrize(("days", "single", "five", "six", "seven"), SINGLE)
def test_single_bores_and_neighbours_meet_the_reference(days, single, five, six, seven):
    line = Line(100.0, 4.0, 1e-6, days * DAY)
    found = line_response(np.array([0.05, 5.0, 6.0, 7.0]), line)
    assert found == pytest.approx([single, five, six, seven], abs=2e-6)


@pytest.mark.parametrize(
    ("rows", "columns", "total"),
    [(1, 2, 7.368403), (2, 2, 9.709332), (2, 3, 11.396148), (1, 4, 8.966868)],
)
def test_fields_after_ten_years_meet_the_reference(rows, columns, total):
    line = Line(100.0, 4.0, 1e-6, 3650 * DAY)
    added = neighbours_response(pdist(field(rows, columns)), line)
    assert 6.042479 + added == pytest.approx(total, abs=5e-6)


def test_neighbours_weigh_less_the_farther_they_stand():
    line = Line(100.0, 4.0, 1e-6, 25 * YEAR)
    weights = [neighbours_response(pdist(field(3, 3, spacing)), line) for spacing in (5, 6, 8, 12)]
    assert weights == sorted(weights, reverse=True)


def test_interpolation_for_many_bores_keeps_near_the_integral():
    scattered = np.random.default_rng(1).uniform(0.0, 60.0, (16, 2))
    line = Line(100.0, 4.0, 1e-6, 25 * YEAR)
    distances = np.maximum(np.round(pdist(scattered), 6), 1e-3)
    assert len(np.unique(distances)) > 64
    exact = 2 * line_response(distances, line).sum() / 16
    assert neighbours_response(distances, line) == pytest.approx(exact, rel=1e-4)
