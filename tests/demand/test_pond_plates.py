"""Hollow plates in water: films inside and outside against published cases and by hand."""

from __future__ import annotations

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.demand.fluid_side import Flows, plate_side
from siteplan.demand.pond_length import PondPlate, pond_flow, pond_length
from siteplan.demand.water import beside_another, plate_film, upright_plate
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.plates import Channel, channel_drop, channel_film
from siteplan.site.model import Site
from siteplan.site.pond_bodies import PlateFrame


def test_a_published_upright_plate_is_met() -> None:
    # F. P. Incropera and D. P. DeWitt, Fundamentals of Heat and Mass Transfer, Example 9.2 (from
    # memory): a glass door 0.71 m high at 232 C in a room of 23 C: Ra 1.813e9, Pr 0.690, Nu 147,
    # h = 147 x 0.0338 / 0.71 = 7.0 W/m2K
    nusselt = upright_plate(1.813e9, 0.690)
    assert nusselt == pytest.approx(147, abs=0.5)
    assert nusselt * 0.0338 / 0.71 == pytest.approx(7.0, abs=0.05)


def test_plates_a_best_spacing_apart_have_the_published_nusselt_number() -> None:
    # A. Bar-Cohen and W. M. Rohsenow 1984 (from memory): plates of one temperature give most in a
    # room at a spacing of 2.71 (S^3 L / Ra)^(1/4), where Nu over the spacing is 1.31; Incropera and
    # DeWitt, Table 9.3: from 1.71 times that on each is as good as alone
    x = 2.71**4
    assert beside_another(x, 1.0) * math.sqrt(math.sqrt(x) / 2.87) == pytest.approx(1.31, abs=0.01)
    assert beside_another((1.71 * 2.71) ** 4, 1.0) == pytest.approx(0.99, abs=0.002)


def test_far_apart_a_plate_is_alone_and_nothing_passes_where_plates_touch() -> None:
    alone = plate_film(0.6, 10.0, 10.0, 6.0)
    assert plate_film(0.6, 0.1, 10.0, 6.0) == pytest.approx(alone, rel=1e-6)
    films = [plate_film(0.6, gap, 10.0, 6.0) for gap in (0.02, 0.006, 0.003, 1e-5)]
    assert films == sorted(films, reverse=True)
    assert films[-1] < 0.01 * alone


def test_what_passes_through_a_plate_is_that_worked_by_hand() -> None:
    # inside, laminar between plates 4 mm apart: 7.54 x 0.56 / 0.008 = 527.8 W/m2K (Shah and
    # London); wall 1 mm of 15 W/mK; both sides of a metre 0.6 m high:
    # (1/527.8 + 0.001/15) / 1.2 = 1.634e-3 m K/W
    # outside, water of 10 C, surface of 6 C, film of 8 C by Table A.6 of Incropera and DeWitt (from
    # memory): 1.377e-6 m2/s, 1.391e-7 m2/s, 0.5838 W/mK, Pr 9.92; densities 999.943 and 999.702:
    # Ra = 9.807 x 2.41e-4 x 0.6^3 / (1.377e-6 x 1.391e-7) = 2.67e9
    # Nu = (0.825 + 0.387 x 37.25 / 1.0515)^2 = 211.3, h = 211.3 x 0.5838 / 0.6 = 205.6 W/m2K
    # 205.6 x 1.2 x 4 K = 987 W/m; fluid 6 - 987 x 1.634e-3 = 4.39 C
    inside = (1 / (7.54 * 0.56 / 0.008) + 0.001 / 15) / 1.2
    assert inside == pytest.approx(1.634e-3, rel=1e-3)
    flow = pond_flow(PondPlate(0.6, 0.1, inside), 10.0, 4.39)
    assert flow.surface_c == pytest.approx(6.0, abs=0.03)
    assert flow.per_m_w == pytest.approx(987, rel=0.02)
    assert pond_length(9870, PondPlate(0.6, 0.1, inside), 10.0, 4.39) == pytest.approx(10, rel=0.02)


def test_laminar_flow_between_plates_is_that_of_the_handbook() -> None:
    # Shah and London 1978 (from memory): Nu 7.54 and f Re 96 over twice the gap; the first is that
    # of walls of one temperature, the lesser of the two
    state, channel = fluid_state("propylene glycol 25 %", 0.0), Channel(0.004, 0.6)
    film = channel_film(channel, 2e-5, state)
    assert film * 0.008 / state.conductivity == pytest.approx(7.54)
    assert channel_film(channel, None, state) == film
    drop = channel_drop(channel, 2e-5, 1.0, state)
    speed = 2e-5 / (0.004 * 0.6)
    factor = drop / (1.0 / 0.008 * state.density * speed**2 / 2)
    assert factor * channel.reynolds(2e-5, state) == pytest.approx(96.0)


@given(st.floats(1e-6, 3e-3))
def test_more_flow_in_a_plate_never_passes_less_nor_loses_less(flow: float) -> None:
    state, channel = fluid_state("water", 10.0), Channel(0.004, 0.6)
    assert channel_film(channel, 1.1 * flow, state) >= channel_film(channel, flow, state)
    assert channel_drop(channel, 1.1 * flow, 1.0, state) > channel_drop(channel, flow, 1.0, state)


@given(st.floats(3.0, 30.0), st.floats(0.5, 20.0))
def test_a_plate_that_stands_nearer_to_others_never_passes_more(
    water: float, colder: float
) -> None:
    near, far = (
        abs(pond_flow(PondPlate(0.6, gap, 2e-3), water, water - colder).per_m_w)
        for gap in (0.01, 0.1)
    )
    assert near <= far * (1 + 1e-6)


LOADS = """
[loads]
heating = "9 kW"
heating_hours = 2000
[fluid]
mixture = "propylene glycol 25 %"
coldest = "0 C"
[ground]
temperature = "10 C"
conductivity = "1.5 W/m.K"
diffusivity = "0.05 m2/day"
"""


@pytest.mark.parametrize(("wall_mm", "conductivity"), [(1.0, 15.0), (3.0, 0.4)])
@pytest.mark.parametrize("circuit_m3s", [None, 2e-4])
def test_film_and_wall_of_both_sides_of_a_plate_stand_one_behind_the_other(
    circuit_m3s: float | None, wall_mm: float, conductivity: float,
    heated_site: Callable[[str], Site],
) -> None:  # fmt: skip
    energy = heated_site(LOADS).exchanger.energy
    assert energy is not None
    frame = PlateFrame(
        2.4, 1.2, 10, 2.4, 0.6, 0.1, 0.004, wall_mm / 1000.0, conductivity, 0.05
    )  # fmt: skip
    side = plate_side(energy, "heating", frame, Flows(circuit_m3s))
    # laminar, ten plates on one circuit: Nu 7.54 over twice the gap (Shah and London)
    state = fluid_state("propylene glycol 25 %", side.mean_c)
    film = 7.54 * state.conductivity / 0.008
    wanted = (1 / film + wall_mm / 1000.0 / conductivity) / (2 * 0.6)
    assert side.resistance == pytest.approx(wanted, rel=0.01)
    if circuit_m3s is None:
        assert side.reynolds is None
    else:
        speed = circuit_m3s / 10 / (0.004 * 0.6)
        viscous = state.viscosity / state.density
        assert side.reynolds == pytest.approx(speed * 0.008 / viscous, rel=0.05)
