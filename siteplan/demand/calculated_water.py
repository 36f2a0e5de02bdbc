"""Pipe in a pond, and flow of a well pair, calculated from loads and water."""

from __future__ import annotations

from typing import Final

from siteplan.demand.calculated import rounded_up
from siteplan.demand.fluid_side import UNKNOWN, Flows, FluidSide, fluid_lines, fluid_side
from siteplan.demand.ground_loads import load_lines, pulses_of
from siteplan.demand.model import Line, Required
from siteplan.demand.pond_length import PondFlow, PondPipe, pond_flow
from siteplan.heat_balance import USUAL_CHANGE_K, Direction, directions, stated_change
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.friction import flow_for
from siteplan.hydraulics.pipes import Pipe
from siteplan.site.energy import Energy
from siteplan.site.model import PondOptions
from siteplan.units.heat import format_difference, format_resistance, format_temperature
from siteplan.units.lengths import format_flow, format_power, rough_length
from siteplan.units.model import UnitSystem

LEAVES_C: Final = 0.5
"""Coldest well water that leaves a heat pump without ice in it; common practice, no source [C]."""

PondResult = tuple[float, Direction, FluidSide, PondFlow, float]


def required_pond(
    energy: Energy,
    options: PondOptions,
    pipe: Pipe,
    unit: UnitSystem,
    *,
    flows: Flows = UNKNOWN,
) -> Required:
    """Length of pipe required in a pond, with the reasoning.

    Raises
    ------
    ValueError
        The water is not warmer (colder) than the fluid, or one of them would freeze.
    """
    seasons: list[PondResult] = []
    for way in directions(energy):
        side = fluid_side(energy, way, pipe, flows)
        water = options.coldest_c if way == "heating" else options.warmest_c
        # no length of pipe helps where the water is on the wrong side of the fluid: told before
        # dividing by it
        if (water <= side.mean_c) == (way == "heating"):
            raise ValueError(_no_difference(way, water, side.mean_c, unit))
        flow = pond_flow(PondPipe(pipe.outer_m, side.resistance), water, side.mean_c)
        length = pulses_of(energy, way).peak_w / abs(flow.per_m_w)
        seasons.append((length, way, side, flow, water))
    length, way, side, flow, water = max(seasons, key=lambda season: season[0])
    needed = rough_length(length, unit, "up")
    peak = format_power(pulses_of(energy, way).peak_w, unit)
    verb = "drawn from" if way == "heating" else "given to"
    reason = (
        f"{needed} calculated: {way} decides, {peak} {verb} water of "
        f"{format_temperature(water, unit)}; mean fluid {format_temperature(side.mean_c, unit)}"
    )
    if flow.ices:
        reason += "; ice grows on the pipe"
    return Required(
        rounded_up(length),
        "calculated",
        reason,
        lines=(
            *load_lines(energy, way, unit),
            Line("water at the coils", format_temperature(water, unit), "[pond]"),
            *fluid_lines(side, unit),
            Line("surface of the pipe", format_temperature(flow.surface_c, unit), "solved for"),
            Line("fluid to water", format_resistance(flow.resistance, unit), "Churchill and Chu"),
            Line("pipe required", needed, "design hours x resistance / difference"),
        ),
    )


def _no_difference(way: Direction, water_c: float, fluid_c: float, unit: UnitSystem) -> str:
    word, other = ("warmer", "colder") if way == "heating" else ("colder", "warmer")
    return (
        f"pond water of {format_temperature(water_c, unit)} is not {word} than the mean fluid "
        f"of {format_temperature(fluid_c, unit)}; take {other} fluid."
    )


def required_flow(energy: Energy, unit: UnitSystem) -> Required:
    """Flow of well water required, with the reasoning.

    Raises
    ------
    ValueError
        The water would freeze in the heat pump.
    """
    fluid, ground = energy.fluid, energy.earth.temperature_c
    water = fluid_state("water", ground)
    seasons = []
    for way in directions(energy):
        change = stated_change(fluid, way) or USUAL_CHANGE_K[way]
        if way == "heating" and ground - change < LEAVES_C:
            raise ValueError(
                f"well water of {format_temperature(ground, unit)} would freeze when it is cooled "
                f"by {format_difference(change, unit)}; allow less ([fluid] heating_drop)."
            )
        seasons.append((flow_for(pulses_of(energy, way).peak_w, change, water), way, change))
    flow, way, change = max(seasons, key=lambda season: season[0])
    needed = format_flow(flow, unit, rounding="up")
    verb = "cooled" if way == "heating" else "warmed"
    reason = (
        f"{needed} calculated: {way} decides, water {verb} by {format_difference(change, unit)}"
    )
    return Required(
        0.0,
        "calculated",
        reason,
        flow,
        lines=(
            *load_lines(energy, way, unit),
            Line("well water", format_temperature(ground, unit), "[ground] temperature"),
            Line("change in the heat pump", format_difference(change, unit), "[fluid]"),
            Line("flow required", needed, "design hours / (density x heat capacity x change)"),
        ),
    )
