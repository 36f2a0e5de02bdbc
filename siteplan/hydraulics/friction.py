"""Reynolds number, pressure drop and pumping power of flow in a pipe."""

from __future__ import annotations

from typing import Final

from siteplan.hydraulics.fluids import FluidState
from siteplan.hydraulics.pipes import Pipe

ROUGHNESS_M: Final = 1.5e-6
"""Of polyethylene; common practice, no source [m]."""
GRAVITY: Final = 9.80665
TURBULENT: Final = 2500.0
"""Reynolds number from which a circuit is taken for turbulent; common practice, no source."""
PURGE_VELOCITY: Final = 0.6096
"""Velocity that carries air out of a loop: 2 ft/s, common practice, no source [m/s]."""


def velocity(pipe: Pipe, flow_m3s: float) -> float:
    """Mean velocity of a flow in a pipe [m/s]."""
    return flow_m3s / pipe.area_m2


def reynolds_number(pipe: Pipe, flow_m3s: float, state: FluidState) -> float:
    """Reynolds number of a flow in a pipe [-]."""
    return state.density * velocity(pipe, flow_m3s) * pipe.inner_m / state.viscosity


def pressure_drop(pipe: Pipe, flow_m3s: float, length_m: float, state: FluidState) -> float:
    """Pressure drop of a flow along a pipe [Pa].

    Darcy-Weisbach with the friction factor of S. W. Churchill, Chemical Engineering 84 (1977)
    91-92, which runs smoothly from laminar to turbulent; by the library ``fluids``.
    """
    if flow_m3s <= 0.0 or length_m <= 0.0:
        return 0.0
    from fluids.friction import Churchill_1977  # noqa: PLC0415 - it loads slowly, and only here

    factor = Churchill_1977(reynolds_number(pipe, flow_m3s, state), ROUGHNESS_M / pipe.inner_m)
    speed = velocity(pipe, flow_m3s)
    return float(factor * length_m / pipe.inner_m * state.density * speed**2 / 2)


def head(pressure_pa: float, state: FluidState) -> float:
    """Pressure as height of the fluid [m]."""
    return pressure_pa / (state.density * GRAVITY)


def purge_flow(pipe: Pipe) -> float:
    """Flow that carries air out of a pipe: 2 ft/s, common practice, no source [m3/s]."""
    return PURGE_VELOCITY * pipe.area_m2


def flow_for(heat_w: float, difference_k: float, state: FluidState) -> float:
    """Flow that carries a heat flow at a temperature difference [m3/s]."""
    return heat_w / (state.density * state.heat_capacity * difference_k)
