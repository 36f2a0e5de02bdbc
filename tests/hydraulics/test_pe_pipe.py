"""What polyethylene pipe bears and how it may be bent, against published figures."""

from __future__ import annotations

import math

import pytest

from siteplan.hydraulics.pipes import (
    PSI,
    borne_with_surge,
    least_bend,
    pipes,
    pressure_class,
)


@pytest.mark.parametrize(
    ("material", "good", "recurring", "occasional"),
    # PPI, sample comparison of PE4710 and PE3608, July 2015, DR 11 [psi]: pressure class, with
    # recurring surge, with occasional surge
    [("PE4710", 200, 300, 400), ("PE3608", 160, 240, 320)],
)
def test_dr_11_bears_what_is_published(
    material: str, good: float, recurring: float, occasional: float
) -> None:
    assert pressure_class(11, material) / PSI == pytest.approx(good)
    assert borne_with_surge(11, "recurring", material) / PSI == pytest.approx(recurring)
    assert borne_with_surge(11, "occasional", material) / PSI == pytest.approx(occasional)


@pytest.mark.parametrize(
    ("ratio", "psi"),
    # the same formula for other ratios, PR = 2 x 800 psi/(DR - 1): own arithmetic
    [(7, 267), (9, 200), (13.5, 128), (15.5, 110), (17, 100), (21, 80)],
)
def test_pe3608_bears_four_fifths(ratio: float, psi: float) -> None:
    assert pressure_class(ratio, "PE3608") / PSI == pytest.approx(psi, abs=0.5)


@pytest.mark.parametrize(
    ("ratio", "psi"),
    # the same formula for other ratios, PR = 2 x 1,000 psi/(DR - 1): own arithmetic
    [(7, 333), (9, 250), (13.5, 160), (15.5, 138), (17, 125), (21, 100)],
)
def test_thicker_pipe_bears_more(ratio: float, psi: float) -> None:
    assert pressure_class(ratio) / PSI == pytest.approx(psi, abs=0.5)


def test_dr_11_pipe_is_bent_no_tighter_than_published() -> None:
    # PPI, sample comparison of July 2015, and its table of open-cut bends by dimension ratio
    # (second hand): 25 times the outer diameter for DR 11
    for pipe in pipes().values():
        assert pipe.outer_m / ((pipe.outer_m - pipe.inner_m) / 2) == pytest.approx(11, abs=0.1)
        assert pipe.bend_radius_m == pytest.approx(25 * pipe.outer_m)


@pytest.mark.parametrize(
    ("ratio", "times"),
    # PPI, table of open-cut bends by dimension ratio (second hand): radius over outer diameter
    [(7, 20), (7.3, 20), (9, 20), (11, 25), (13.5, 25), (17, 27), (21, 27), (26, 34), (32.5, 42),
     (41, 52)],
)  # fmt: skip
def test_bends_by_dimension_ratio_are_the_published_ones(ratio: float, times: float) -> None:
    assert least_bend(ratio) == times


def test_a_ratio_between_two_rows_takes_the_wider_bend() -> None:
    assert least_bend(10) == least_bend(11)
    assert least_bend(15.5) == least_bend(17)
    assert least_bend(50) == math.inf
