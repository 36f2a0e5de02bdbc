"""Length of pipe, or of hollow plate, that a load requires in a pond.

Three resistances in a row: the film within, the wall, and the free convection of the water around
it, which depends on the temperature of the surface and is solved for it.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Protocol

from siteplan.demand.water import outside_film, plate_film

STEP_K = 1e-6
"""Difference below which two temperatures are one [K]."""


class InWater(Protocol):
    """What heat passes through between the fluid and the water of a pond."""

    @property
    def inside_resistance(self) -> float:
        """From the fluid to the outer surface, film and wall, of a metre [m K/W]."""

    def outside(self, water_c: float, surface_c: float) -> float:
        """What passes between the water and a metre of it, for each kelvin [W/(m K)]."""


@dataclass(frozen=True, slots=True)
class PondPipe:
    """A pipe in the water.

    Parameters
    ----------
    outer_m
        Diameter [m].
    inside_resistance
        From the fluid to the outer surface, film and wall, of a metre [m K/W].
    """

    outer_m: float
    inside_resistance: float

    def outside(self, water_c: float, surface_c: float) -> float:
        """What passes between the water and a metre of pipe, for each kelvin [W/(m K)]."""
        return outside_film(self.outer_m, water_c, surface_c) * math.pi * self.outer_m


@dataclass(frozen=True, slots=True)
class PondPlate:
    """A hollow plate upright in the water, beside others.

    Parameters
    ----------
    height_m, gap_m
        Of the plate, and of the water between it and the next [m].
    inside_resistance
        From the fluid to both outer surfaces, film and wall, of a metre [m K/W].
    """

    height_m: float
    gap_m: float
    inside_resistance: float

    def outside(self, water_c: float, surface_c: float) -> float:
        """What passes between the water and both sides of a metre of plate [W/(m K)]."""
        return plate_film(self.height_m, self.gap_m, water_c, surface_c) * 2 * self.height_m


@dataclass(frozen=True, slots=True)
class PondFlow:
    """What a metre of pipe or plate draws from the water.

    Parameters
    ----------
    per_m_w
        Heat flow of a metre, positive from water to fluid [W/m].
    surface_c
        Temperature of the outer surface [C].
    resistance
        From the fluid to the water [m K/W].
    """

    per_m_w: float
    surface_c: float
    resistance: float

    @property
    def ices(self) -> bool:
        """Whether ice grows on it."""
        return self.surface_c < 0.0


def pond_flow(pipe: InWater, water_c: float, fluid_c: float) -> PondFlow:
    """What a metre of pipe or plate draws from water of one temperature for a fluid of another.

    Ice on it counts as water of 0 C at its surface.

    Raises
    ------
    ValueError
        Water and fluid have the same temperature, or the water would be ice.

    Examples
    --------
    Water of 10 C, fluid of 2 C, 1 in pipe: the surface settles between them.

    >>> found = pond_flow(PondPipe(0.0334, 0.09), 10.0, 2.0)
    >>> round(found.surface_c, 1), round(found.per_m_w, 1)
    (7.5, 61.1)
    """
    if water_c < 0.0:
        raise ValueError(f"pond water of {water_c:.1f} C would be ice.")
    if abs(water_c - fluid_c) < STEP_K:
        raise ValueError("the fluid must be colder than the water to draw heat, or warmer.")

    # loads slowly, and only a calculated length needs it
    from scipy.optimize import brentq  # noqa: PLC0415

    def surplus(surface_c: float) -> float:
        outside = pipe.outside(water_c, surface_c)
        return outside * (water_c - surface_c) - (surface_c - fluid_c) / pipe.inside_resistance

    low, high = sorted((water_c, fluid_c))
    surface = float(brentq(surplus, low, high, xtol=1e-9))
    resistance = pipe.inside_resistance + 1.0 / pipe.outside(water_c, surface)
    return PondFlow((water_c - fluid_c) / resistance, surface, resistance)


def pond_length(heat_w: float, pipe: InWater, water_c: float, fluid_c: float) -> float:
    """Length of pipe or plate for a heat flow, in either direction [m].

    Raises
    ------
    ValueError
        Water and fluid have the same temperature, or the water would be ice.
    """
    return heat_w / abs(pond_flow(pipe, water_c, fluid_c).per_m_w)
