"""Free convection of pond water on pipe and plates, also near 4 C where water is heaviest."""

from __future__ import annotations

from typing import Final

from siteplan.hydraulics.film import prandtl_number
from siteplan.hydraulics.fluids import FluidState, fluid_state

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
    film, per_cube = _free_convection(water_c, surface_c)
    nusselt = churchill_chu(per_cube * diameter_m**3, prandtl_number(film))
    return nusselt * film.conductivity / diameter_m


def _free_convection(water_c: float, surface_c: float) -> tuple[FluidState, float]:
    """Water in the film, and the Rayleigh number over the cube of a length [1/m3]."""
    water, surface = max(water_c, 0.0), max(surface_c, 0.0)
    film = fluid_state("water", (water + surface) / 2)
    viscosity = film.viscosity / film.density
    diffusivity = film.conductivity / (film.density * film.heat_capacity)
    buoyancy = GRAVITY * density_span(water, surface) / film.density
    return film, buoyancy / (viscosity * diffusivity)


def upright_plate(rayleigh: float, prandtl: float) -> float:
    """Nusselt number of free convection on one side of an upright plate, over its height [-].

    S. W. Churchill and H. H. S. Chu, International Journal of Heat and Mass Transfer 18 (1975)
    1323-1329 (from memory), as F. P. Incropera and D. P. DeWitt, eq. 9.26:
    Nu = (0.825 + 0.387 Ra^(1/6) / (1 + (0.492/Pr)^(9/16))^(8/27))^2.

    Examples
    --------
    >>> round(upright_plate(1.813e9, 0.690))
    147
    """
    share = (1 + (0.492 / prandtl) ** (9 / 16)) ** (8 / 27)
    return float((0.825 + 0.387 * rayleigh ** (1 / 6) / share) ** 2)


def beside_another(rayleigh: float, slenderness: float) -> float:
    """Share of a lone plate's heat that passes where plates stand side by side [-].

    A. Bar-Cohen and W. M. Rohsenow, Journal of Heat Transfer 106 (1984) 116-123, for plates of one
    temperature, as F. P. Incropera and D. P. DeWitt, eq. 9.45 and Table 9.3 (from memory):
    Nu = (576/x^2 + 2.87/x^(1/2))^(-1/2), over what the second term, the lone plate, would give.

    Parameters
    ----------
    rayleigh
        Over the clear gap between two plates [-].
    slenderness
        That gap over the height of the plates; the product of both is x [-].

    Examples
    --------
    >>> round(beside_another(1e9, 1.0), 6), round(beside_another(1e3, 0.01), 2)
    (1.0, 0.37)
    """
    x = rayleigh * slenderness
    return 0.0 if x <= 0.0 else float((1 + 576 / 2.87 * x**-1.5) ** -0.5)


def plate_film(height_m: float, gap_m: float, water_c: float, surface_c: float) -> float:
    """Heat transfer coefficient between still water and upright plates side by side [W/(m2 K)].

    Parameters
    ----------
    height_m, gap_m
        Of the plates, and of the water between two of them [m].
    water_c, surface_c
        Temperatures of the water and of the plates' surface [C]; ice counts as water of 0 C.

    Examples
    --------
    >>> round(plate_film(0.6, 0.1, 10.0, 6.0))
    203
    """
    film, per_cube = _free_convection(water_c, surface_c)
    nusselt = upright_plate(per_cube * height_m**3, prandtl_number(film))
    share = beside_another(per_cube * gap_m**3, gap_m / height_m)
    return share * nusselt * film.conductivity / height_m
