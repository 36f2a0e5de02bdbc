"""Sizes of header pipe, beside the friction chart's own formula worked out here."""

from __future__ import annotations

import math

import pytest

from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.piping.losses import group_name, heat_pump_drop
from siteplan.layout.piping.sizing import Sizing
from siteplan.site.piping import HeatPump

GPM = 6.309020e-5  # National Institute of Standards and Technology, Special Publication 811
WATER = fluid_state("water", 10.0)


def lost(size, flow_m3s):
    """Head lost over length: Darcy and Weisbach with the factor of Haaland (1983), smooth pipe.

    S. E. Haaland, Journal of Fluids Engineering 105 (1983) 89-90; laminar 64 / Re.
    """
    inner = pipes()[size].inner_m
    speed = flow_m3s / (math.pi * inner**2 / 4)
    reynolds = WATER.density * speed * inner / WATER.viscosity
    factor = 64 / reynolds
    if reynolds > 4000:
        factor = (-1.8 * math.log10(6.9 / reynolds)) ** -2
    return factor / inner * speed**2 / (2 * 9.80665)


@pytest.mark.parametrize("size", ["3/4 in", "1 in", "1-1/4 in", "2 in", "3 in"])
@pytest.mark.parametrize("velocity_ms", [0.8, 1.5, 2.5])
def test_the_head_lost_is_that_of_darcy_and_weisbach(size, velocity_ms):
    flow = velocity_ms * pipes()[size].area_m2
    sizing = Sizing(flow / 4, WATER, "3/4 in")
    assert sizing.loss(size, 4) == pytest.approx(lost(size, flow), rel=0.04)
    # pressure goes with the length
    assert sizing.drop(size, 4, 7.5) == pytest.approx(7.5 * sizing.drop(size, 4, 1.0))


@pytest.mark.parametrize("circuits", [1, 2, 3, 5, 8, 13, 20])
def test_the_size_is_the_smallest_that_loses_no_more_than_4_ft_in_100_ft(circuits):
    sizing = Sizing(3 * GPM, WATER, "3/4 in")
    size = sizing.size(circuits)
    sizes = list(pipes())
    assert sizing.loss(size, circuits) <= 0.04
    smaller = sizes[: sizes.index(size)]
    assert all(sizing.loss(each, circuits) > 0.04 for each in smaller)


def test_no_header_is_smaller_than_the_circuits_that_it_joins():
    assert Sizing(0.2 * GPM, WATER, "1-1/4 in").size(1) == "1-1/4 in"


def test_what_is_too_much_for_all_sizes_gets_the_largest():
    assert Sizing(2000 * GPM, WATER, "3/4 in").size(10) == list(pipes())[-1]


def test_the_heat_pump_loses_its_head_of_water_at_its_flow_and_with_the_square_beside_it():
    # water of 15 C: 999.10 kg/m3 (IAPWS; CRC Handbook), 3 m of it: 29.39 kPa
    known = HeatPump(3.0, 1e-3)
    assert heat_pump_drop(known, 1e-3) == pytest.approx(3 * 999.10 * 9.80665, rel=1e-3)
    assert heat_pump_drop(known, 0.5e-3) == pytest.approx(heat_pump_drop(known, 1e-3) / 4)
    assert heat_pump_drop(HeatPump(3.0), 0.7e-3) == pytest.approx(heat_pump_drop(known, 1e-3))
    assert heat_pump_drop(None, 1e-3) == 0.0


def test_groups_are_counted_from_one():
    assert [group_name(place) for place in (0, 1, 9)] == ["G1", "G2", "G10"]
