"""Length of trench calculated from loads, the ground's year, fluid and pipe."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.demand.calculated import rounded_up
from siteplan.demand.fluid_side import FluidSide, fluid_lines, fluid_side
from siteplan.demand.ground_loads import (
    Direction,
    directions,
    earth_lines,
    load_lines,
    pulses_of,
)
from siteplan.demand.ground_temperature import Climate, coldest, warmest
from siteplan.demand.model import Line, Required
from siteplan.demand.trench_length import PipedTrench, Soil, trench_length
from siteplan.hydraulics.pipes import Pipe
from siteplan.site.energy import Energy, GroundYear
from siteplan.site.model import HorizontalOptions
from siteplan.site.trench_kinds import trench_kinds
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
        Temperature at each pipe's depth on its hardest day [C].
    side
        Fluid and pipe.
    """

    decides: Direction
    length_m: float
    peak_w: float
    run_fraction: float
    ground_c: tuple[float, ...]
    side: FluidSide

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
    circuit_flow_m3s: float | None = None,
) -> CalculatedTrench:
    """Length of trench required, for the direction that asks for more.

    Raises
    ------
    ValueError
        The ground is not warmer (colder) than the fluid on its hardest day, the fluid would
        freeze, or a pipe lies above the ground.
    """
    soil = Soil(energy.earth.conductivity, energy.earth.diffusivity_m2s)
    seasons = []
    for way in directions(energy):
        side = fluid_side(energy, way, pipe, circuit_flow_m3s)
        trench = PipedTrench(
            trench_kinds()[options.kind],
            options.depth_m,
            options.spacing_m,
            pipe.outer_m / 2,
            side.resistance,
        )
        hardest = coldest if way == "heating" else warmest
        # each pipe on the hardest day of its own depth: the year's wave reaches the deeper one
        # weeks later, so this is on the safe side
        ground = tuple(hardest(climate, depth) for _, depth in trench.places)
        pulses = pulses_of(energy, way)
        fraction = pulses.month_w / pulses.peak_w
        signed = np.array(ground) - side.mean_c
        difference = signed if way == "heating" else -signed
        if np.mean(difference) <= 0:
            raise _no_difference(way, float(np.mean(ground)), side.mean_c)
        length = trench_length(pulses.peak_w, trench, soil, difference, run_fraction=fraction)
        seasons.append(CalculatedTrench(way, length, pulses.peak_w, fraction, ground, side))
    return max(seasons, key=lambda season: season.length_m)


def _no_difference(way: Direction, ground_c: float, fluid_c: float) -> TemperatureError:
    day, word = ("coldest", "colder") if way == "heating" else ("warmest", "warmer")
    key = "coldest" if way == "heating" else "warmest"
    return TemperatureError(
        f"on its {day} day the ground at the pipe has {{}}, and the mean fluid of {{}} is "
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
    circuit_flow_m3s: float | None = None,
) -> Required:
    """Length of trench required, with the reasoning.

    Raises
    ------
    ValueError
        As of `calculate_trench`.
    """
    calculated = calculate_trench(energy, climate, options, pipe, circuit_flow_m3s=circuit_flow_m3s)
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
    day = "coldest" if calculated.decides == "heating" else "warmest"
    fluid = format_temperature(calculated.side.mean_c, unit)
    level = "" if len(set(calculated.ground_c)) == 1 else "s, on average,"
    return (
        f"{length} calculated: {calculated.decides} decides, {peak} {verb} ground of {ground} at "
        f"the pipe{level} on its {day} day, "
        f"{format_conductivity(energy.earth.conductivity, unit)}; mean fluid {fluid}; "
        f"run fraction {calculated.run_fraction:.2f}"
    )


def _lines(
    calculated: CalculatedTrench, energy: Energy, options: HorizontalOptions, unit: UnitSystem
) -> tuple[Line, ...]:
    earth, kind = energy.earth, trench_kinds()[options.kind]
    day = "coldest" if calculated.decides == "heating" else "warmest"
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
        Line("ground at the pipes", temperatures, f"each depth's {day} day, Kusuda"),
        *earth_lines(earth, unit),
        *fluid_lines(energy, calculated.decides, calculated.side, unit),
        Line("ground less mean fluid", format_difference(calculated.difference_k, unit)),
        Line("trench", kind.name, f"{depth} deep, {spacing} apart"),
        Line(
            "drawn" if calculated.decides == "heating" else "given",
            drawn,
            "line sources and images",
        ),
        Line("trench required", length, "design hours / what a length of trench draws"),
    )
