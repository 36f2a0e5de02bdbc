"""What a heat pump does with the water of a well pair over a year: how much of it, how changed."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np

from siteplan.demand.ground_loads import HOURS_A_MONTH, month_heats
from siteplan.groundwater.drift import Season
from siteplan.heat_balance import (
    MONTHS,
    USUAL_CHANGE_K,
    USUAL_COP,
    Direction,
    bell,
    design_heat,
    stated_change,
)
from siteplan.hydraulics.fluids import fluid_state
from siteplan.site.energy import Energy
from siteplan.site.model import Exchanger

ASSUMED_HOURS: Final = 1800.0
"""Equivalent full-load hours of heating where no loads are stated; common practice, no source."""
ASSUMED_HARDEST: Final = 0.22
"""Share of the hardest month there, as the site file takes it for stated loads."""
ASSUMED_WATER_C: Final = 10.0
"""Of groundwater whose temperature nobody states; its properties hardly change with it [C]."""
ASSUMED_YEARS: Final = 25


@dataclass(frozen=True, slots=True)
class WellSeasons:
    """The water of a well pair over a year.

    Parameters
    ----------
    flow_m3s
        At full load [m3/s].
    season
        Mean flow and change of twelve months, the hardest of heating the seventh.
    drop_k
        What the water is cooled by at full load of heating; 0: nothing is heated [K].
    heated
        Whether each month is heated in.
    water_c
        Of the aquifer; None: nobody states it [C].
    years
        So many are looked at.
    assumed
        Whether hours and change are no more than common practice.
    """

    flow_m3s: float
    season: Season
    drop_k: float
    heated: tuple[bool, ...]
    water_c: float | None
    years: int
    assumed: bool

    @property
    def hours(self) -> float:
        """Hours of full flow in a year [h]."""
        return self.season.mean_m3s / self.flow_m3s * MONTHS * HOURS_A_MONTH


def seasons_of(exchanger: Exchanger, flow_m3s: float) -> WellSeasons:
    """What the heat pump does with a flow of water over a year."""
    energy = exchanger.energy
    stored = _stored(water_temperature(exchanger))
    if energy is None:
        return _assumed(exchanger, flow_m3s, stored)
    drawn, given = month_heats(energy)
    given = np.roll(given, MONTHS // 2)
    cooled = _change(energy, "heating", flow_m3s, stored)
    warmed = _change(energy, "cooling", flow_m3s, stored)
    heating = _flows(drawn, cooled, stored)
    cooling = _flows(given, warmed, stored)
    return _seasons(exchanger, flow_m3s, (heating, cooling), (cooled, warmed))


def water_temperature(exchanger: Exchanger) -> float | None:
    """Temperature of the water: the aquifer's own, else the ground's; None: not stated [C]."""
    stated, energy = exchanger.open.aquifer.temperature_c, exchanger.energy
    if stated is not None or energy is None:
        return stated
    return energy.earth.temperature_c


def _stored(water_c: float | None) -> float:
    water = fluid_state("water", ASSUMED_WATER_C if water_c is None else water_c)
    return water.density * water.heat_capacity


def _change(energy: Energy, way: Direction, flow_m3s: float, stored: float) -> float:
    """By what the design load changes the whole flow [K]."""
    return design_heat(energy, way) / (stored * flow_m3s)


def _flows(heats: np.ndarray, change_k: float, stored: float) -> np.ndarray:
    """Mean flow of each month that carries its heat at a change [m3/s]."""
    if change_k <= 0:
        return np.zeros(MONTHS)
    return np.asarray(heats / HOURS_A_MONTH / (stored * change_k))


def _assumed(exchanger: Exchanger, flow_m3s: float, stored: float) -> WellSeasons:
    """Heating alone, so many hours a year, where no loads are stated."""
    fluid, capacity = exchanger.piping.fluid, exchanger.capacity_w
    change = USUAL_CHANGE_K["heating"]
    if fluid is not None:
        change = stated_change(fluid, "heating") or change
    if capacity is not None:
        change = capacity * (USUAL_COP - 1) / USUAL_COP / (stored * flow_m3s)
    flows = flow_m3s * ASSUMED_HOURS * bell(ASSUMED_HARDEST) / HOURS_A_MONTH
    none = np.zeros(MONTHS)
    return _seasons(exchanger, flow_m3s, (flows, none), (change, 0.0))


def _seasons(
    exchanger: Exchanger,
    flow_m3s: float,
    flows: tuple[np.ndarray, np.ndarray],
    changes: tuple[float, float],
) -> WellSeasons:
    heating, cooling = flows
    together = np.minimum(heating + cooling, flow_m3s)
    heat = cooling * changes[1] - heating * changes[0]
    mean = np.divide(heat, heating + cooling, out=np.zeros(MONTHS), where=heating + cooling > 0)
    energy = exchanger.energy
    return WellSeasons(
        flow_m3s=flow_m3s,
        season=Season(tuple(map(float, together)), tuple(map(float, mean))),
        drop_k=float(changes[0]) if heating.any() else 0.0,
        heated=tuple(bool(flow > 0) for flow in heating),
        water_c=water_temperature(exchanger),
        years=ASSUMED_YEARS if energy is None else max(1, round(energy.years)),
        assumed=energy is None,
    )
