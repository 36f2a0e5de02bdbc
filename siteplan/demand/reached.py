"""How cold and how warm the fluid gets, where another season decides how long the loop is.

A loop that cooling makes long stays far warmer in winter than the coldest fluid it may have, and
the other way round: sought is the temperature for which the length laid out is just enough.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Final

from siteplan.demand.model import DemandError
from siteplan.demand.required import LaidOut, required_of
from siteplan.heat_balance import Direction, directions, entering_of
from siteplan.site.energy import Energy, Fluid
from siteplan.site.model import Exchanger, System

NEAR_K: Final = 0.05
"""So near to the temperature sought is near enough [K]."""
TO_SPARE: Final = 0.02
"""What rounding to whole bores and feet leaves to spare is no other season's [-]."""


def fluid_reached(
    exchanger: Exchanger, system: System, laid: LaidOut, length_m: float
) -> Fluid | None:
    """The fluid with the temperatures that a loop so long comes to; None where no length is known.

    Where a direction decides the length its temperature is the one that was asked for. What is
    found errs towards that by no more than 0.05 K.

    Parameters
    ----------
    exchanger
        What is wanted, with loads, ground and fluid.
    system
        Loop type.
    laid
        What is laid out.
    length_m
        Of all elements [m].
    """
    energy = exchanger.energy
    if energy is None:
        return None
    loop = system, laid, length_m
    ends = {way: _reached(exchanger, energy, way, loop) for way in directions(energy)}
    return replace(
        energy.fluid,
        coldest_c=ends.get("heating", energy.fluid.coldest_c),
        warmest_c=ends.get("cooling", energy.fluid.warmest_c),
    )


def _reached(
    exchanger: Exchanger, energy: Energy, way: Direction, loop: tuple[System, LaidOut, float]
) -> float:
    """Temperature entering the heat pump at the design hour of one direction [C]."""
    system, laid, length_m = loop
    allowed_c = entering_of(energy.fluid, way)

    def enough(entering_c: float, share: float = 1.0) -> bool:
        fluid = energy.fluid
        if way == "heating":
            fluid = replace(fluid, coldest_c=entering_c)
        else:
            fluid = replace(fluid, warmest_c=entering_c)
        there = replace(exchanger, energy=replace(energy, fluid=fluid, only=way))
        try:
            required = required_of(there, system, laid=laid)
        except DemandError:
            return False
        return required is not None and required.length_m <= length_m * share

    # the ground's own temperature is never reached: a length for it would have no end
    low, high = allowed_c, energy.earth.temperature_c
    if not enough(allowed_c, 1 - TO_SPARE):
        return allowed_c
    while abs(high - low) > NEAR_K:
        middle = (low + high) / 2
        low, high = (middle, high) if enough(middle) else (low, middle)
    return low
