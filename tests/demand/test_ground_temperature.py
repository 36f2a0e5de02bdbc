"""Ground temperature by depth and day, against exercises and hand-worked values."""

import math

import pytest

from siteplan.demand.ground_temperature import (
    Climate,
    coldest,
    coldest_day_at,
    damping_depth,
    ground_temperature,
    steady_depth,
    swing_at,
    warmest,
)

DAY = 86_400.0
# Oklahoma State University, soil temperature exercise: surface 0 to 30 C, lag 10 d, diffusivity
# 0.05 to 0.08 m2/day. Inputs are theirs; answers are own reference calculation (not printed there)
EXERCISE = [
    (0.05, 1, 24.91, 5.09, 34.1), (0.05, 2, 21.54, 8.46, 58.2), (0.05, 3, 19.32, 10.68, 82.3),
    (0.05, 5, 16.88, 13.12, 130.5), (0.05, 10, 15.24, 14.76, 251.0), (0.08, 1, 25.81, 4.19, 29.1),
    (0.08, 3, 20.61, 9.39, 67.2), (0.08, 10, 15.56, 14.44, 200.5),
]  # fmt: skip


@pytest.mark.parametrize(("diffusivity", "depth", "high", "low", "day"), EXERCISE)
def test_extremes_and_their_day_meet_the_exercise(diffusivity, depth, high, low, day):
    climate = Climate(15.0, 15.0, 10.0, diffusivity / DAY)
    assert warmest(climate, depth) == pytest.approx(high, abs=0.006)
    assert coldest(climate, depth) == pytest.approx(low, abs=0.006)
    assert coldest_day_at(climate, depth) == pytest.approx(day, abs=0.06)
    assert ground_temperature(climate, depth, day) == pytest.approx(low, abs=0.01)


def test_the_surface_is_warmest_near_day_190():
    # same exercise: surface maximum "near day 190": 10 + 365/2 = 192.5
    climate = Climate(15.0, 15.0, 10.0, 0.05 / DAY)
    warm = max(range(365), key=lambda day: ground_temperature(climate, 0.0, day))
    assert warm in (192, 193)


def test_the_depth_of_a_twentieth_of_the_swing_is_that_of_the_textbook_problem():
    # D = 2e-7 m2/s: d = 1.4169 m, z = d ln 20 = 4.2447 m (own calculation of a published problem)
    assert damping_depth(2e-7) == pytest.approx(1.4169, abs=1e-4)
    assert steady_depth(Climate(10.0, 20.0, 0.0, 2e-7), 1.0) == pytest.approx(4.2447, abs=1e-3)


@pytest.mark.parametrize(
    ("depth", "at_35", "at_80", "low"),
    # own reference calculation: Tm 10, As 12, a 0.05 m2/day, t0 35
    [(0, -2.0, 1.4239, -2.0), (1, 2.7475, 2.5824, 2.0751), (2, 6.4672, 4.7743, 4.7664),
     (5, 10.7276, 9.5966, 8.4926)],
)  # fmt: skip
def test_days_at_depths_meet_the_reference(depth, at_35, at_80, low):
    climate = Climate(10.0, 12.0, 35.0, 0.05 / DAY)
    assert ground_temperature(climate, depth, 35) == pytest.approx(at_35, abs=1e-4)
    assert ground_temperature(climate, depth, 80) == pytest.approx(at_80, abs=1e-4)
    assert coldest(climate, depth) == pytest.approx(low, abs=1e-4)


def test_cold_takes_about_a_week_a_foot():
    # abstract of "Underground building climate": lag about one week per foot in average soil
    climate = Climate(10.0, 12.0, 35.0, 0.05 / DAY)
    assert (coldest_day_at(climate, 0.3048) - 35.0) == pytest.approx(7.0, abs=0.6)


def test_six_feet_down_it_is_not_the_same_all_year():
    # what people are told is 55 F a few feet down, all year
    climate = Climate(10.0, 12.0, 35.0, 0.05 / DAY)
    assert swing_at(climate, 6 * 0.3048) > 5.0
    assert swing_at(climate, steady_depth(climate)) == pytest.approx(1.0)


def test_ground_without_a_swing_is_steady_from_the_surface_on():
    assert steady_depth(Climate(10.0, 0.5, 35.0, 6e-7)) == 0.0
    assert math.isclose(coldest(Climate(10.0, 0.0, 35.0, 6e-7), 1.0), 10.0)
