"""The cylindrical source against the published table of pD(tD), and exact values."""

import math

import pytest
from scipy.special import exp1

from siteplan.demand.cylinder_source import _integrand, cylinder_response

# pD of the infinite radial system at a constant rate: J. Lee, Well Testing, Table C.1 (the book
# attribution from memory; its tD column inferred). G = pD / (2 pi).
TABLE_C1 = [
    (60, 2.4758), (80, 2.6147), (100, 2.7233), (150, 2.9212), (200, 3.0636), (300, 3.2630),
    (400, 3.4057), (500, 3.5164), (600, 3.6076), (700, 3.6842), (800, 3.7505), (900, 3.8088),
    (1000, 3.8584),
]  # fmt: skip
# own reference calculation: the integral and a Laplace inversion agree to 8 digits
EXACT = [
    (0.1, 0.050011911), (0.5, 0.098176089), (1, 0.12766537), (2, 0.16269436), (5, 0.21684271),
    (10, 0.26274805), (20, 0.31185256), (50, 0.38012074), (100, 0.43336210), (1e3, 0.61443208),
    (1e4, 0.79736387), (1e5, 0.98055924), (1e6, 1.1637885),
]  # fmt: skip


@pytest.mark.parametrize(("time", "published"), TABLE_C1)
def test_the_published_table_is_met(time, published):
    assert 2 * math.pi * cylinder_response(time) == pytest.approx(published, rel=6e-4)


def test_the_worked_example_of_the_table_is_met():
    # J. Lee, Well Testing, Example C.1 (attribution from memory): tD = 4, pD = 1.275
    assert 2 * math.pi * cylinder_response(4.0) == pytest.approx(1.275, abs=5e-4)


@pytest.mark.parametrize(("fourier", "exact"), EXACT)
def test_exact_values_are_met_to_eight_digits(fourier, exact):
    assert cylinder_response(fourier) == pytest.approx(exact, rel=4e-8)


def test_the_early_time_formula_of_the_table_is_met():
    # same page: pD = 2 sqrt(tD / pi) for tD < 0.01
    early = 2 * math.sqrt(1e-4 / math.pi)
    assert 2 * math.pi * cylinder_response(1e-4) == pytest.approx(early, rel=0.01)


@pytest.mark.parametrize("fourier", [1.0, 5.0, 50.0, 1e3, 1e5])
def test_the_infinite_line_source_lies_below_and_comes_near(fourier):
    line = exp1(1 / (4 * fourier)) / (4 * math.pi)
    exact = cylinder_response(fourier)
    assert line < exact
    if fourier >= 1e3:
        assert line == pytest.approx(exact, rel=6e-4)


def test_no_time_is_refused():
    with pytest.raises(ValueError, match="Fourier number: 0 is not above zero"):
        cylinder_response(0)


@pytest.mark.parametrize("fourier", [0.5, 40.0, 1e10])
def test_where_its_limit_takes_over_the_integrand_does_not_jump(fourier: float) -> None:
    # Y1(u) tends to -2/(pi u): Abramowitz and Stegun 9.1.9, from memory
    below, above = (_integrand(math.log(u), fourier) for u in (0.999e-8, 1.001e-8))
    assert below == pytest.approx(above, rel=0.01)
