"""Flow between two parallel plates: the film on them, and the pressure it takes."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from siteplan.hydraulics.film import LAMINAR_UP_TO, nusselt_number, prandtl_number, smooth_friction
from siteplan.hydraulics.fluids import FluidState

LAMINAR: Final = 7.54
"""Nusselt number of laminar flow between plates of one temperature, over twice their gap; at an
even heat flow it is 8.24: R. K. Shah and A. L. London, Laminar Flow Forced Convection in Ducts
(1978), as F. P. Incropera and D. P. DeWitt, Table 8.1, have it; both from memory [-]."""
FRICTION: Final = 96.0
"""Darcy friction factor of laminar flow between plates times its Reynolds number: the same [-]."""


@dataclass(frozen=True, slots=True)
class Channel:
    """Room for the fluid within a hollow plate: between its two walls, and how high it is [m]."""

    gap_m: float
    height_m: float

    @property
    def across_m(self) -> float:
        """Hydraulic diameter of a gap far higher than it is wide: twice the gap [m]."""
        return 2 * self.gap_m

    def speed(self, flow_m3s: float) -> float:
        """Mean velocity of a flow [m/s]."""
        return flow_m3s / (self.gap_m * self.height_m)

    def reynolds(self, flow_m3s: float, state: FluidState) -> float:
        """Reynolds number of a flow [-].

        Examples
        --------
        2e-4 m3/s of water of 10 C, 0.6 m high: 2 x 2e-4 / (0.6 x 1.307e-6) = 510.

        >>> from siteplan.hydraulics.fluids import fluid_state
        >>> round(Channel(0.006, 0.6).reynolds(2e-4, fluid_state("water", 10.0)), -1)
        510.0
        """
        return state.density * self.speed(flow_m3s) * self.across_m / state.viscosity


def channel_film(channel: Channel, flow_m3s: float | None, state: FluidState) -> float:
    """Heat transfer coefficient between a fluid and the walls of a channel [W/(m2 K)].

    Laminar where the flow is not known. Turbulent flow is that of a pipe of the hydraulic diameter.

    Examples
    --------
    Water of 10 C, still laminar: 7.54 x 0.579 / 0.012.

    >>> from siteplan.hydraulics.fluids import fluid_state
    >>> round(channel_film(Channel(0.006, 0.6), None, fluid_state("water", 10.0)))
    364
    """
    nusselt = LAMINAR
    reynolds = 0.0 if flow_m3s is None else channel.reynolds(flow_m3s, state)
    if reynolds > LAMINAR_UP_TO:
        nusselt = max(nusselt, nusselt_number(reynolds, prandtl_number(state)))
    return nusselt * state.conductivity / channel.across_m


def channel_drop(channel: Channel, flow_m3s: float, length_m: float, state: FluidState) -> float:
    """Pressure that a flow loses along a channel, without what turns and ports take [Pa].

    Examples
    --------
    Laminar: 12 viscosity x length x velocity / gap^2, as between any two plates.

    >>> from siteplan.hydraulics.fluids import fluid_state
    >>> state, channel = fluid_state("water", 10.0), Channel(0.004, 0.6)
    >>> drop = channel_drop(channel, 1e-4, 2.0, state)
    >>> round(drop / (12 * state.viscosity * 2.0 * channel.speed(1e-4) / 0.004**2), 9)
    1.0
    """
    if flow_m3s <= 0.0:
        return 0.0
    reynolds = channel.reynolds(flow_m3s, state)
    factor = FRICTION / reynolds
    if reynolds > LAMINAR_UP_TO:
        factor = max(factor, smooth_friction(reynolds))
    speed = channel.speed(flow_m3s)
    return factor * length_m / channel.across_m * state.density * speed**2 / 2
