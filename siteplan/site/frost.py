"""Depth to which ground freezes, from a freezing index."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Final

from siteplan.units.heat import BTU_PER_POUND, BTU_PER_POUND_F

DAY_S: Final = 86_400.0
LATENT_J_KG: Final = 144.0 * BTU_PER_POUND
"""To freeze water: TM 5-852-6 (UFC 3-130-06) [J/kg]."""
SOIL_HEAT: Final = 0.17 * BTU_PER_POUND_F
"""Heat capacity of dry soil, there [J/(kg K)]."""
WATER_HEAT: Final = 0.75 * BTU_PER_POUND_F
"""Of its water, half frozen and half thawed, there [J/(kg K)]."""
SURFACES: Final[Mapping[str, float]] = MappingProxyType({
    "snow": 1.0, "concrete": 0.75, "asphalt": 0.7, "bare soil": 0.7, "turf": 0.5, "trees": 0.3,
})  # fmt: skip
"""Share of the air's freezing index at the surface: UFC 3-130-04, Table 4-1."""


@dataclass(frozen=True, slots=True)
class Freezing:
    """A winter, and the ground that it freezes.

    Parameters
    ----------
    index_k_days
        Freezing index of the air, of the winter designed for [K days].
    days
        Length of the freezing season [days].
    mean_c
        Mean temperature of the air over the year [C].
    conductivity
        Of the soil, mean of frozen and thawed [W/(m K)].
    density
        Dry density [kg/m3].
    water
        Water in the soil, of its dry mass [-].
    surface
        What covers the ground.
    """

    index_k_days: float
    days: float
    mean_c: float
    conductivity: float
    density: float
    water: float
    surface: str


def stefan_depth(freezing: Freezing) -> float:
    """Depth that the winter freezes where only the soil's water holds heat: the greatest [m].

    X = sqrt(2 k n FI / L).

    Examples
    --------
    2,000 F-days at the surface, 1.0 Btu/h ft F, 100 lb/ft3 with 15 % of water: 6.67 ft.

    >>> winter = Freezing(2000 / 1.8, 160, 2.9, 1.730735, 1601.846, 0.15, "snow")
    >>> round(stefan_depth(winter) / 0.3048, 2)
    6.67
    """
    surface = SURFACES[freezing.surface] * freezing.index_k_days * DAY_S
    return math.sqrt(2.0 * freezing.conductivity * surface / _latent(freezing))


def frost_depth(freezing: Freezing) -> float:
    """Depth to which the ground freezes, by the modified Berggren formula [m].

    Stefan's depth less what the heat of the soil itself keeps back, 1/sqrt(1 + mu (alpha + 1/2)):
    H. Aldrich and H. Paynter (1953), eq. 2-33, which comes out deep rather than shallow.

    Examples
    --------
    >>> winter = Freezing(2500 / 1.8, 160, 5.2 / 1.8, 0.76 * 1.730735, 1601.846, 0.15, "snow")
    >>> round(frost_depth(winter) / 0.3048, 2)
    6.01
    """
    heat = freezing.density * (SOIL_HEAT + WATER_HEAT * freezing.water)
    mean = SURFACES[freezing.surface] * freezing.index_k_days / freezing.days
    fusion = mean * heat / _latent(freezing)
    thermal = abs(freezing.mean_c) / mean
    return stefan_depth(freezing) / math.sqrt(1.0 + fusion * (thermal + 0.5))


def _latent(freezing: Freezing) -> float:
    """Heat to freeze the water in the soil [J/m3]."""
    return LATENT_J_KG * freezing.density * freezing.water
