"""Pipe in a pond, and flow of a well pair, calculated from loads and water."""

from __future__ import annotations

from typing import Final

from siteplan.demand.calculated import rounded_up
from siteplan.demand.fluid_side import (
    UNKNOWN,
    Flows,
    FluidSide,
    fluid_figures,
    fluid_side,
    plate_side,
)
from siteplan.demand.ground_loads import load_figures, pulses_of
from siteplan.demand.model import DemandError, Required
from siteplan.demand.pond_length import InWater, PondFlow, PondPipe, PondPlate, pond_flow
from siteplan.findings.model import reason
from siteplan.heat_balance import USUAL_CHANGE_K, Direction, directions, stated_change
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.friction import flow_for
from siteplan.hydraulics.pipes import Pipe
from siteplan.site.energy import Energy
from siteplan.site.model import PondOptions
from siteplan.site.pond_bodies import PlateFrame

LEAVES_C: Final = 0.5
"""Coldest well water that leaves a heat pump without ice in it; common practice, no source [C]."""

PondResult = tuple[float, Direction, FluidSide, PondFlow, float]


def required_pond(
    energy: Energy,
    options: PondOptions,
    pipe: Pipe,
    *,
    flows: Flows = UNKNOWN,
) -> Required:
    """Length of pipe, or of plate, required in a pond, with the calculation.

    Raises
    ------
    DemandError
        The water is not warmer (colder) than the fluid, or one of them would freeze.
    """
    seasons: list[PondResult] = []
    for way in directions(energy):
        side, wet = _in_water(energy, way, options, pipe, flows)
        water = options.coldest_c if way == "heating" else options.warmest_c
        # no length of pipe helps where the water is on the wrong side of the fluid: told before
        # dividing by it
        if (water <= side.mean_c) == (way == "heating"):
            raise _no_difference(way, water, side.mean_c)
        flow = pond_flow(wet, water, side.mean_c)
        length = pulses_of(energy, way).peak_w / abs(flow.per_m_w)
        seasons.append((length, way, side, flow, water))
    length, way, side, flow, water = max(seasons, key=lambda season: season[0])
    heating, plates = way == "heating", isinstance(options.body, PlateFrame)
    surface, needed = {"surface_c": flow.surface_c}, {"length_m": length}
    short = reason(
        "calculated-pond-pipe",
        length_m=length,
        decides=way,
        peak_w=pulses_of(energy, way).peak_w,
        way=reason("drawn-from" if heating else "given-to"),
        water_c=water,
        fluid_c=side.mean_c,
        ice=reason("ice-on-plates" if plates else "ice-on-pipe") if flow.ices else None,
    )
    return Required(
        rounded_up(length),
        "calculated",
        short,
        figures=(
            *load_figures(energy, way),
            reason("figure-water-at-coils", water_c=water, thing=options.words.short),
            *fluid_figures(side, laminar=plates),
            reason("figure-plate-surface" if plates else "figure-pipe-surface", **surface),
            reason("figure-fluid-to-water", resistance=flow.resistance),
            reason("figure-plate-required" if plates else "figure-pipe-required", **needed),
        ),
    )


def _in_water(
    energy: Energy, way: Direction, options: PondOptions, pipe: Pipe, flows: Flows
) -> tuple[FluidSide, InWater]:
    """The fluid's side, and what lies in the water: pipe of coils or mats, or plates."""
    frame = options.body
    if isinstance(frame, PlateFrame):
        side = plate_side(energy, way, frame, flows)
        return side, PondPlate(frame.plate_height_m, frame.gap_m, side.resistance)
    side = fluid_side(energy, way, pipe, flows)
    return side, PondPipe(pipe.outer_m, side.resistance)


def _no_difference(way: Direction, water_c: float, fluid_c: float) -> DemandError:
    code = "water-not-warmer" if way == "heating" else "water-not-colder"
    return DemandError(reason(code, water_c=water_c, fluid_c=fluid_c))


def required_flow(energy: Energy, water_c: float | None = None) -> Required:
    """Flow of well water required, with the calculation.

    Parameters
    ----------
    energy
        Loads and ground.
    water_c
        Of the aquifer, where it is stated apart from the ground [C].

    Raises
    ------
    DemandError
        The water would freeze in the heat pump.
    """
    fluid = energy.fluid
    ground = energy.earth.temperature_c if water_c is None else water_c
    water = fluid_state("water", ground)
    seasons = []
    for way in directions(energy):
        change = stated_change(fluid, way) or USUAL_CHANGE_K[way]
        # colder water than this builds ice on the plates before the mean of it freezes
        if way == "heating" and ground - change < LEAVES_C:
            raise DemandError(reason("well-water-would-freeze", water_c=ground, change_k=change))
        seasons.append((flow_for(pulses_of(energy, way).peak_w, change, water), way, change))
    # one pump serves both seasons: the greater flow sizes the wells
    flow, way, change = max(seasons, key=lambda season: season[0])
    short = reason(
        "calculated-well-flow",
        flow_m3s=flow,
        decides=way,
        change=reason("cooled" if way == "heating" else "warmed"),
        change_k=change,
    )
    return Required(
        0.0,
        "calculated",
        short,
        flow,
        figures=(
            *load_figures(energy, way),
            reason("figure-well-water", water_c=ground),
            reason("figure-change", change_k=change),
            reason("figure-flow-required", flow_m3s=flow),
        ),
    )
