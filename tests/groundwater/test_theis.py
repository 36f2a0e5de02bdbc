"""The well function against printed tables, drawdown against worked cases."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.groundwater.theis import Pumping, Storage, drawdown, drawdowns, well_function

DAY = 86_400.0


@pytest.mark.parametrize(
    ("x", "printed"),
    # M. Abramowitz and I. A. Stegun, Handbook of Mathematical Functions, Table 5.1, E1(x); from
    # memory
    [(0.5, 0.559773595), (1.0, 0.219383934), (1.5, 0.100019582), (2.0, 0.048900511)],
)
def test_the_exponential_integral_is_that_of_the_handbook(x: float, printed: float) -> None:
    assert float(well_function(x)) == pytest.approx(printed, abs=5e-10)


FAIR = {
    1.0: (33.96, 31.66, 29.36, 27.05, 24.75, 22.45, 20.15, 17.84),
    1.5: (33.56, 31.25, 28.95, 26.65, 24.35, 22.04, 19.74, 17.44),
    2.0: (33.27, 30.97, 28.66, 26.36, 24.06, 21.67, 19.45, 17.15),
    3.0: (32.86, 30.56, 28.26, 25.96, 23.65, 21.35, 19.05, 16.75),
    5.0: (32.35, 30.05, 27.75, 25.44, 23.14, 20.84, 18.54, 16.23),
}
"""G. M. Fair, J. C. Geyer and D. A. Okun, Water and Wastewater Engineering, Table 3.2, p. 73: W(u)
of u = N times 1e-15, 1e-14 ... 1e-8."""
MISPRINTED = {(2.0, -10)}
"""2.0e-10 prints 21.67; the series -0.577216 - ln u + u gives 21.755."""


@pytest.mark.parametrize("digit", FAIR)
def test_the_well_function_is_that_of_a_printed_table(digit: float) -> None:
    for power, printed in zip(range(-15, -7), FAIR[digit], strict=True):
        u = digit * 10.0**power
        if (digit, power) in MISPRINTED:
            assert float(well_function(u)) == pytest.approx(-0.577216 - math.log(u), abs=1e-5)
        else:
            # cut or rounded in the table: one in the last digit
            assert float(well_function(u)) == pytest.approx(printed, abs=0.0101)


@pytest.mark.parametrize(
    ("u", "printed"),
    # L. Huisman, Groundwater Recovery (1972), Table 4.1, at second hand
    [(1e-15, 33.9616), (1e-10, 22.4486), (1e-5, 10.9357), (1.0, 0.2194), (2.0, 0.04890),
     (3.0, 0.01305), (5.0, 0.001148), (9.0, 0.00001245)],
)  # fmt: skip
def test_the_well_function_is_that_of_another_printed_table(u: float, printed: float) -> None:
    assert float(well_function(u)) == pytest.approx(printed, rel=5e-4)


def test_a_well_of_a_published_exercise_draws_down_as_it_says() -> None:
    # inputs of an exercise (500 m3/d, T 200 m2/d, S 1e-4, r 100 m, t 10 d; calcdomain.com), by
    # hand: u = 100^2 x 1e-4 / (4 x 200 x 10) = 1.25e-4, W = 8.4101, s = 500/(4 pi 200) x 8.4101
    store = Storage(200 / DAY, 1e-4)
    assert drawdown(500 / DAY, 100.0, 10 * DAY, store) == pytest.approx(1.6731, abs=5e-5)


N_1 = {
    1: 0.66, 1.5: 0.87, 2: 0.99, 2.5: 1.11, 3: 1.21, 4: 1.36, 5: 1.49, 6: 1.59, 8: 1.75, 10: 1.86,
    12: 1.97, 14: 2.08, 18: 2.20, 24: 2.36, 30: 2.49, 40: 2.65, 50: 2.78, 60: 2.88, 80: 3.04,
    100: 3.16, 120: 3.28, 150: 3.42, 180: 3.51, 210: 3.61, 240: 3.67,
}  # fmt: skip
"""Drawdown [ft] in observation well N-1 by the minute: S. W. Lohman, Ground-Water Hydraulics, U.S.
Geological Survey Professional Paper 708 (1972), the table of the test at constant discharge by
which the type curve of Theis is shown, p. 19 or near; page and figures from memory."""


@pytest.mark.parametrize("minutes", N_1)
def test_a_textbook_example_of_theis_comes_out_as_it_was_measured(minutes: float) -> None:
    # the same example (from memory): 96,000 cu ft a day, N-1 at 200 ft, and by the type curve
    # T = 13,700 sq ft a day and S = 2.0e-4
    foot = 0.3048
    aquifer = Storage(13_700 * foot**2 / DAY, 2.0e-4)
    fallen = drawdown(96_000 * foot**3 / DAY, 200 * foot, minutes * 60.0, aquifer)
    assert fallen / foot == pytest.approx(N_1[minutes], rel=0.03)


def test_late_drawdown_grows_by_the_logarithm_of_time() -> None:
    # H. H. Cooper and C. E. Jacob 1946: 2.3 Q/(4 pi T) for each decade of time
    store = Storage(2.3e-3, 7.5e-5)
    one, ten = (drawdown(4e-3, 55.0, time, store) for time in (1e5, 1e6))
    assert ten - one == pytest.approx(math.log(10) * 4e-3 / (4 * math.pi * 2.3e-3), rel=1e-3)


def test_a_well_that_is_shut_recovers() -> None:
    # C. V. Theis 1935: residual drawdown is W of the whole time less W of the time since
    store = Storage(1e-3, 1e-3)
    fallen = drawdowns(Pumping((2e-3, 0.0, 0.0), DAY), [20.0], store)[:, 0]
    whole, since = (drawdown(2e-3, 20.0, days * DAY, store) for days in (3, 2))
    assert fallen[2] == pytest.approx(whole - since, rel=1e-12)
    assert fallen[0] > fallen[1] > fallen[2] > 0


@given(st.floats(1.0, 500.0), st.floats(1e-5, 0.3))
def test_what_one_well_takes_and_another_gives_cancels_halfway(away: float, store: float) -> None:
    aquifer = Storage(1e-3, store)
    taken = drawdown(1e-3, away, DAY, aquifer)
    assert taken + drawdown(-1e-3, away, DAY, aquifer) == 0.0
    assert taken >= drawdown(1e-3, away + 1.0, DAY, aquifer)
