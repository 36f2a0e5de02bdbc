"""A well pair on a lot: seasons, levels, pump; a lot that is turned."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
import sheet_lots
from campaign import several
from shapely import Point, Polygon
from shapely.affinity import rotate

from siteplan.demand.well_figures import well_figures
from siteplan.demand.well_levels import Levels, levels_of
from siteplan.demand.well_seasons import seasons_of
from siteplan.demand.wells import (
    USUAL_CAPACITY,
    USUAL_CONDUCTIVITY,
    WellStudy,
    drift_of,
    groundwater_flow,
    heat_pair,
    separation_wished,
    study_wells,
)
from siteplan.findings.words import figure_words
from siteplan.layout.elements import Well
from siteplan.layout.model import Layout
from siteplan.site.energy import Earth
from siteplan.site.model import Feature, Site
from siteplan.site.open_loop import Aquifer

FLOW = 0.8e-3
AQUIFER = Aquifer(transmissivity=5e-3, thickness_m=15.0, gradient=0.001, direction_deg=20.0)
SUPPLY, BACK = (20.0, 20.0), (35.0, 50.0)


def site_with(aquifer: Aquifer = AQUIFER, **options: Any) -> Site:
    site = sheet_lots.well_pair().site
    wanted = replace(site.exchanger.open, aquifer=aquifer, **options)
    return replace(site, exchanger=replace(site.exchanger, open=wanted))


def pair(supply: tuple[float, float] = SUPPLY, back: tuple[float, float] = BACK) -> Layout:
    wells = (
        Well("SUPPLY", *supply, 0.15, 40.0, "supply"), Well("RETURN", *back, 0.15, 40.0, "return"),
    )  # fmt: skip
    return Layout("open", wells, None, 15.0, 0.0)


PAIR = pair()


@cache
def studied(site: Site, layout: Layout = PAIR) -> WellStudy:
    study = study_wells(site, layout, FLOW)
    assert study is not None
    return study


def levelled(site: Site) -> Levels:
    supply, back = PAIR.of(Well)
    return levels_of(site, supply, back, seasons_of(site.exchanger, FLOW))


@pytest.mark.parametrize("angle", [37.0, 90.0, 211.0][: several(1, 3)])
def test_turning_the_lot_changes_nothing(angle: float) -> None:
    site = site_with()
    # degrees of shapely run against the clock, bearings with it
    turned = site_with(replace(AQUIFER, direction_deg=AQUIFER.direction_deg - angle))
    about = (0.0, 0.0)
    features = tuple(replace(one, shape=rotate(one.shape, angle, about)) for one in site.features)
    turned = replace(turned, parcel=rotate(site.parcel, angle, about), features=features)
    spots = [rotate(Point(spot), angle, about) for spot in (SUPPLY, BACK)]
    one = studied(site)
    other = studied(turned, pair(*((spot.x, spot.y) for spot in spots)))
    assert other.full_s == pytest.approx(one.full_s, rel=1e-6)
    assert other.drift_k == pytest.approx(one.drift_k, rel=1e-6, abs=1e-9)
    assert other.levels.line_fall_m == pytest.approx(one.levels.line_fall_m, rel=1e-3)
    assert other.spreads[-1].plume.area == pytest.approx(one.spreads[-1].plume.area, rel=1e-3)


def test_groundwater_flows_where_its_bearing_says() -> None:
    east = replace(AQUIFER, direction_deg=90.0)
    # K = T/b = 5e-3/15, x 0.001
    assert groundwater_flow(east) == pytest.approx((5e-3 / 15 * 0.001, 0.0), abs=1e-18)
    south = groundwater_flow(replace(AQUIFER, direction_deg=180.0))
    assert south[1] == pytest.approx(-5e-3 / 15 * 0.001)


def test_the_fall_at_a_well_comes_to_that_of_a_pair_that_is_pumped_for_ever() -> None:
    # G. Thiem 1906 for a well and its image: s = Q/(2 pi T) ln(L/r), reached within a day here
    levels = levelled(site_with())
    steady = FLOW / (2 * math.pi * 5e-3) * math.log(math.dist(SUPPLY, BACK) / 0.075)
    assert levels.supply_m == pytest.approx(steady, rel=0.01)
    assert levels.back_m == pytest.approx(levels.supply_m, rel=0.01)


def test_an_unconfined_aquifer_has_fallen_less_by_then() -> None:
    confined, free = (
        levelled(site_with(replace(AQUIFER, storativity=store))).line_fall_m
        for store in (2e-4, 0.2)
    )
    assert 0 < free < confined


def test_far_from_both_wells_hardly_anything_is_felt() -> None:
    site = site_with()
    near, far = (
        Feature(name, "potable well", Point(at)) for name, at in (("n", (20, 8)), ("f", (900, 20)))
    )
    levels = levelled(replace(site, features=(*site.features, far, near)))
    felt = {each.id: each for each in levels.neighbours}
    assert felt["n"].distance_m == pytest.approx(12.0)
    assert felt["n"].drawdown_m > 10 * felt["f"].drawdown_m
    assert next(each.id for each in levels.neighbours) == "n"
    assert levels.supply_m > felt["n"].drawdown_m


def test_what_falls_on_one_side_of_a_pair_rises_on_the_other() -> None:
    """Theis wells add up, so that a return well is the image of the supply well (Bear 1979)."""
    across = np.array(BACK) - SUPPLY
    middle = np.array(SUPPLY) + across / 2
    ahead, aside = across / np.hypot(*across), np.array([across[1], -across[0]]) / np.hypot(*across)
    # nearer to the supply well, and nearer to the return well
    spots = [middle + along * ahead + 7.0 * aside for along in (-24.0, 24.0)]
    seen = tuple(
        Feature(name, "potable well", Point(spot)) for name, spot in zip("sr", spots, strict=True)
    )
    # a lot that looks the same from both wells
    corners = [
        middle + x * ahead + y * aside for x, y in ((-60, -30), (60, -30), (60, 30), (-60, 30))
    ]
    lot = replace(site_with(), parcel=Polygon(corners))
    others = tuple(one for one in lot.features if one.kind not in ("potable well", "spring"))
    levels = levelled(replace(lot, features=(*others, *seen)))
    by_supply, by_return = sorted(levels.neighbours, key=lambda each: each.id == "r")
    assert by_supply.drawdown_m == pytest.approx(by_return.rise_m, rel=1e-6)
    assert by_supply.drawdown_m > 0.01
    assert by_supply.rise_m == by_return.drawdown_m == 0.0
    assert levels.line_rise_m == pytest.approx(levels.line_fall_m, rel=0.01)


def test_the_pump_lifts_from_the_level_while_it_is_pumped() -> None:
    assert studied(site_with()).lift is None
    lift = studied(site_with(level_m=6.0, pump_efficiency=0.5)).lift
    assert lift is not None
    levels = studied(site_with()).levels
    assert lift.level_m == pytest.approx(6.0 + levels.supply_m)
    # no header, no friction; 5 m for heat pump and valves: common practice, no source
    assert lift.head_m == pytest.approx(lift.level_m + 5.0)
    watts = 999.7 * 9.80665 * FLOW * lift.head_m / 0.5
    assert lift.power_w == pytest.approx(watts, rel=1e-3)


def test_without_loads_half_a_year_of_heating_is_assumed() -> None:
    seasons = seasons_of(site_with().exchanger, FLOW)
    assert seasons.assumed
    assert seasons.hours == pytest.approx(1800.0)
    assert max(seasons.season.changes_k) <= 0


LOADS = """
[loads]
heating = "9 kW"
heating_hours = 1800
cooling = "7 kW"
cooling_hours = 900
cop = 4.0
eer = 17.06
[ground]
temperature = "10 C"
conductivity = "1.5 W/m.K"
diffusivity = "0.05 m2/day"
"""


def test_the_water_of_each_month_carries_its_heat(heated_site: Callable[[str], Site]) -> None:
    # a COP of 4 draws 3/4 of the heating; an EER of 17.06, a COP of 5, gives 6/5 of the cooling
    seasons = seasons_of(heated_site(LOADS).exchanger, FLOW)
    flows, changes = np.array(seasons.season.flows_m3s), np.array(seasons.season.changes_k)
    # rho c of water at 10 C is 4.19 MJ/(m3 K); a twelfth of 8,760 h
    heats = flows * changes * 4.19e6 * 8760 / 12
    drawn, given = 6750.0 * 1800, 8400.0 * 900
    assert heats.sum() == pytest.approx(given - drawn, rel=0.01)
    # cooling and heating overlap in some months, and are half a year apart
    assert int(heats.argmin()) == 6
    assert int(heats.argmax()) in (11, 0, 1)
    assert (flows > 0).all()
    # in the hardest month of heating next to nothing is cooled: 22 % of the year's heat
    assert heats.min() == pytest.approx(-0.22 * drawn, rel=0.05)
    assert not seasons.assumed
    assert seasons.hours == pytest.approx(1800 + 900, rel=0.02)


def test_of_a_capacity_alone_the_water_gives_what_the_heat_pump_does_not_take_from_the_mains() -> (
    None
):
    # 7 kW at a COP of 3.5 (common practice, no source) take 5 kW from the water: Q = rho c V dT
    site = site_with()
    wanted = replace(site.exchanger, capacity_w=7000.0)
    drop = -min(seasons_of(wanted, FLOW).season.changes_k)
    assert drop * FLOW * 4.19e6 == pytest.approx(5000.0, rel=0.01)


def test_a_separation_wished_keeps_the_drift_within_a_kelvin() -> None:
    still = site_with(replace(AQUIFER, gradient=0.0))
    wished = separation_wished(still.exchanger, FLOW)
    assert wished > still.exchanger.open.separation_m
    for apart, keeps in ((wished + 1.0, True), (wished - 10.0, False)):
        supply, back = pair((0.0, 0.0), (0.0, apart)).of(Well)
        doublet = heat_pair(still.exchanger.open.aquifer, supply, back, FLOW)
        drift = max(map(abs, drift_of(still.exchanger, doublet, seasons_of(still.exchanger, FLOW))))
        assert (drift <= 1.0) is keeps
    # groundwater that flows on wants less, and whoever answers for the drift wants nothing
    assert separation_wished(site_with().exchanger, FLOW) < wished
    by = site_with(replace(AQUIFER, gradient=0.0), drift_by="A. Hydrogeologist")
    assert separation_wished(by.exchanger, FLOW) == by.exchanger.open.separation_m


def test_ground_stated_as_it_usually_is_drifts_as_ground_that_nobody_states() -> None:
    # diffusivity is conductivity by heat capacity: that of the usual ground is its quotient
    wanted = site_with().exchanger
    supply, back = PAIR.of(Well)
    doublet = heat_pair(AQUIFER, supply, back, FLOW)
    earth = Earth(10.0, USUAL_CONDUCTIVITY, USUAL_CONDUCTIVITY / USUAL_CAPACITY)
    energy = SimpleNamespace(earth=earth)
    seasons = replace(seasons_of(wanted, FLOW), years=1)
    unsaid = list(drift_of(replace(wanted, energy=None), doublet, seasons, cells=8))
    stated = list(drift_of(replace(wanted, energy=energy), doublet, seasons, cells=8))
    assert max(map(abs, unsaid)) > 0
    assert stated == pytest.approx(unsaid, rel=1e-9)


def test_every_figure_has_a_name_a_value_and_a_basis() -> None:
    site = site_with(level_m=6.0, pump_efficiency=0.5)
    told = [figure_words(figure, site.unit) for figure in well_figures(site, studied(site))]
    assert all(all(words) for words in told)
    assert len({name for name, *_ in told}) == len(told)


def test_the_figures_of_a_well_pair_follow_from_each_other() -> None:
    site = site_with(level_m=6.0, pump_efficiency=0.5)
    figures = well_figures(site, studied(site))
    of = {one.code.removeprefix("figure-"): dict(one.values) for one in figures}
    thick_m, apart_m = of["aquifer-thickness"]["thickness_m"], math.dist(SUPPLY, BACK)
    assert of["wells-apart"]["apart_m"] == pytest.approx(apart_m)
    # H. Darcy 1856: flux = K i, and K = T / b
    flux = of["transmissivity"]["transmissivity"] / thick_m * of["groundwater"]["gradient"]
    assert of["groundwater"]["speed"] == pytest.approx(flux)
    # the return well lies down the groundwater by the step's part along its bearing
    bearing = math.radians(of["groundwater"]["angle"])
    step = (BACK[0] - SUPPLY[0], BACK[1] - SUPPLY[1])
    along_m = step[0] * math.sin(bearing) + step[1] * math.cos(bearing)
    assert of["return-down"]["down_m"] == pytest.approx(along_m)
    # A. C. Gringarten, J. P. Sauty, J. Geophys. Res. 80 (1975) 4956: in still groundwater cold
    # comes through after pi b D2 / (3 Q), times the heat of the aquifer over that of its water
    flow = of["mean-flow"]["flow_m3s"]
    assert flow == pytest.approx(FLOW * of["full-hours"]["hours"] / 8760)
    full_s = math.pi * thick_m * apart_m**2 / (3 * FLOW) * of["aquifer-heat"]["share"]
    assert of["breakthrough-still"]["time_s"] == pytest.approx(full_s, rel=1e-6)
    # grains hold 1.8 to 2.4 MJ/m3K, water 4.19 (handbooks, from memory)
    pores = of["porosity"]["porosity"]
    assert pores + (1 - pores) * 1.8 / 4.19 < of["aquifer-heat"]["share"]
    assert of["aquifer-heat"]["share"] < pores + (1 - pores) * 2.4 / 4.19
    # levels and heads add up; power is rho g Q H over what of it the pump turns into head
    pumped_m = of["static-level"]["level_m"] + of["drawdown"]["fall_m"]
    assert of["pumped-level"]["level_m"] == pytest.approx(pumped_m)
    head_m = pumped_m + of["well-friction"]["head_m"] + of["pump-head"]["pump_m"]
    assert of["pump-head"]["head_m"] == pytest.approx(head_m)
    assert of["pump-power"]["power_w"] == pytest.approx(
        999.7 * 9.81 * FLOW * head_m / 0.5, rel=1e-3
    )
    reserve = of["rise-reserve"]
    assert reserve["rise_m"] == pytest.approx(of["rise"]["rise_m"] * reserve["share"])
    # water goes back colder than it came where a house is heated
    assert of["drift"]["warmer"].code == "colder"


def test_a_pair_without_a_flow_is_not_studied():
    assert study_wells(site_with(), PAIR, 0.0) is None
