"""Levels around a well pair on a lot, and how far its water spreads."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.demand.well_seasons import WellSeasons
from siteplan.geometry.memory import Memory
from siteplan.groundwater.doublet import Doublet, swept
from siteplan.groundwater.drift import MONTH_S
from siteplan.groundwater.theis import Pumping, Storage, drawdown, drawdowns
from siteplan.layout.elements import Well
from siteplan.layout.outfall import Outfall
from siteplan.site.model import Site
from siteplan.site.open_loop import Aquifer

Floats = NDArray[np.float64]

YEAR_S: Final = 12 * MONTH_S
LEVEL_YEARS: Final = 3
"""Years of seasons after which levels are told: the third differs little from those before."""
DAY_S: Final = 86_400.0
FULL_FLOW_S: Final = DAY_S
"""Full flow on top of the mean of its month: a cold day; common practice, no source [s]."""
SPREAD_YEARS: Final = (1, 5, 25)
SLIVER_M: Final = 0.05
"""By how much rings between streamlines are grown to be joined [m]."""
LINE_STEP_M: Final = 2.0
RESERVE: Final = 1.5
"""The rise is told of so many times the flow as well, since wells that take water clog: as much as
312 IAC 13-8-1 asks [-]."""


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
class SpreadingWater:
    """The water of a pair, of which is worked out how far it spreads when somebody asks.

    Whether a lot holds the wells does not hang on it: a sheet draws it.

    Parameters
    ----------
    mean
        Both wells at the mean flow of the year; a supply well alone has no plume.
    aquifer
        What they stand in.
    back, supply
        Where the water returns and where it is drawn.
    seasons
        The water over a year.
    memory
        Holds what was worked out for wells that stood where they stand.
    """

    mean: Doublet
    aquifer: Aquifer
    back: Well | Outfall
    supply: Well
    seasons: WellSeasons
    memory: Memory = field(default_factory=Memory, compare=False, repr=False)

    @property
    def years(self) -> tuple[int, ...]:
        """Years after which it is told."""
        return tuple(sorted({min(year, self.seasons.years) for year in SPREAD_YEARS}))

    @property
    def farthest(self) -> BaseGeometry:
        """Plume after the last of the years."""
        return self.memory.of(_farthest_plume, self)

    @property
    def spreads(self) -> tuple[Spread, ...]:
        """Plume and capture after each of the years, as areas on the lot."""
        return self.memory.of(_spreads_of, self)

    @property
    def _times_s(self) -> tuple[float, ...]:
        return tuple(year * YEAR_S for year in self.years)

    def plumes(self) -> list[Floats]:
        """What is swept by the heat of the water returned, in the frame of the pair [m]."""
        return swept(self.mean, self._times_s)

    def captures(self) -> list[Floats]:
        """What is swept by the water that comes to the supply well, in the same frame [m]."""
        water = replace(self.mean, delay=self.aquifer.porosity)
        return swept(water, self._times_s, around="supply")

    def on_lot(self, rings: Floats) -> BaseGeometry:
        """Area within rings of the frame of the pair, on the lot."""
        back, supply = self.back, self.supply
        ahead = np.array([supply.x_m - back.x_m, supply.y_m - back.y_m]) / self.mean.separation_m
        turn = np.array([ahead, (-ahead[1], ahead[0])])
        outlines = shapely.make_valid(shapely.polygons(rings @ turn + (back.x_m, back.y_m)))
        # slivers that meet in a corner alone leave no gaps between them, and none inside
        joined = shapely.union_all(shapely.buffer(outlines, SLIVER_M)).buffer(-SLIVER_M)
        filled = [
            Polygon(part.exterior)
            for part in shapely.get_parts(joined)
            if isinstance(part, Polygon)
        ]
        return shapely.union_all(filled)


def _farthest_plume(water: SpreadingWater) -> BaseGeometry:
    return Polygon() if water.mean.alone else water.on_lot(water.plumes()[-1])


def _spreads_of(water: SpreadingWater) -> tuple[Spread, ...]:
    alone = water.mean.alone
    earlier = [] if alone else [water.on_lot(rings) for rings in water.plumes()[:-1]]
    plumes = [Polygon()] * len(water.years) if alone else [*earlier, water.farthest]
    captures = map(water.on_lot, water.captures())
    return tuple(map(Spread, water.years, plumes, captures))


def levels_of(
    site: Site,
    supply: Well,
    back: Well | None,
    seasons: WellSeasons,
    plume: Callable[[], BaseGeometry] = Polygon,
) -> Levels:
    """Fall and rise at both wells, at the wells of others and along the property line.

    Without a return well nothing rises. ``plume``: where heat of the water returned has been in
    the end; asked where there are wells of others.
    """
    wells = (supply,) if back is None else (supply, back)
    others = [
        feature
        for feature in site.of_kind("potable well", "spring")
        if feature.id != supply.existing and not feature.shape.is_empty
    ]
    at = [(feature.shape.centroid.x, feature.shape.centroid.y) for feature in others]
    line = shapely.get_coordinates(shapely.segmentize(site.parcel.exterior, LINE_STEP_M))
    edge = [(well.x_m + well.reach_m, well.y_m) for well in wells]
    places = np.array([*edge, *at, *map(tuple, line)])
    falls = _falls(site.exchanger.open.aquifer, wells, seasons, places)
    first = len(wells)
    most, least = falls.max(axis=0), falls.min(axis=0)
    nearest = [min(math.dist(place, (well.x_m, well.y_m)) for well in wells) for place in at]
    neighbours = [
        Neighbour(
            feature.id,
            distance,
            max(0.0, float(most[first + number])),
            max(0.0, -float(least[first + number])),
            _water_in(feature.level_m, feature.well_m),
            reached=bool(plume().intersects(Point(at[number]))),
        )
        for number, (feature, distance) in enumerate(zip(others, nearest, strict=True))
    ]
    rim = slice(first + len(at), None)
    return Levels(
        float(most[0]),
        0.0 if back is None else -float(least[1]),
        tuple(sorted(neighbours, key=lambda each: (each.distance_m, each.id))),
        max(0.0, float(most[rim].max())),
        max(0.0, -float(least[rim].min())),
    )


def _water_in(level_m: float | None, depth_m: float | None) -> float | None:
    return None if level_m is None or depth_m is None else max(0.0, depth_m - level_m)


def _falls(
    aquifer: Aquifer, wells: tuple[Well, ...], seasons: WellSeasons, places: Floats
) -> Floats:
    """Fall of the level at places, a column each, at the end of each month with a day's full flow.

    What is pumped and what is returned add up everywhere.
    """
    store = Storage(aquifer.transmissivity, aquifer.storativity)
    flows = seasons.season.flows_m3s * LEVEL_YEARS
    total = np.zeros((len(flows), len(places)))
    for well, sign in zip(wells, (1.0, -1.0), strict=False):
        away = np.hypot(places[:, 0] - well.x_m, places[:, 1] - well.y_m)
        away = np.maximum(away, well.reach_m)
        day = np.array([drawdown(1.0, distance, FULL_FLOW_S, store) for distance in away])
        more = np.array([seasons.flow_m3s - flow if flow > 0 else 0.0 for flow in flows])
        steps = Pumping(flows, MONTH_S)
        total += sign * (drawdowns(steps, list(away), store) + more[:, None] * day)
    return total
