"""The fluid's side of an exchanger: its mean temperature, and what film and pipe resist."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from siteplan.demand.bore_resistance import wall_resistance
from siteplan.demand.ground_loads import Direction
from siteplan.demand.model import Line
from siteplan.hydraulics.film import film_resistance
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.friction import reynolds_number
from siteplan.hydraulics.pipes import Pipe, pipes
from siteplan.site.energy import Energy
from siteplan.units.heat import format_resistance, format_temperature
from siteplan.units.model import UnitSystem

WARMEST_KNOWN_C: Final = 40.0
"""Warmest fluid of the table of properties [C]."""


@dataclass(frozen=True, slots=True)
class FluidSide:
    """Fluid and pipe in one direction.

    Parameters
    ----------
    mean_c
        Mean of the fluid in the exchanger [C].
    resistance
        From the fluid to the outside of a metre of pipe [m K/W].
    reynolds
        In the circuits; None where their flow is not known yet: turbulent is assumed [-].
    """

    mean_c: float
    resistance: float
    reynolds: float | None = None


def mean_fluid(energy: Energy, direction: Direction) -> float:
    """Mean temperature of the fluid in the exchanger at the design hour [C].

    Examples
    --------
    Entering the heat pump at 0 C, cooled by 3 K in it: 1.5 K less on average.

    >>> from siteplan.site.energy import Fluid
    >>> mean_fluid(Energy(None, None, Fluid(0.0, 32.0, 3.0, 5.0), None, 25), "heating")
    -1.5
    """
    fluid = energy.fluid
    if direction == "heating":
        return fluid.coldest_c - fluid.heating_drop_k / 2
    return fluid.warmest_c + fluid.cooling_rise_k / 2


def fluid_side(
    energy: Energy, direction: Direction, pipe: Pipe, flow_m3s: float | None
) -> FluidSide:
    """Fluid and pipe of the circuits in one direction.

    Parameters
    ----------
    energy
        Fluid temperatures and mixture, and the pipe's material.
    direction
        Heating or cooling.
    pipe
        Pipe of the circuits.
    flow_m3s
        Of one circuit; None: not known, the usual film of turbulent flow [m3/s].

    Raises
    ------
    ValueError
        The fluid would freeze.
    """
    loop, mean = energy.loop, mean_fluid(energy, direction)
    ratio = pipe.outer_m / ((pipe.outer_m - pipe.inner_m) / 2)
    wall = wall_resistance(ratio, loop.pipe_conductivity)
    if flow_m3s is None or not energy.fluid.mixture:
        return FluidSide(mean, wall + loop.film_resistance)
    state = fluid_state(energy.fluid.mixture, min(mean, WARMEST_KNOWN_C))
    film = film_resistance(pipe, flow_m3s, state)
    return FluidSide(mean, wall + film, reynolds_number(pipe, flow_m3s, state))


def u_bend_pipe(energy: Energy) -> Pipe:
    """Pipe of the U-bends of bores, with the dimension ratio stated."""
    loop = energy.loop
    outer = loop.pipe_diameter_m
    size = next((known.size for known in pipes().values() if abs(known.outer_m - outer) < 1e-4), "")
    return Pipe(size, outer, outer * (1 - 2 / loop.dimension_ratio), 0.0)


def fluid_lines(
    energy: Energy, direction: Direction, side: FluidSide, unit: UnitSystem
) -> tuple[Line, ...]:
    """Fluid and pipe, line by line."""
    entering = energy.fluid.coldest_c if direction == "heating" else energy.fluid.warmest_c
    basis = f"enters the heat pump at {format_temperature(entering, unit)}"
    state = (
        "turbulent assumed" if side.reynolds is None else f"Reynolds number {side.reynolds:,.0f}"
    )
    return (
        Line("mean fluid", format_temperature(side.mean_c, unit), basis),
        Line("film and pipe wall", format_resistance(side.resistance, unit), state),
    )
