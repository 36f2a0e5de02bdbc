"""Free convection of pond water around a pipe, also near 4 C where water is heaviest."""

from __future__ import annotations

import math
from typing import Final

from siteplan.hydraulics.film import prandtl_number
from siteplan.hydraulics.fluids import fluid_state

GRAVITY: Final = 9.80665
HEAVIEST_C: Final = 3.98
"""Temperature at which water is heaviest [C]."""


def water_density(temperature_c: float) -> float:
    """Density of pure water [kg/m3].

    G. S. Kell, Journal of Chemical and Engineering Data 20 (1975) 97-105, valid from 0 C to 150 C;
    the paper was not seen. A test compares the figures with the equation of state of water
    (IAPWS-95, by CoolProp), to 1e-5.

    Examples
    --------
    >>> round(water_density(3.98), 3), round(water_density(20.0), 2)
    (999.972, 998.2)
    """
    t = temperature_c
    above = 999.83952 + t * (
        16.945176
        + t * (-7.9870401e-3 + t * (-46.170461e-6 + t * (105.56302e-9 - 280.54253e-12 * t)))
    )
    return above / (1 + 16.879850e-3 * t)


def density_span(water_c: float, surface_c: float) -> float:
    """How far the density in the film departs from that of the water around it [kg/m3].

    Where the film passes 4 C the heaviest water in it counts too, so that two temperatures of the
    same density on both sides of 4 C do not pass for still water.

    Examples
    --------
    >>> round(density_span(10.0, 6.0), 3)
    0.241
    >>> density_span(2.0, 6.0) > 0.02
    True
    """
    low, high = sorted((water_c, surface_c))
    ends = [surface_c, *([HEAVIEST_C] if low < HEAVIEST_C < high else [])]
    return max(abs(water_density(temperature) - water_density(water_c)) for temperature in ends)


def churchill_chu(rayleigh: float, prandtl: float) -> float:
    """Nusselt number of free convection around a horizontal cylinder [-].

    S. W. Churchill and H. H. S. Chu, International Journal of Heat and Mass Transfer 18 (1975)
    1049-1053: Nu = (0.60 + 0.387 Ra^(1/6) / (1 + (0.559/Pr)^(9/16))^(8/27))^2; at rest 0.36.

    Examples
    --------
    >>> round(churchill_chu(0.69 * 2.63e9, 0.69), 4)
    139.1349
    """
    share = (1 + (0.559 / prandtl) ** (9 / 16)) ** (8 / 27)
    return float((0.60 + 0.387 * rayleigh ** (1 / 6) / share) ** 2)


def outside_film(diameter_m: float, water_c: float, surface_c: float) -> float:
    """Heat transfer coefficient between still water and a pipe in it [W/(m2 K)].

    The Rayleigh number is taken from the difference of densities, not from an expansion
    coefficient, which changes its sign at 4 C.

    Parameters
    ----------
    diameter_m
        Outer diameter of the pipe [m].
    water_c, surface_c
        Temperatures of the water and of the pipe's surface [C]; ice counts as water of 0 C.

    Examples
    --------
    >>> round(outside_film(0.0334, 10.0, 6.0))
    252
    """
    water, surface = max(water_c, 0.0), max(surface_c, 0.0)
    film = fluid_state("water", (water + surface) / 2)
    viscosity = film.viscosity / film.density
    diffusivity = film.conductivity / (film.density * film.heat_capacity)
    buoyancy = GRAVITY * density_span(water, surface) / film.density
    rayleigh = buoyancy * diameter_m**3 / (viscosity * diffusivity)
    return churchill_chu(rayleigh, prandtl_number(film)) * film.conductivity / diameter_m


def outside_resistance(diameter_m: float, water_c: float, surface_c: float) -> float:
    """Resistance between the water and a metre of pipe [m K/W]."""
    return 1.0 / (math.pi * diameter_m * outside_film(diameter_m, water_c, surface_c))
