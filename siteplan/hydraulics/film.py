"""Resistance of the film between a fluid and the inside of its pipe."""

from __future__ import annotations

import math
from typing import Final

from siteplan.hydraulics.fluids import FluidState
from siteplan.hydraulics.friction import reynolds_number
from siteplan.hydraulics.pipes import Pipe

LAMINAR: Final = 4.3636
"""Nusselt number of laminar flow at an even heat flow, 48/11: any textbook of heat transfer."""
LAMINAR_UP_TO: Final = 2300.0
TURBULENT_FROM: Final = 4000.0
"""Between these two Reynolds numbers the Nusselt number is taken linearly: V. Gnielinski,
International Journal of Heat and Mass Transfer 63 (2013) 134-140 (from memory: neither the limits
nor the straight line between them were compared with the paper or with measurements)."""


def prandtl_number(state: FluidState) -> float:
    """Prandtl number [-]."""
    return state.viscosity * state.heat_capacity / state.conductivity


def smooth_friction(reynolds: float) -> float:
    """Darcy friction factor of a smooth pipe after Petukhov, f = (0.79 ln Re - 1.64)^-2 [-]."""
    root = 0.79 * math.log(reynolds) - 1.64
    return 1.0 / (root * root)


def gnielinski(reynolds: float, prandtl: float, friction: float) -> float:
    """Nusselt number of turbulent flow [-].

    Nu = (f/8)(Re - 1000) Pr / (1 + 12.7 (f/8)^(1/2) (Pr^(2/3) - 1)), V. Gnielinski,
    International Chemical Engineering 16 (1976) 359-368.

    Examples
    --------
    >>> round(gnielinski(1e5, 1.2, 0.0185), 6)
    254.626827
    """
    eighth = friction / 8
    below = 1 + 12.7 * math.sqrt(eighth) * (prandtl ** (2 / 3) - 1)
    return float(eighth * (reynolds - 1000) * prandtl / below)


def nusselt_number(reynolds: float, prandtl: float) -> float:
    """Nusselt number inside a smooth pipe, laminar or turbulent [-].

    Examples
    --------
    >>> nusselt_number(1500, 20), round(nusselt_number(10_000, 10), 2)
    (4.3636, 90.78)
    """
    if reynolds <= LAMINAR_UP_TO:
        return LAMINAR
    bounded = max(reynolds, TURBULENT_FROM)
    turbulent = gnielinski(bounded, prandtl, smooth_friction(bounded))
    share = min(1.0, (reynolds - LAMINAR_UP_TO) / (TURBULENT_FROM - LAMINAR_UP_TO))
    return LAMINAR + share * (turbulent - LAMINAR)


def film_resistance(pipe: Pipe, flow_m3s: float, state: FluidState) -> float:
    """Resistance between a fluid and the inner wall of its pipe, for a metre of pipe [m K/W].

    1 / (pi k Nu), with k of the fluid.

    Examples
    --------
    Water of 10 C at 3 gpm in 3/4 in pipe: Reynolds number 8,450.

    >>> from siteplan.hydraulics.fluids import fluid_state
    >>> from siteplan.hydraulics.pipes import pipes
    >>> round(film_resistance(pipes()["3/4 in"], 1.8927e-4, fluid_state("water", 10.0)), 4)
    0.0072
    """
    nusselt = nusselt_number(reynolds_number(pipe, flow_m3s, state), prandtl_number(state))
    return 1.0 / (math.pi * state.conductivity * nusselt)
