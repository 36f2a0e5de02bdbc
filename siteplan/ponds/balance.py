"""The year of a pond's water, day by day: sun, sky, air, mud, inflow, ice, and the loop.

The water is one body of one temperature. In winter that is on the safe side: the water at the
bottom, where coils lie, is nearer to 4 C. In summer it is so too: the deep water is cooler.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.ponds.exchange import (
    Sky,
    clear_sun,
    evaporated_mm_day,
    evaporation,
    exchange_coefficient,
    outside_sun,
    surface_gain,
)
from siteplan.site.pond_survey import Weather

Floats = NDArray[np.float64]

DAY_S: Final = 86_400.0
DAYS: Final = 365
MONTH_DAYS: Final = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)
HEAT_OF_WATER: Final = 4.2e6
"""Of a cubic metre, 0 to 30 C; CRC Handbook of Chemistry and Physics (from memory) [J/(m3 K)]."""
WATER_CONDUCTS: Final = 0.56
"""Still water near 0 C; the same (from memory) [W/(m K)]."""
ICE_CONDUCTS: Final = 2.2
"""The same (from memory) [W/(m K)]."""
HEAT_OF_ICE: Final = 917.0 * 333_550.0
"""To melt a cubic metre of ice; the same (from memory) [J/m3]."""
FREEZES_OVER_C: Final = 2.0
"""Down to here wind mixes a small pond before ice closes over it; common practice, no source
[C]."""
ICE_ALBEDO: Final = 0.5
"""Share of the sun that ice, bare or under thin snow, throws back; common practice, no source
[-]."""
MUD_CONDUCTS: Final = 1.0
"""Wet mud below a pond; common practice, no source [W/(m K)]."""
MUD_DIFFUSES: Final = 4e-7
"""The same [m2/s]."""
MUD_STEP_M: Final = 0.5
MUD_STEPS: Final = 20
"""Steps of depth in the mud; below the last it has the temperature of the ground."""
MOST_YEARS: Final = 15
SETTLED_K: Final = 0.005
"""From one year to the next so little changes once a year is settled [K]."""


@dataclass(frozen=True, slots=True)
class Basin:
    """A pond as heat sees it.

    Parameters
    ----------
    area_m2, volume_m3
        Water at the lowest level.
    ground_c
        Temperature of the ground deep below [C].
    inflow_m3s, inflow_c
        Water that runs in, and its temperature.
    """

    area_m2: float
    volume_m3: float
    ground_c: float
    inflow_m3s: float = 0.0
    inflow_c: float = 10.0

    @property
    def mean_depth_m(self) -> float:
        """Volume over area [m]."""
        return self.volume_m3 / self.area_m2


@dataclass(frozen=True, slots=True)
class Days:
    """The year day by day, the first of January first.

    Parameters
    ----------
    water_c
        Temperature of the water [C].
    ice_m
        Thickness of the ice [m].
    evaporated_mm
        In the year [mm].
    frozen_w
        Most heat that was asked of water at 0 C: it would have frozen around the coils [W].
    """

    water_c: Floats
    ice_m: Floats
    evaporated_mm: float
    frozen_w: float


def skies(weather: Weather) -> tuple[Sky, ...]:
    """Weather of each day: that of the months, from the middle of one to that of the next."""
    middles = np.cumsum(MONTH_DAYS) - np.array(MONTH_DAYS) / 2
    days = np.arange(DAYS) + 0.5

    def daily(months: Sequence[float]) -> Floats:
        return np.asarray(np.interp(days, middles, months, period=DAYS))

    found = []
    for day, air, dew, sun in zip(
        days, daily(weather.air_c), daily(weather.dew_c), daily(weather.sun_w_m2), strict=True
    ):
        clear = clear_sun(outside_sun(weather.latitude_deg, float(day)))
        # monthly means may lie above what a clear sky of FAO-56 gives
        sky = Sky(float(air), min(float(dew), float(air)), weather.wind_ms, float(sun), clear)
        found.append(sky)
    return tuple(found)


def daily_of(months: Sequence[float]) -> Floats:
    """Values of the months for each day of the year."""
    return np.repeat(np.asarray(months, dtype=np.float64), MONTH_DAYS)


def months_of(days: Floats) -> tuple[float, ...]:
    """Means of the months."""
    ends = np.cumsum(MONTH_DAYS)
    return tuple(float(part.mean()) for part in np.split(days, ends[:-1]))


@dataclass(slots=True)
class _State:
    """Where a day has brought the pond."""

    water_c: float
    ice_m: float
    mud_c: Floats
    frozen_w: float = 0.0


def water_year(basin: Basin, weather: Weather, loop_w: Sequence[float]) -> Days:
    """Year of the water once years repeat.

    Parameters
    ----------
    basin
        The pond.
    weather
        Of the months.
    loop_w
        Heat that the loop draws in each month, negative where it gives [W].
    """
    sky, drawn = _skies_kept(weather), daily_of(loop_w)
    state = _State(basin.ground_c, 0.0, np.full(MUD_STEPS, basin.ground_c))
    water, ice = np.zeros(DAYS), np.zeros(DAYS)
    for _ in range(MOST_YEARS):
        before, evaporated, state.frozen_w = water.copy(), 0.0, 0.0
        for day in range(DAYS):
            evaporated += _evaporated(state, sky[day])
            _next_day(state, sky[day], float(drawn[day]), basin)
            water[day], ice[day] = state.water_c, state.ice_m
        if np.abs(water - before).max() < SETTLED_K:
            break
    return Days(water, ice, evaporated, state.frozen_w)


@cache
def _skies_kept(weather: Weather) -> tuple[Sky, ...]:
    """The same year is asked for with the loop and without."""
    return skies(weather)


def _evaporated(state: _State, sky: Sky) -> float:
    if state.ice_m > 0:
        return 0.0
    return evaporated_mm_day(evaporation(state.water_c, sky), state.water_c)


def _next_day(state: _State, sky: Sky, drawn_w: float, basin: Basin) -> None:
    """Carry water, ice and mud on by a day."""
    mud = MUD_CONDUCTS * (state.mud_c[0] - state.water_c) / (MUD_STEP_M / 2)
    inflow = HEAT_OF_WATER * basin.inflow_m3s / basin.area_m2
    other = mud + inflow * (basin.inflow_c - state.water_c) - drawn_w / basin.area_m2
    slope = inflow + MUD_CONDUCTS / (MUD_STEP_M / 2)
    stored = HEAT_OF_WATER * basin.mean_depth_m / DAY_S
    if state.ice_m > 0:
        to_ice = WATER_CONDUCTS / (basin.mean_depth_m / 2)
        change = (other - to_ice * state.water_c) / (stored + slope + to_ice)
        _carry_ice(state, sky, to_ice * state.water_c)
    else:
        gain = surface_gain(state.water_c, sky) + other
        change = gain / (stored + slope + exchange_coefficient(state.water_c, sky))
    warmer = state.water_c + change
    state.frozen_w = max(state.frozen_w, float(-warmer * stored * basin.area_m2))
    state.water_c = max(warmer, 0.0)
    if state.ice_m == 0 and state.water_c <= FREEZES_OVER_C and surface_gain(0.0, sky) < 0:
        state.ice_m = 1e-4
    _carry_mud(state, basin.ground_c)


def _carry_ice(state: _State, sky: Sky, from_water: float) -> None:
    """Grow or melt the ice; nothing lies on it that would keep it warm."""
    gain = surface_gain(0.0, sky, ICE_ALBEDO)
    if gain < 0:
        through = 1 + exchange_coefficient(0.0, sky) * state.ice_m / ICE_CONDUCTS
        gain /= through
    grown = (-gain - from_water) * DAY_S / HEAT_OF_ICE
    state.ice_m = max(0.0, state.ice_m + grown)


def _carry_mud(state: _State, ground_c: float) -> None:
    """Conduct heat in the mud, water above and ground below."""
    mud = state.mud_c
    # the uppermost layer is half a step from the water
    above = np.concatenate(([2 * state.water_c - mud[0]], mud[:-1]))
    below = np.concatenate((mud[1:], [ground_c]))
    share = MUD_DIFFUSES * DAY_S / MUD_STEP_M**2
    state.mud_c = mud + share * (above - 2 * mud + below)
