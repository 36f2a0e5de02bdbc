"""Length of trench calculated from loads, the ground's year, fluid and pipe."""

from __future__ import annotations

import math
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.demand.calculated import rounded_up
from siteplan.demand.fluid_side import UNKNOWN, Flows, FluidSide, fluid_figures, fluid_side
from siteplan.demand.ground_loads import (
    HOURS_A_MONTH,
    earth_figures,
    load_figures,
    month_flows,
    pulses_of,
)
from siteplan.demand.ground_temperature import (
    YEAR_DAYS,
    Climate,
    coldest,
    ground_temperature,
    warmest,
)
from siteplan.demand.model import DemandError, Required
from siteplan.demand.trench_length import (
    PEAK_S,
    OutweighedError,
    PipedTrench,
    Soil,
    Steps,
    steady_per_metre,
    trench_length,
)
from siteplan.findings.model import Reason, reason
from siteplan.heat_balance import HARDEST, MONTHS, Direction, design_heat, directions
from siteplan.hydraulics.pipes import Pipe
from siteplan.site.energy import Energy, GroundYear
from siteplan.site.model import HorizontalOptions
from siteplan.site.trench_kinds import trench_kinds

Floats = NDArray[np.float64]

DESIGN_MONTHS: Final = (0, 1, 2)
"""Months after the hardest at whose end design hours are looked at."""
YEARS: Final = 5
"""Years before, of a field that has run for long: what is older has gone out at the surface."""
KNOWN: Final = 256
"""Calculations kept, of those asked for last."""


@dataclass(frozen=True, slots=True)
class CalculatedTrench:
    """Length of trench in the direction that decides.

    Parameters
    ----------
    decides
        Heating or cooling.
    length_m
        Of trench [m].
    peak_w
        Between exchanger and ground in the design hours [W].
    ground_c
        Temperature at each pipe's depth on the day of the design hours [C].
    side
        Fluid and pipe.
    day
        That day of the year.
    run_fraction
        Mean flow of the hardest month over the peak [-].
    steady_m
        The length by the steady form of common practice [m].
    """

    decides: Direction
    length_m: float
    peak_w: float
    ground_c: tuple[float, ...]
    side: FluidSide
    day: float
    run_fraction: float = math.nan
    steady_m: float = math.nan

    @property
    def difference_k(self) -> float:
        """Ground less mean fluid in the direction sized for, over the pipes [K]."""
        return abs(float(np.mean(self.ground_c)) - self.side.mean_c)


def climate_of(energy: Energy, year: GroundYear) -> Climate | None:
    """The year at the surface, None where the site file does not tell enough."""
    if year.temperature_c is None or year.swing_k is None or year.coldest_day is None:
        return None
    return Climate(year.temperature_c, year.swing_k, year.coldest_day, energy.earth.diffusivity_m2s)


@lru_cache(maxsize=KNOWN)
def calculate_trench(
    energy: Energy,
    climate: Climate,
    options: HorizontalOptions,
    pipe: Pipe,
    *,
    flows: Flows = UNKNOWN,
) -> CalculatedTrench:
    """Length of trench required, for the direction that asks for more.

    Raises
    ------
    ValueError
        The ground is not warmer (colder) than the fluid on its hardest day, the fluid would
        freeze, or a pipe lies above the ground.
    """
    soil = Soil(energy.earth.conductivity, energy.earth.diffusivity_m2s)
    seasons: list[CalculatedTrench] = []
    for way in directions(energy):
        side = fluid_side(energy, way, pipe, flows)
        trench = _piped(options, pipe, side)
        for later, first in product(DESIGN_MONTHS, (True, False)):
            flows_w = month_flows(energy, way, first=first)
            if flows_w[HARDEST + later] > 0:
                hour = Hour(later, first, flows_w)
                # the hardest month of the first season is never outweighed: its steps all rise
                with suppress(OutweighedError):
                    seasons.append(_at(hour, energy, climate, (trench, soil, side)))
    longest = max(seasons, key=lambda season: season.length_m)
    field = _piped(options, pipe, longest.side), soil, longest.side
    steady_m, fraction = _steady(energy, climate, field)
    return replace(longest, steady_m=steady_m, run_fraction=fraction)


def _piped(options: HorizontalOptions, pipe: Pipe, side: FluidSide) -> PipedTrench:
    kind = trench_kinds()[options.kind]
    resistance = side.resistance
    return PipedTrench(kind, options.depth_m, options.spacing_m, pipe.outer_m / 2, resistance)


@dataclass(frozen=True, slots=True)
class Hour:
    """When design hours come.

    Parameters
    ----------
    later
        Months after the hardest, at whose end they come: the ground at the pipe gets colder until
        weeks after the air.
    first
        Of the first season, in which nothing has come back yet; else of a later year.
    flows_w
        Mean flows of the months of a year, the hardest in its middle [W].
    """

    later: int
    first: bool
    flows_w: Floats


def _at(
    hour: Hour, energy: Energy, climate: Climate, field: tuple[PipedTrench, Soil, FluidSide]
) -> CalculatedTrench:
    """Length for design hours at some time.

    Parameters
    ----------
    hour
        When they come.
    energy, climate
        Loads, and the year at the surface, whose coldest day is in the middle of the hardest month.
    field
        Trench, ground, and fluid with pipe.
    """
    trench, soil, side = field
    way, flows = side.balance.direction, hour.flows_w
    end = HARDEST + hour.later
    # the design hours of a month are as hard as the month
    peak_w = design_heat(energy, way) * min(flows[end] / flows[HARDEST], 1.0)
    day = climate.coldest_day + (0.0 if way == "heating" else YEAR_DAYS / 2)
    day += (hour.later + 0.5) * YEAR_DAYS / MONTHS
    ground = tuple(ground_temperature(climate, depth, day) for _, depth in trench.places)
    signed = np.array(ground) - side.mean_c
    difference = signed if way == "heating" else -signed
    if np.mean(difference) <= 0:
        raise _no_difference(way, float(np.mean(ground)), side.mean_c)
    steps = _steps(flows, end, peak_w, first=hour.first)
    length = trench_length(peak_w, trench, soil, difference, steps)
    return CalculatedTrench(way, length, peak_w, ground, side, day)


def _steady(
    energy: Energy, climate: Climate, field: tuple[PipedTrench, Soil, FluidSide]
) -> tuple[float, float]:
    """Length by the steady form, in the coldest or warmest ground of the year, and its fraction."""
    trench, soil, side = field
    way, pulses = side.balance.direction, pulses_of(energy, side.balance.direction)
    hardest = coldest if way == "heating" else warmest
    ground = np.array([hardest(climate, depth) for _, depth in trench.places])
    difference = abs(ground - side.mean_c)
    fraction = pulses.month_w / pulses.peak_w
    return pulses.peak_w / steady_per_metre(trench, soil, difference, fraction), fraction


def _steps(flows: Floats, end: int, peak_w: float, *, first: bool) -> Steps:
    """Steps of the flow up to the design hours at the end of a month, as shares of their flow."""
    season = flows[: end + 1]
    if not first:
        season = np.concatenate((np.tile(flows, YEARS), season))
    changes = np.diff(np.concatenate(([0.0], season, [peak_w])))
    months = np.arange(len(season), 0, -1) * HOURS_A_MONTH * 3600.0
    ages = np.concatenate((months + PEAK_S, [PEAK_S]))
    return Steps(tuple(changes / peak_w), tuple(ages))


def _no_difference(way: Direction, ground_c: float, fluid_c: float) -> DemandError:
    code = "ground-not-warmer" if way == "heating" else "ground-not-colder"
    return DemandError(reason(code, ground_c=ground_c, fluid_c=fluid_c))


def required_trench(
    energy: Energy,
    climate: Climate,
    options: HorizontalOptions,
    pipe: Pipe,
    *,
    flows: Flows = UNKNOWN,
) -> Required:
    """Length of trench required, with the calculation.

    Raises
    ------
    DemandError
        As of `calculate_trench`.
    """
    calculated = calculate_trench(energy, climate, options, pipe, flows=flows)
    return Required(
        rounded_up(calculated.length_m),
        "calculated",
        _in_short(calculated, energy),
        figures=_figures(calculated, energy, climate, options),
    )


def _in_short(calculated: CalculatedTrench, energy: Energy) -> Reason:
    heating, level = calculated.decides == "heating", len(set(calculated.ground_c)) == 1
    return reason(
        "calculated-trench",
        length_m=calculated.length_m,
        decides=calculated.decides,
        peak_w=calculated.peak_w,
        way=reason("drawn-from" if heating else "given-to"),
        ground_c=float(np.mean(calculated.ground_c)),
        average=None if level else reason("on-average"),
        day=calculated.day,
        conductivity=energy.earth.conductivity,
        fluid_c=calculated.side.mean_c,
        run_fraction=calculated.run_fraction,
    )


def _figures(
    calculated: CalculatedTrench, energy: Energy, climate: Climate, options: HorizontalOptions
) -> tuple[Reason, ...]:
    grounds = tuple(reason("temperature", celsius=ground) for ground in calculated.ground_c)
    drawn = "figure-drawn" if calculated.decides == "heating" else "figure-given"
    return (
        *load_figures(energy, calculated.decides),
        reason("figure-run-fraction", run_fraction=calculated.run_fraction),
        reason(
            "figure-ground-at-pipes",
            temperatures=grounds,
            day=calculated.day,
            swing_k=climate.swing_k,
        ),
        *earth_figures(energy.earth),
        *fluid_figures(calculated.side),
        reason("figure-difference", difference_k=calculated.difference_k),
        reason(
            "figure-trench",
            kind=trench_kinds()[options.kind].name,
            depth_m=options.depth_m,
            spacing_m=options.spacing_m,
        ),
        reason(drawn, line_power_wm=calculated.peak_w / calculated.length_m),
        reason("figure-trench-required", length_m=calculated.length_m),
        reason("figure-steady-form", length_m=calculated.steady_m),
    )
