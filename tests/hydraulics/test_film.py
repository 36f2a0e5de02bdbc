"""The film in the pipe against the general library of heat transfer's published figures."""

import math
from itertools import pairwise

import pytest

from siteplan.hydraulics.film import (
    film_resistance,
    gnielinski,
    nusselt_number,
    prandtl_number,
    smooth_friction,
)
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.pipes import pipes

GPM = 0.003785411784 / 60


def test_gnielinski_gives_what_the_general_library_prints():
    # library ht 1.2, docstring of turbulent_Gnielinski: Re 1e5, Pr 1.2, fd 0.0185
    assert gnielinski(1e5, 1.2, 0.0185) == pytest.approx(254.62682749359632, rel=1e-12)


@pytest.mark.parametrize(
    ("reynolds", "prandtl", "expected"),
    # own reference calculation, Gnielinski with f = (0.79 ln Re - 1.64)^-2
    [(4000, 36, 55.66), (10_000, 10, 90.78)],
)
def test_turbulent_flow_meets_the_reference(reynolds, prandtl, expected):
    assert nusselt_number(reynolds, prandtl) == pytest.approx(expected, abs=0.005)


def test_gnielinski_far_below_turbulent_flow_meets_the_reference():
    # own reference calculation: Re 2500, Pr 36 gives 30.33
    assert gnielinski(2500, 36, smooth_friction(2500)) == pytest.approx(30.33, abs=0.005)


def test_dittus_boelter_lies_near_gnielinski():
    # library ht 1.2, docstring of turbulent_Dittus_Boelter: Re 1e5, Pr 1.2: 247.40 in heating,
    # 242.93 in cooling
    assert 242.93 / 1.04 < nusselt_number(1e5, 1.2) < 247.40 * 1.04


def test_laminar_flow_has_the_textbook_number():
    # 48/11 at an even heat flow: textbooks of heat transfer
    assert nusselt_number(2000, 36) == pytest.approx(48 / 11, rel=1e-4)


def test_the_number_rises_steadily_from_laminar_to_turbulent():
    found = [nusselt_number(re, 20) for re in range(1000, 12_000, 50)]
    assert found == sorted(found)
    steps = [later - former for former, later in pairwise(found)]
    assert max(steps) < 2.0


def test_a_published_pipe_resistance_leaves_a_film_like_this():
    # Geothermal Energy (2015), s40517-015-0029-1, Table 1: 1-1/4 in DR 11, k 0.389 W/(m K):
    # 0.089 m K/W in all, of which the wall is ln(11/9)/(2 pi 0.389) = 0.0821; 0.0069 is left
    state, pipe = fluid_state("water", 10.0), pipes()["1-1/4 in"]
    wall = math.log(11 / 9) / (2 * math.pi * 0.389)
    left = 0.089 - wall
    # that is water at about 5 gpm
    assert film_resistance(pipe, 6 * GPM, state) < left < film_resistance(pipe, 4 * GPM, state)


def test_laminar_flow_resists_more_than_the_wall_of_the_pipe():
    pipe, state = pipes()["3/4 in"], fluid_state("propylene glycol 20 %", 0.0)
    wall = math.log(11 / 9) / (2 * math.pi * 0.389)
    assert film_resistance(pipe, 1 * GPM, state) > wall > film_resistance(pipe, 5 * GPM, state)


def test_the_prandtl_number_of_water_is_the_handbooks():
    # water of 20 C: Pr 7.0, textbooks of heat transfer
    assert prandtl_number(fluid_state("water", 20.0)) == pytest.approx(7.0, abs=0.05)
