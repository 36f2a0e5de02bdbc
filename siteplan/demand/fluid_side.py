"""The fluid's side of an exchanger: its mean temperature, and what film and pipe resist."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from siteplan.demand.bore_resistance import wall_resistance
from siteplan.findings.model import Reason, reason
from siteplan.heat_balance import Direction, HeatBalance, LoopFlow, balance_of, state_near
from siteplan.hydraulics.film import film_resistance
from siteplan.hydraulics.friction import reynolds_number
from siteplan.hydraulics.pipes import Pipe, pipes
from siteplan.hydraulics.plates import channel_film
from siteplan.site.energy import Energy
from siteplan.site.pond_bodies import PlateFrame


@dataclass(frozen=True, slots=True)
class Flows:
    """Flow of a circuit, and of all of them.

    Parameters
    ----------
    circuit_m3s
        Of one circuit; None: not known yet, the usual film of turbulent flow [m3/s].
    loop
        Of all circuits; None: as usual for the loads.
    """

    circuit_m3s: float | None = None
    loop: LoopFlow | None = None


SLUGGISH: Final = "propylene glycol 30 %"
"""Fluid of plates where none is chosen: of those in use it conducts least."""
UNKNOWN: Final = Flows()
"""Flows before there are circuits."""


@dataclass(frozen=True, slots=True)
class FluidSide:
    """Fluid and pipe in one direction.

    Parameters
    ----------
    balance
        Heat, flow and temperatures at the design hour.
    resistance
        From the fluid to the outside of a metre of pipe [m K/W].
    reynolds
        In the circuits; None where their flow is not known yet: turbulent is assumed [-].
    """

    balance: HeatBalance
    resistance: float
    reynolds: float | None = None

    @property
    def mean_c(self) -> float:
        """Mean of the fluid in the loop [C]."""
        return self.balance.mean_c


def fluid_side(energy: Energy, direction: Direction, pipe: Pipe, flows: Flows) -> FluidSide:
    """Fluid and pipe of the circuits in one direction.

    Parameters
    ----------
    energy
        Loads, fluid, and the pipe's material.
    direction
        Heating or cooling.
    pipe
        Pipe of the circuits.
    flows
        Of one circuit, and of all.
    """
    balance, loop, mixture = (
        balance_of(energy, direction, flows.loop),
        energy.loop,
        energy.fluid.mixture,
    )
    wall = wall_resistance(pipe.dimension_ratio, loop.pipe_conductivity)
    if flows.circuit_m3s is None or not mixture:
        return FluidSide(balance, wall + loop.film_resistance)
    state = state_near(mixture, balance.mean_c)
    film = film_resistance(pipe, flows.circuit_m3s, state)
    return FluidSide(balance, wall + film, reynolds_number(pipe, flows.circuit_m3s, state))


def plate_side(energy: Energy, direction: Direction, frame: PlateFrame, flows: Flows) -> FluidSide:
    """Fluid and walls of the hollow plates of a frame, of a metre of plate, in one direction.

    The flow of a circuit divides evenly among the plates of its frame; where it is not known it
    counts as laminar, and a fluid nobody has chosen as one that conducts little.
    """
    balance = balance_of(energy, direction, flows.loop)
    state = state_near(energy.fluid.mixture or SLUGGISH, balance.mean_c)
    each = None if flows.circuit_m3s is None else flows.circuit_m3s / frame.plates
    film = channel_film(frame.channel, each, state)
    both = 2 * frame.plate_height_m
    resistance = (1 / film + frame.wall_m / frame.conductivity) / both
    reynolds = None if each is None else frame.channel.reynolds(each, state)
    return FluidSide(balance, resistance, reynolds)


def u_bend_pipe(energy: Energy) -> Pipe:
    """Pipe of the U-bends of bores, with the dimension ratio stated."""
    loop = energy.loop
    outer = loop.pipe_diameter_m
    size = next((known.size for known in pipes().values() if abs(known.outer_m - outer) < 1e-4), "")
    return Pipe(size, outer, outer * (1 - 2 / loop.dimension_ratio), 0.0)


def fluid_figures(side: FluidSide, *, laminar: bool = False) -> tuple[Reason, ...]:
    """Fluid and pipe or plate, figure by figure.

    ``laminar``: what is taken for a flow that is not known; otherwise turbulent.
    """
    balance, flow = side.balance, side.balance.flow
    heat = None if flow is None else reason("heat-over-flow", flow_m3s=flow.flow_m3s)
    state = reason("laminar-assumed" if laminar else "turbulent-assumed")
    if side.reynolds is not None:
        state = reason("reynolds-number", reynolds=side.reynolds)
    return (
        reason("figure-entering", entering_c=balance.entering_c),
        reason("figure-leaving", leaving_c=balance.leaving_c, heat=heat),
        reason("figure-mean-fluid", mean_c=side.mean_c),
        reason(
            "figure-film-and-plate" if laminar else "figure-film-and-wall",
            resistance=side.resistance,
            state=state,
        ),
    )
