"""Pipe in a pond: resistances in a row, solved for the surface of the pipe."""

import math
from itertools import pairwise

import pytest

from siteplan.demand.pond_length import PondPipe, pond_flow, pond_length
from siteplan.demand.water import outside_film

PIPE = PondPipe(0.0334, 0.09)


def test_the_same_heat_flows_through_film_and_pipe():
    found = pond_flow(PIPE, 10.0, 2.0)
    # 1 / (pi D h) outside, 0.09 inside
    outside = 1 / (math.pi * 0.0334 * outside_film(0.0334, 10.0, found.surface_c))
    assert (10.0 - found.surface_c) / outside == pytest.approx(found.per_m_w, rel=1e-6)
    assert (found.surface_c - 2.0) / 0.09 == pytest.approx(found.per_m_w, rel=1e-6)


def test_length_is_heat_over_what_a_metre_draws():
    assert pond_length(6000, PIPE, 10.0, 2.0) == pytest.approx(
        6000 / pond_flow(PIPE, 10.0, 2.0).per_m_w
    )


def test_a_ton_takes_what_the_trade_says():
    # 300 to 500 ft of 3/4 in coil a ton: common practice, no source. A ton of heating at a COP of
    # 3.5 draws 12,000 x 2.5/3.5 Btu/h = 2,512 W; water of 39 F, fluid 32 F in, 26 F out: 29 F mean
    length = pond_length(2512, PondPipe(0.0267, 0.089), 3.9, -1.67)
    assert 200 < length / 0.3048 < 500


def test_warm_fluid_gives_its_heat_to_the_water():
    assert pond_flow(PIPE, 25.0, 33.0).per_m_w < 0
    assert pond_length(5000, PIPE, 25.0, 33.0) > 0


def test_a_very_cold_fluid_ices_the_pipe():
    assert pond_flow(PIPE, 2.0, -4.0).ices
    assert not pond_flow(PIPE, 6.0, 1.0).ices


def test_length_runs_smoothly_past_four_degrees():
    lengths = [pond_length(6000, PIPE, 3.0 + k / 50, -2.0) for k in range(150)]
    ratios = [later / former for former, later in pairwise(lengths)]
    assert max(ratios) < 1.001
    assert min(ratios) > 0.98


@pytest.mark.parametrize(
    ("water", "fluid", "words"),
    [(-1.0, -3.0, "would be ice"), (5.0, 5.0, "must be colder")],
)
def test_what_cannot_be_is_refused(water, fluid, words):
    with pytest.raises(ValueError, match=words):
        pond_flow(PIPE, water, fluid)
