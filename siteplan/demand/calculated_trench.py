"""Length of trench calculated from loads, the ground's year, fluid and pipe."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from itertools import product
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.demand.calculated import rounded_up
from siteplan.demand.fluid_side import UNKNOWN, Flows, FluidSide, fluid_lines, fluid_side
from siteplan.demand.ground_loads import (
    HARDEST,
    HOURS_A_MONTH,
    MONTHS,
    earth_lines,
    load_lines,
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
from siteplan.demand.model import Line, Required
from siteplan.demand.trench_length import (
    PEAK_S,
    OutweighedError,
    PipedTrench,
    Soil,
    Steps,
    steady_per_metre,
    trench_length,
)
from siteplan.heat_balance import Direction, design_heat, directions
from siteplan.hydraulics.pipes import Pipe
from siteplan.site.energy import Energy, GroundYear
from siteplan.site.model import HorizontalOptions
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.days import format_day
from siteplan.units.heat import (
    TemperatureError,
    format_conductivity,
    format_difference,
    format_line_power,
    format_temperature,
)
from siteplan.units.lengths import format_length, format_power, rough_length
from siteplan.units.model import UnitSystem

Floats = NDArray[np.float64]

DESIGN_MONTHS: Final = (0, 1, 2)
"""Months after the hardest at whose end design hours are looked at."""
YEARS: Final = 5
"""Years before, of a field that has run for long: what is older has gone out at the surface."""


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
    run_fraction
        Mean flow of the hardest month over that [-].
    ground_c
        Temperature at each pipe's depth on the day of the design hours [C].
    side
        Fluid and pipe.
    day
        That day of the year.
    steady_m
        The length by the steady form of common practice [m].
    """

    decides: Direction
    length_m: float
    peak_w: float
    run_fraction: float
    ground_c: tuple[float, ...]
    side: FluidSide
    day: float
    steady_m: float

    @property
    def difference_k(self) -> float:
        """Ground less mean fluid in the direction sized for, over the pipes [K]."""
        return abs(float(np.mean(self.ground_c)) - self.side.mean_c)


def climate_of(energy: Energy, year: GroundYear) -> Climate | None:
    """The year at the surface, None where the site file does not tell enough."""
    if year.temperature_c is None or year.swing_k is None or year.coldest_day is None:
        return None
    return Climate(year.temperature_c, year.swing_k, year.coldest_day, energy.earth.diffusivity_m2s)


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
        trench = PipedTrench(
            trench_kinds()[options.kind],
            options.depth_m,
            options.spacing_m,
            pipe.outer_m / 2,
            side.resistance,
        )
        for later, first in product(DESIGN_MONTHS, (True, False)):
            flows_w = month_flows(energy, way, first=first)
            if flows_w[HARDEST + later] > 0:
                hour = Hour(later, first, flows_w)
                # the hardest month of the first season is never outweighed: its steps all rise
                with suppress(OutweighedError):
                    seasons.append(_at(hour, energy, climate, (trench, soil, side)))
    return max(seasons, key=lambda season: season.length_m)


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
    steady, fraction = _steady(energy, climate, field)
    return CalculatedTrench(way, length, peak_w, fraction, ground, side, day, steady)


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


def _no_difference(way: Direction, ground_c: float, fluid_c: float) -> TemperatureError:
    word, key = ("colder", "coldest") if way == "heating" else ("warmer", "warmest")
    return TemperatureError(
        f"at the design hours the ground at the pipe has {{}}, and the mean fluid of {{}} is "
        f"not {word}: take {word} fluid ([fluid] {key}), or dig deeper.",
        ground_c,
        fluid_c,
    )


def required_trench(
    energy: Energy,
    climate: Climate,
    options: HorizontalOptions,
    pipe: Pipe,
    unit: UnitSystem,
    *,
    flows: Flows = UNKNOWN,
) -> Required:
    """Length of trench required, with the reasoning.

    Raises
    ------
    ValueError
        As of `calculate_trench`.
    """
    calculated = calculate_trench(energy, climate, options, pipe, flows=flows)
    return Required(
        rounded_up(calculated.length_m),
        "calculated",
        _in_words(calculated, energy, unit),
        lines=_lines(calculated, energy, options, unit),
    )


def _in_words(calculated: CalculatedTrench, energy: Energy, unit: UnitSystem) -> str:
    length = rough_length(calculated.length_m, unit, "up")
    peak = format_power(calculated.peak_w, unit)
    verb = "drawn from" if calculated.decides == "heating" else "given to"
    ground = format_temperature(float(np.mean(calculated.ground_c)), unit)
    day = format_day(calculated.day)
    fluid = format_temperature(calculated.side.mean_c, unit)
    level = "" if len(set(calculated.ground_c)) == 1 else "s, on average,"
    return (
        f"{length} calculated: {calculated.decides} decides, {peak} {verb} ground of {ground} at "
        f"the pipe{level} on {day}, "
        f"{format_conductivity(energy.earth.conductivity, unit)}; mean fluid {fluid}; "
        f"run fraction {calculated.run_fraction:.2f}"
    )


def _lines(
    calculated: CalculatedTrench, energy: Energy, options: HorizontalOptions, unit: UnitSystem
) -> tuple[Line, ...]:
    earth, kind = energy.earth, trench_kinds()[options.kind]
    day = format_day(calculated.day)
    temperatures = ", ".join(
        dict.fromkeys(format_temperature(ground, unit) for ground in calculated.ground_c)
    )
    depth = format_length(options.depth_m, unit)
    spacing = format_length(options.spacing_m, unit)
    drawn = format_line_power(calculated.peak_w / calculated.length_m, unit)
    length = rough_length(calculated.length_m, unit, "up")
    return (
        *load_lines(energy, calculated.decides, unit),
        Line("run fraction F", f"{calculated.run_fraction:.2f}", "hardest month over design hours"),
        Line("ground at the pipes", temperatures, f"at each depth on {day}, Kusuda"),
        *earth_lines(earth, unit),
        *fluid_lines(calculated.side, unit),
        Line("ground less mean fluid", format_difference(calculated.difference_k, unit)),
        Line("trench", kind.name, f"{depth} deep, {spacing} apart"),
        Line(
            "drawn" if calculated.decides == "heating" else "given",
            drawn,
            "hours and months, line sources and images",
        ),
        Line("trench required", length, "design hours / what a length of trench draws"),
        Line(
            "by the steady form",
            rough_length(calculated.steady_m, unit, "up"),
            "Q (Rp + F Rs)/dT in the hardest ground of the year; for comparison",
        ),
    )
