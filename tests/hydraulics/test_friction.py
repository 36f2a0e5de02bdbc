"""Friction, pressure drop and Reynolds number against published and library values."""

import pytest
from fluids.friction import Churchill_1977

from siteplan.hydraulics.fluids import FluidState, fluid_state
from siteplan.hydraulics.friction import (
    flow_for,
    head,
    pressure_drop,
    purge_flow,
    reynolds_number,
    velocity,
)
from siteplan.hydraulics.pipes import Pipe, pipes

GPM = 231 * 0.0254**3 / 60
FT = 0.3048


def test_the_library_gives_its_documented_friction_factor():
    # fluids, docstring of Churchill_1977
    assert Churchill_1977(1e5, 1e-4) == pytest.approx(0.018462624566280075, rel=1e-12)


@pytest.mark.parametrize(
    ("reynolds", "factor"), [(2000, 0.032043), (2500, 0.035145), (3000, 0.042975)]
)
def test_the_factor_runs_smoothly_through_the_transition(reynolds, factor):
    # own reference calculation by hand from Churchill's formula
    assert Churchill_1977(reynolds, 0.0) == pytest.approx(factor, rel=1e-4)


# own reference calculation: gpm, size, fluid, temperature [C], Re, loss in ft per 100 ft
LOSSES = [
    (3, "3/4 in", "water", 10, 8446, 1.941), (12, "2 in", "water", 5, 12867, 0.470),
]  # fmt: skip


@pytest.mark.parametrize(("gpm", "size", "fluid", "temperature", "reynolds", "loss"), LOSSES)
def test_losses_of_water_meet_the_reference(gpm, size, fluid, temperature, reynolds, loss):
    pipe, state = pipes()[size], fluid_state(fluid, temperature)
    assert reynolds_number(pipe, gpm * GPM, state) == pytest.approx(reynolds, rel=2e-3)
    drop = pressure_drop(pipe, gpm * GPM, 100 * FT, state)
    assert head(drop, state) / FT == pytest.approx(loss, rel=3e-3)


@pytest.mark.parametrize(
    ("gpm", "inner_in", "printed"),
    # Illinois 77 Adm. Code 906 App. A Exh. I: Hazen-Williams, C = 150, ft per 100 ft
    [(10, 1.049, 5.50), (20, 1.380, 5.23), (20, 2.067, 0.74), (50, 2.067, 3.98)],
)
def test_losses_of_water_come_near_a_published_plumbing_table(gpm, inner_in, printed):
    inner = inner_in * 0.0254
    pipe, state = Pipe("", inner, inner, 0.0), fluid_state("water", 15.0)
    loss = head(pressure_drop(pipe, gpm * GPM, 100 * FT, state), state) / FT
    assert loss == pytest.approx(printed, rel=0.09)  # another formula: Hazen-Williams


def test_a_laminar_flow_follows_64_over_re():
    pipe = pipes()["1 in"]
    thick = FluidState(1000.0, 4000.0, 0.05, 0.5)
    flow = 100.0 * thick.viscosity / (thick.density * pipe.inner_m) * pipe.area_m2  # Re 100
    by_hand = 0.64 * 10.0 / pipe.inner_m * 1000.0 * velocity(pipe, flow) ** 2 / 2
    assert pressure_drop(pipe, flow, 10.0, thick) == pytest.approx(by_hand, rel=1e-6)


def test_flow_for_a_ton_of_heat_at_ten_degrees_is_about_two_and_a_half_gpm():
    # 12,000 Btu/h / (500 x 10 F) = 2.4 gpm, the trade's rule for water, common practice
    flow = flow_for(3516.85, 10 / 1.8, fluid_state("water", 15.0))
    assert flow / GPM == pytest.approx(2.4, rel=0.01)


def test_purging_one_inch_pipe_takes_about_six_gpm():
    # 2 ft/s x pi/4 x (1.075/12 ft)2 x 448.83 gpm s/ft3 = 5.66 gpm
    assert purge_flow(pipes()["1 in"]) / GPM == pytest.approx(5.66, abs=0.01)


def test_no_flow_loses_no_pressure():
    assert pressure_drop(pipes()["1 in"], 0.0, 100.0, fluid_state("water", 10.0)) == 0.0


@pytest.mark.parametrize(
    ("reynolds", "rough", "printed"),
    # docstrings of the library fluids: Colebrook, and friction_factor by Serghides; a page of the
    # package colebrook: Swamee and Jain
    [
        (1e5, 1e-4, 0.018513866077471),
        (2.9e5, 1e-5, 0.0146199041093456),
        (60_000, 0.0023, 0.027),
    ],
)
def test_other_published_friction_factors_lie_near(reynolds, rough, printed):
    assert Churchill_1977(reynolds, rough) == pytest.approx(printed, rel=0.02)


def test_a_textbook_pipe_of_steel_loses_what_the_textbook_says():
    # Cengel (from memory): water of 60 F, 2 in pipe, 200 ft, 0.2 ft3/s: 9.17 ft/s, Re 126,400,
    # f 0.0174, 1,700 lbf/ft2. Roughness there 7e-6 ft, here 4.9e-6 ft: within 2 %
    pipe, state = Pipe("", 0.06, 2 * 0.0254, 0.0), fluid_state("water", 15.556)
    flow = 0.2 * FT**3
    assert velocity(pipe, flow) / FT == pytest.approx(9.17, abs=0.005)
    assert reynolds_number(pipe, flow, state) == pytest.approx(126_400, rel=0.01)
    pounds_a_square_foot = 4.4482216 / FT**2
    drop = pressure_drop(pipe, flow, 200 * FT, state)
    assert drop / pounds_a_square_foot == pytest.approx(1700, rel=0.02)


def test_a_gallon_a_minute_lifted_a_foot_takes_a_fifth_of_a_watt():
    # a utility's page on ratings: 0.8 W per gpm and foot "approximates a 25 percent total pump
    # efficiency": 0.8 x 0.25 = 0.2 W; exactly 3.785 kg/min x 9.80665 x 0.3048 = 0.1886 W
    state = FluidState(1000.0, 4186.0, 1e-3, 0.6)
    power = GPM * FT / head(1.0, state)
    assert power == pytest.approx(0.1886, abs=1e-4)
    assert power / 0.8 == pytest.approx(0.25, abs=0.02)
