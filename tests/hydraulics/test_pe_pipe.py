"""What polyethylene pipe bears and how it may be bent, against published figures."""

from __future__ import annotations

import pytest

from siteplan.hydraulics.pipes import OCCASIONAL, PSI, pipes, pressure_class


def test_the_pressure_class_of_dr_11_is_the_published_one() -> None:
    # PPI, sample comparison of PE4710 and PE3608, July 2015: DR 11 of PE4710 200 psi, with
    # occasional surge 400 psi
    assert pressure_class(11) / PSI == pytest.approx(200)
    assert OCCASIONAL * pressure_class(11) / PSI == pytest.approx(400)


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
