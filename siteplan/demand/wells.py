"""A well pair as it stands on a lot: levels, breakthrough, drift over the years, and the pump."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.demand.well_levels import YEAR_S, Levels, Spread, SpreadingWater, levels_of
from siteplan.demand.well_seasons import ASSUMED_WATER_C, WellSeasons, seasons_of
from siteplan.geometry.memory import Memory
from siteplan.groundwater.doublet import (
    Doublet,
    breakthrough_s,
    first_arrival_s,
    share_returned,
)
from siteplan.groundwater.drift import CELLS, MONTHS, Rock, month_by_month
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.friction import GRAVITY, head, pressure_drop
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Well
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.site.model import Exchanger, Site
from siteplan.site.open_loop import Aquifer

Floats = NDArray[np.float64]

MOST_DRIFT_K: Final = 1.0
"""Drift of the supply from which a hydrogeologist is asked for; common practice, no source [K]."""
MOST_APART_M: Final = 300.0
"""Separation beyond which none is looked for: longer headers than a house has [m]."""
WISH_STEP_M: Final = 0.5
WISH_SHARE: Final = 0.93
"""Of the drift allowed: what a quick grid and a place not quite as wished may take [-]."""
QUICK_CELLS: Final = 8
"""Cells from well to well where many separations are tried."""
WATER: Final = 4.19e6
"""Volumetric heat capacity of water [J/(m3 K)]."""
GRAINS: Final = 2.0e6
"""Of the grains of an aquifer, as of quartz; common practice, no source [J/(m3 K)]."""
USUAL_CONDUCTIVITY: Final = 2.0
"""Of the ground above and below where no [ground] is stated; common practice, no source
[W/(m K)]."""
USUAL_CAPACITY: Final = 2.3e6
"""Of the same [J/(m3 K)]."""
PUMP_HEAD_M: Final = 5.0
"""Of heat pump, filter and valves, on top of lift and friction; common practice, no source [m]."""


@dataclass(frozen=True, slots=True)
class Lift:
    """What the well pump has to do.

    Parameters
    ----------
    level_m
        From the ground down to the water while it is pumped [m].
    friction_m
        Of the pipe from the well to the building and on to the return well [m].
    head_m
        In all [m].
    power_w
        Drawn by the pump [W].
    """

    level_m: float
    friction_m: float
    head_m: float
    power_w: float


@dataclass(frozen=True, slots=True)
class WellStudy:
    """What is known of a well pair on a lot.

    Parameters
    ----------
    seasons
        The water over a year.
    pair
        Both wells as heat sees them, at full flow.
    still_s, full_s
        Full flow until what was returned comes back, without and with the groundwater's flow;
        inf: it never does [s].
    season_s
        The same with the mean flow of the year [s].
    share
        Share of the water returned that comes back within the years, at the mean flow [-].
    drift_k
        How much warmer than the aquifer the supply is, month by month, the first season first [K].
    levels
        Fall and rise.
    water
        What spreads from one well and comes to the other.
    lift
        Of the pump; None: the level at rest is not known.
    outfall
        Id of the pond or stream that takes the water back; empty: the return well does.
    down_m
        How far down the groundwater's flow the return well stands from the supply; 0 where the
        groundwater stands still [m].
    """

    seasons: WellSeasons
    pair: Doublet
    still_s: float
    full_s: float
    season_s: float
    share: float
    drift_k: tuple[float, ...]
    levels: Levels
    water: SpreadingWater
    lift: Lift | None
    down_m: float
    outfall: str = ""

    @property
    def spreads(self) -> tuple[Spread, ...]:
        """Plume and capture after 1, 5 and 25 years, or as many as are looked at.

        A supply well alone has no plume.
        """
        return self.water.spreads

    @property
    def greatest_k(self) -> float:
        """Greatest drift of the supply, colder negative [K]."""
        return max(self.drift_k, key=abs)

    @property
    def coldest_leaving_c(self) -> float | None:
        """Coldest water that leaves the heat pump at full load; None: not known [C]."""
        water, drop = self.seasons.water_c, self.seasons.drop_k
        if water is None or not drop:
            return None
        heated = self.seasons.heated
        return water - drop + min(
            drift for month, drift in enumerate(self.drift_k) if heated[month % len(heated)]
        )  # fmt: skip


def study_wells(
    site: Site, layout: Layout, flow_m3s: float, memory: Memory | None = None
) -> WellStudy | None:
    """What is known of the well pair of a layout; None where there is none, or no flow.

    ``memory`` holds what was worked out for wells that stood where they stand.
    """
    wells = {well.role: well for well in layout.of(Well)}
    if "supply" not in wells or flow_m3s <= 0:
        return None
    exchanger = site.exchanger
    for outfall in layout.of(Outfall):
        return _study_supply(site, layout, wells["supply"], outfall, flow_m3s)
    if "return" not in wells:
        return None
    seasons = seasons_of(exchanger, flow_m3s)
    pair = heat_pair(exchanger.open.aquifer, wells["supply"], wells["return"], flow_m3s)
    mean = _with_flow(pair, seasons.season.mean_m3s)
    ahead_s = seasons.years * YEAR_S
    memory = Memory() if memory is None else memory
    known, supply, back = memory.of, wells["supply"], wells["return"]
    water = SpreadingWater(mean, exchanger.open.aquifer, back, supply, seasons, memory)
    levels = levels_of(site, supply, back, seasons, lambda: water.farthest)
    return WellStudy(
        seasons=seasons,
        pair=pair,
        still_s=breakthrough_s(pair),
        full_s=known(first_arrival_s, pair, ahead_s),
        season_s=known(first_arrival_s, mean, ahead_s),
        share=known(share_returned, mean, ahead_s),
        drift_k=known(_drifts, exchanger, pair, seasons),
        levels=levels,
        water=water,
        lift=_lift(site, layout, levels, flow_m3s),
        down_m=_down(pair),
    )


def _study_supply(
    site: Site, layout: Layout, supply: Well, outfall: Outfall, flow_m3s: float
) -> WellStudy:
    """What is known of a supply well whose water goes to a pond or stream.

    Nothing is returned to the aquifer: no water comes back, and the supply does not drift by it.
    """
    exchanger = site.exchanger
    seasons = seasons_of(exchanger, flow_m3s)
    aquifer = exchanger.open.aquifer
    pair = replace(heat_pair(aquifer, supply, outfall, flow_m3s), alone=True)
    mean = _with_flow(pair, seasons.season.mean_m3s)
    levels = levels_of(site, supply, None, seasons)
    return WellStudy(
        seasons=seasons,
        pair=pair,
        still_s=math.inf,
        full_s=math.inf,
        season_s=math.inf,
        share=0.0,
        drift_k=(0.0,) * (seasons.years * MONTHS),
        levels=levels,
        water=SpreadingWater(mean, aquifer, outfall, supply, seasons),
        lift=_lift(site, layout, levels, flow_m3s),
        down_m=0.0,
        outfall=outfall.into,
    )


def heat_pair(aquifer: Aquifer, supply: Well, back: Well | Outfall, flow_m3s: float) -> Doublet:
    """Both wells as the heat in an aquifer sees them."""
    ahead = np.array([supply.x_m - back.x_m, supply.y_m - back.y_m])
    apart = float(np.hypot(*ahead))
    ahead = ahead / apart
    flow = np.array(groundwater_flow(aquifer))
    past = (float(flow @ ahead), float(flow @ (-ahead[1], ahead[0])))
    return Doublet(flow_m3s, apart, aquifer.thickness_m, aquifer_heat(aquifer) / WATER, past)


def groundwater_flow(aquifer: Aquifer) -> tuple[float, float]:
    """Flow of the groundwater through a square metre, along x and y [m/s]."""
    speed = aquifer.transmissivity / aquifer.thickness_m * aquifer.gradient
    angle = math.radians(aquifer.direction_deg)
    return speed * math.sin(angle), speed * math.cos(angle)


def aquifer_heat(aquifer: Aquifer) -> float:
    """Volumetric heat capacity of an aquifer with its water [J/(m3 K)]."""
    return aquifer.porosity * WATER + (1 - aquifer.porosity) * GRAINS


def drift_of(
    exchanger: Exchanger, pair: Doublet, seasons: WellSeasons, cells: int = CELLS
) -> Iterator[float]:
    """How much warmer than the aquifer a pair's supply is, month by month over the years [K]."""
    energy, aquifer = exchanger.energy, exchanger.open.aquifer
    conductivity, capacity = USUAL_CONDUCTIVITY, USUAL_CAPACITY
    if energy is not None:
        conductivity = energy.earth.conductivity
        capacity = conductivity / energy.earth.diffusivity_m2s
    rock = Rock(aquifer_heat(aquifer), capacity, conductivity, WATER)
    months = month_by_month(pair, seasons.season, rock, cells=cells)
    return islice(months, seasons.years * MONTHS)


def _drifts(exchanger: Exchanger, pair: Doublet, seasons: WellSeasons) -> tuple[float, ...]:
    return tuple(drift_of(exchanger, pair, seasons))


def separation_wished(exchanger: Exchanger, flow_m3s: float) -> float:
    """Separation with which a supply drifts by no more than a kelvin over the years [m].

    The return well stands straight down the groundwater's flow. No less than is asked for, and no
    more than `MOST_APART_M`, with which it may drift by more.
    """
    options = exchanger.open
    least = options.separation_m
    if options.drift_by or flow_m3s <= 0:
        return least
    aquifer, seasons = options.aquifer, seasons_of(exchanger, flow_m3s)
    speed = math.hypot(*groundwater_flow(aquifer))
    delay = aquifer_heat(aquifer) / WATER

    def drifts(apart_m: float) -> bool:
        pair = Doublet(flow_m3s, apart_m, aquifer.thickness_m, delay, (-speed, 0.0))
        months = drift_of(exchanger, pair, seasons, QUICK_CELLS)
        return any(abs(month_k) > WISH_SHARE * MOST_DRIFT_K for month_k in months)

    most = max(MOST_APART_M, least)
    if not drifts(least):
        return least
    while most - least > WISH_STEP_M:
        middle = (least + most) / 2
        least, most = (middle, most) if drifts(middle) else (least, middle)
    return most


def _with_flow(pair: Doublet, flow_m3s: float) -> Doublet:
    return replace(pair, flow_m3s=flow_m3s)


def _down(pair: Doublet) -> float:
    """How far down the groundwater's flow the return well stands from the supply well [m]."""
    speed = math.hypot(*pair.past)
    return -pair.past[0] / speed * pair.separation_m if speed else 0.0


def _lift(site: Site, layout: Layout, levels: Levels, flow_m3s: float) -> Lift | None:
    """What the pump has to do; None where the level at rest is not known."""
    options = site.exchanger.open
    if options.level_m is None:
        return None
    level = options.level_m + levels.supply_m
    water = fluid_state("water", ASSUMED_WATER_C)
    pieces = layout.piping.pieces if layout.piping is not None else ()
    lost = sum(
        pressure_drop(pipes()[pipe.size], pipe.flow_m3s, piece.length_m, water)
        for piece in pieces
        for pipe in piece.pipes
        if pipe.size in pipes()
    )
    friction = head(lost, water)
    total = level + friction + PUMP_HEAD_M
    power = water.density * GRAVITY * flow_m3s * total / options.pump_efficiency
    return Lift(level, friction, total, power)
