"""The year of a pond's water with the loop and without, and the site that knows of it."""

from __future__ import annotations

from dataclasses import replace
from typing import Final

import numpy as np

from siteplan.geometry.memory import Memory
from siteplan.heat_balance import HARDEST, MONTHS, Floats, bell, design_heat, ground_share
from siteplan.ponds.balance import Basin, daily_of, months_of, skies, water_year
from siteplan.ponds.bottom import bottom_of, volume_m3
from siteplan.ponds.exchange import exchange_coefficient
from siteplan.site.energy import Energy
from siteplan.site.model import Feature, Site
from siteplan.site.pond_survey import WaterYear, Weather

HOURS_A_MONTH: Final = 730.0
COLDEST, WARMEST = "pond.coldest", "pond.warmest"
"""Keys of the water's temperatures in the site file."""


def with_pond_year(site: Site, memory: Memory | None = None) -> Site:
    """The site, its pond options with the year of the water where weather and loads are stated.

    Temperatures at the coils that nobody states are those of the coldest and the warmest day.
    ``memory`` holds the years of ponds that were worked out already.
    """
    exchanger = site.exchanger
    year = _year_of(site, Memory() if memory is None else memory)
    if year is None:
        return site
    pond, assumed = replace(exchanger.pond, year=year), exchanger.assumed
    if COLDEST in assumed:
        pond = replace(pond, coldest_c=year.coldest_c)
    if WARMEST in assumed:
        pond = replace(pond, warmest_c=year.warmest_c)
    left = tuple(key for key in assumed if key not in (COLDEST, WARMEST))
    return replace(site, exchanger=replace(exchanger, pond=pond, assumed=left))


def _year_of(site: Site, memory: Memory) -> WaterYear | None:
    """Year of the pond that holds most water; None where something for it is not stated."""
    energy, weather = site.exchanger.energy, site.exchanger.pond.weather
    if energy is None or weather is None:
        return None
    basins = [(basin.volume_m3, pond.id, basin) for pond, basin in _basins(site, energy)]
    if not basins:
        return None
    _, name, basin = max(basins, key=lambda each: (each[0], each[1]))
    loop_w = tuple(float(each) for each in loop_months(energy, weather))
    return memory.of(year_of, name, basin, weather, loop_w)


def _basins(site: Site, energy: Energy) -> list[tuple[Feature, Basin]]:
    basins = []
    for pond in site.of_kind("pond"):
        bottom, survey = bottom_of(pond), pond.survey
        volume = 0.0 if bottom is None else volume_m3(bottom)
        if bottom is None or volume <= 0:
            continue
        ground = energy.earth.temperature_c
        inflow = ground if survey.inflow_c is None else survey.inflow_c
        basin = Basin(bottom.area_m2(0.0), volume, ground, survey.inflow_m3s, inflow)
        basins.append((pond, basin))
    return basins


def year_of(pond: str, basin: Basin, weather: Weather, loop_w: tuple[float, ...]) -> WaterYear:
    """Year of a pond's water, without the loop and with it, from the heat drawn by month [W]."""
    alone = water_year(basin, weather, tuple(0.0 for _ in range(MONTHS)))
    loop = water_year(basin, weather, loop_w)
    warmest = int(np.argmax(loop.water_c))
    month = daily_of(range(MONTHS))
    return WaterYear(
        pond=pond,
        alone_c=months_of(alone.water_c),
        with_loop_c=months_of(loop.water_c),
        coldest_alone_c=float(alone.water_c.min()),
        coldest_c=float(loop.water_c.min()),
        warmest_alone_c=float(alone.water_c.max()),
        warmest_c=float(loop.water_c.max()),
        ice_m=tuple(float(loop.ice_m[month == nth].max()) for nth in range(MONTHS)),
        exchange=exchange_coefficient(float(loop.water_c[warmest]), skies(weather)[warmest]),
        evaporated_mm=loop.evaporated_mm,
        loop_w=loop_w,
        area_m2=basin.area_m2,
        volume_m3=basin.volume_m3,
        frozen_w=loop.frozen_w,
    )


def loop_months(energy: Energy, weather: Weather) -> Floats:
    """Heat that the loop draws from the water by month, negative where it gives [W].

    The hardest month of heating is that of the coldest air, of cooling that of the warmest.
    """
    loads = energy.loads
    share = {way: ground_share(energy, way, year=True) for way in ("heating", "cooling")}
    coldest, warmest = int(np.argmin(weather.air_c)), int(np.argmax(weather.air_c))
    house = loads.heating_w * share["heating"] * loads.heating_hours
    drawn = house * bell(loads.heating_month)
    for side in loads.sides:
        drawn = drawn + side.ground_share * side.year_wh * bell(side.hardest)
    given = loads.cooling_w * share["cooling"] * loads.cooling_hours * bell(loads.cooling_month)
    heating = np.minimum(drawn / HOURS_A_MONTH, design_heat(energy, "heating"))
    cooling = np.minimum(given / HOURS_A_MONTH, design_heat(energy, "cooling"))
    return np.asarray(np.roll(heating, coldest - HARDEST) - np.roll(cooling, warmest - HARDEST))
