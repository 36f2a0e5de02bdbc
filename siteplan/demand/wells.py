"""A well pair as it stands on a lot: levels, breakthrough, drift over the years, and the pump."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.demand.well_seasons import ASSUMED_WATER_C, WellSeasons, seasons_of
from siteplan.groundwater.doublet import (
    Doublet,
    breakthrough_s,
    first_arrival_s,
    fronts,
    share_returned,
)
from siteplan.groundwater.drift import CELLS, MONTH_S, Rock, supply_drift
from siteplan.groundwater.theis import Pumping, Storage, drawdown, drawdowns
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.friction import GRAVITY, head, pressure_drop
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Well
from siteplan.layout.model import Layout
from siteplan.site.model import Exchanger, Site
from siteplan.site.open_loop import Aquifer

Floats = NDArray[np.float64]

WATER: Final = 4.19e6
"""Volumetric heat capacity of water [J/(m3 K)]."""
GRAINS: Final = 2.0e6
"""Of the grains of an aquifer, as of quartz; common practice, no source [J/(m3 K)]."""
USUAL_CONDUCTIVITY: Final = 2.0
"""Of the ground above and below where no [ground] is stated; common practice, no source
[W/(m K)]."""
USUAL_CAPACITY: Final = 2.3e6
"""Of the same [J/(m3 K)]."""
YEAR_S: Final = 12 * MONTH_S
LEVEL_YEARS: Final = 3
"""Years of seasons after which levels are told: the third differs little from those before."""
DAY_S: Final = 86_400.0
FULL_FLOW_S: Final = DAY_S
"""Full flow on top of the mean of its month: a cold day; common practice, no source [s]."""
SPREAD_YEARS: Final = (1, 5, 25)
LINE_STEP_M: Final = 2.0
PUMP_HEAD_M: Final = 5.0
"""Of heat pump, filter and valves, on top of lift and friction; common practice, no source [m]."""
RESERVE: Final = 1.5
"""What a return well takes over what is pumped: 312 IAC 13-8-1 [-]."""


@dataclass(frozen=True, slots=True)
class Neighbour:
    """A well that others draw from.

    Parameters
    ----------
    id
        Of the feature.
    distance_m
        To the nearer of both wells [m].
    drawdown_m, rise_m
        Greatest fall and rise of its level by the pair [m].
    water_m
        Water that stands in it; None: level or depth are not known [m].
    reached
        Whether heat of the water returned comes to it within the years.
    """

    id: str
    distance_m: float
    drawdown_m: float
    rise_m: float
    water_m: float | None
    reached: bool = False


@dataclass(frozen=True, slots=True)
class Spread:
    """How far the water of a pair spreads in a time, at the mean flow of the year.

    Parameters
    ----------
    years
        After so many.
    plume
        Where heat of the water returned has been.
    capture
        From where the water comes that is pumped within the time.
    """

    years: int
    plume: BaseGeometry
    capture: BaseGeometry


@dataclass(frozen=True, slots=True)
class Levels:
    """Fall and rise of the water [m]; well losses are not in it.

    Parameters
    ----------
    supply_m, back_m
        Fall in the supply well and rise in the return well, with full flow for a day after the
        hardest month.
    neighbours
        Wells of others, the nearest first.
    line_fall_m, line_rise_m
        Greatest fall and rise anywhere along the property line.
    """

    supply_m: float
    back_m: float
    neighbours: tuple[Neighbour, ...]
    line_fall_m: float
    line_rise_m: float

    @property
    def reserve_m(self) -> float:
        """Rise in the return well with one and a half times the flow [m]."""
        return RESERVE * self.back_m


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
    spreads
        Plume and capture after 1, 5 and 25 years, or as many as are looked at.
    lift
        Of the pump; None: the level at rest is not known.
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
    spreads: tuple[Spread, ...]
    lift: Lift | None
    down_m: float

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


def study_wells(site: Site, layout: Layout, flow_m3s: float) -> WellStudy | None:
    """What is known of the well pair of a layout; None where there is none, or no flow."""
    wells = {well.role: well for well in layout.of(Well)}
    if len(wells) < 2 or flow_m3s <= 0:
        return None
    exchanger = site.exchanger
    seasons = seasons_of(exchanger, flow_m3s)
    pair = heat_pair(exchanger.open.aquifer, wells["supply"], wells["return"], flow_m3s)
    mean = _with_flow(pair, seasons.season.mean_m3s)
    ahead_s = seasons.years * YEAR_S
    spreads = _spreads(mean, exchanger.open.aquifer, wells["return"], wells["supply"], seasons)
    levels = _levels(site, wells["supply"], wells["return"], seasons, spreads[-1].plume)
    return WellStudy(
        seasons=seasons,
        pair=pair,
        still_s=breakthrough_s(pair),
        full_s=first_arrival_s(pair, ahead_s),
        season_s=first_arrival_s(mean, ahead_s),
        share=share_returned(mean, ahead_s),
        drift_k=tuple(map(float, drift_of(exchanger, pair, seasons))),
        levels=levels,
        spreads=spreads,
        lift=_lift(site, layout, levels, flow_m3s),
        down_m=_down(pair),
    )


def heat_pair(aquifer: Aquifer, supply: Well, back: Well, flow_m3s: float) -> Doublet:
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
) -> Floats:
    """How much warmer than the aquifer a pair's supply is, month by month over the years [K]."""
    energy, aquifer = exchanger.energy, exchanger.open.aquifer
    conductivity, capacity = USUAL_CONDUCTIVITY, USUAL_CAPACITY
    if energy is not None:
        conductivity = energy.earth.conductivity
        capacity = conductivity / energy.earth.diffusivity_m2s
    rock = Rock(aquifer_heat(aquifer), capacity, conductivity, WATER)
    return supply_drift(pair, seasons.season, rock, seasons.years, cells=cells)


def _with_flow(pair: Doublet, flow_m3s: float) -> Doublet:
    return Doublet(flow_m3s, pair.separation_m, pair.thickness_m, pair.delay, pair.past)


def _down(pair: Doublet) -> float:
    """How far down the groundwater's flow the return well stands from the supply well [m]."""
    speed = math.hypot(*pair.past)
    return -pair.past[0] / speed * pair.separation_m if speed else 0.0


def _spreads(
    mean: Doublet, aquifer: Aquifer, back: Well, supply: Well, seasons: WellSeasons
) -> tuple[Spread, ...]:
    """Plume and capture, as areas on the lot."""
    years = sorted({min(year, seasons.years) for year in SPREAD_YEARS})
    times = tuple(year * YEAR_S for year in years)
    water = replace(mean, delay=aquifer.porosity)
    plumes, captures = fronts(mean, times), fronts(water, times, around="supply")
    ahead = np.array([supply.x_m - back.x_m, supply.y_m - back.y_m]) / mean.separation_m
    turn = np.array([ahead, (-ahead[1], ahead[0])])

    def on_lot(ring: Floats) -> BaseGeometry:
        outline = shapely.polygons(ring @ turn + (back.x_m, back.y_m))
        return shapely.union_all(shapely.get_parts(shapely.make_valid(outline)))

    return tuple(
        Spread(year, on_lot(plume), on_lot(capture))
        for year, plume, capture in zip(years, plumes, captures, strict=True)
    )


def _levels(
    site: Site, supply: Well, back: Well, seasons: WellSeasons, plume: BaseGeometry
) -> Levels:
    """Fall and rise at both wells, at the wells of others and along the property line."""
    others = [
        feature
        for feature in site.of_kind("potable well", "spring")
        if feature.id != supply.existing and not feature.shape.is_empty
    ]
    at = [(feature.shape.centroid.x, feature.shape.centroid.y) for feature in others]
    line = shapely.get_coordinates(shapely.segmentize(site.parcel.exterior, LINE_STEP_M))
    edge = [(well.x_m + well.reach_m, well.y_m) for well in (supply, back)]
    places = np.array([*edge, *at, *map(tuple, line)])
    falls = _falls(site.exchanger.open.aquifer, (supply, back), seasons, places)
    most, least = falls.max(axis=0), falls.min(axis=0)
    nearest = [
        min(math.dist(place, (well.x_m, well.y_m)) for well in (supply, back)) for place in at
    ]
    neighbours = [
        Neighbour(
            feature.id,
            distance,
            max(0.0, float(most[2 + number])),
            max(0.0, -float(least[2 + number])),
            _water_in(feature.level_m, feature.well_m),
            reached=bool(plume.intersects(Point(at[number]))),
        )
        for number, (feature, distance) in enumerate(zip(others, nearest, strict=True))
    ]
    rim = slice(2 + len(at), None)
    return Levels(
        float(most[0]),
        -float(least[1]),
        tuple(sorted(neighbours, key=lambda each: (each.distance_m, each.id))),
        max(0.0, float(most[rim].max())),
        max(0.0, -float(least[rim].min())),
    )


def _water_in(level_m: float | None, depth_m: float | None) -> float | None:
    return None if level_m is None or depth_m is None else max(0.0, depth_m - level_m)


def _falls(
    aquifer: Aquifer, wells: tuple[Well, Well], seasons: WellSeasons, places: Floats
) -> Floats:
    """Fall of the level at places, a column each, at the end of each month with a day's full flow.

    What is pumped and what is returned add up everywhere.
    """
    store = Storage(aquifer.transmissivity, aquifer.storativity)
    flows = seasons.season.flows_m3s * LEVEL_YEARS
    total = np.zeros((len(flows), len(places)))
    for well, sign in zip(wells, (1.0, -1.0), strict=True):
        away = np.hypot(places[:, 0] - well.x_m, places[:, 1] - well.y_m)
        away = np.maximum(away, well.reach_m)
        day = np.array([drawdown(1.0, distance, FULL_FLOW_S, store) for distance in away])
        more = np.array([seasons.flow_m3s - flow if flow > 0 else 0.0 for flow in flows])
        steps = Pumping(flows, MONTH_S)
        total += sign * (drawdowns(steps, list(away), store) + more[:, None] * day)
    return total


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
