"""Temperature of undisturbed ground by depth and day of the year.

Source: T. Kusuda and P. R. Achenbach, Earth Temperature and Thermal Diffusivity at Selected
Stations in the United States, ASHRAE Transactions 71(1), 1965 (the form with the period of a year
as quoted by later works).
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

DAY: Final = 86_400.0
YEAR_DAYS: Final = 365.0
STEADY_K: Final = 1.0
"""Swing below which people may call the ground steady [K]."""


@dataclass(frozen=True, slots=True)
class Climate:
    """The year at the surface of the ground.

    Parameters
    ----------
    mean_c
        Mean temperature of the year [C].
    swing_k
        Half of the difference between the warmest and the coldest day's surface [K].
    coldest_day
        Day of the year on which the surface is coldest.
    diffusivity_m2s
        Thermal diffusivity of the ground [m2/s].
    """

    mean_c: float
    swing_k: float
    coldest_day: float
    diffusivity_m2s: float


def ground_temperature(climate: Climate, depth_m: float, day: float) -> float:
    """Temperature at a depth on a day of the year [C].

    T = Tm - A exp(-z/d) cos(2 pi (t - t0)/365 - z/d) with the damping depth d.

    Examples
    --------
    >>> climate = Climate(10.0, 12.0, 35.0, 0.05 / 86_400)
    >>> round(ground_temperature(climate, 1.5, 80.0), 4)
    3.6344
    """
    ratio = depth_m / damping_depth(climate.diffusivity_m2s)
    phase = 2 * math.pi * (day - climate.coldest_day) / YEAR_DAYS - ratio
    return climate.mean_c - climate.swing_k * math.exp(-ratio) * math.cos(phase)


def damping_depth(diffusivity_m2s: float) -> float:
    """Depth at which the year's swing has fallen to 1/e [m]."""
    return math.sqrt(diffusivity_m2s * DAY * YEAR_DAYS / math.pi)


def swing_at(climate: Climate, depth_m: float) -> float:
    """How far the temperature at a depth goes above and below its mean [K]."""
    return climate.swing_k * math.exp(-depth_m / damping_depth(climate.diffusivity_m2s))


def coldest(climate: Climate, depth_m: float) -> float:
    """Temperature of the coldest day at a depth [C]."""
    return climate.mean_c - swing_at(climate, depth_m)


def warmest(climate: Climate, depth_m: float) -> float:
    """Temperature of the warmest day at a depth [C]."""
    return climate.mean_c + swing_at(climate, depth_m)


def coldest_day_at(climate: Climate, depth_m: float) -> float:
    """Day of the year on which it is coldest at a depth; beyond 365 in the year after.

    Examples
    --------
    The cold takes about a week for every foot (common practice).

    >>> climate = Climate(15.0, 15.0, 10.0, 0.05 / 86_400)
    >>> round((coldest_day_at(climate, 1.0) - 10.0) * 0.3048, 1)
    7.3
    """
    ratio = depth_m / damping_depth(climate.diffusivity_m2s)
    return climate.coldest_day + ratio * YEAR_DAYS / (2 * math.pi)


def steady_depth(climate: Climate, swing_k: float = STEADY_K) -> float:
    """Depth from which the year's swing is no more than so many kelvin [m]."""
    if climate.swing_k <= swing_k:
        return 0.0
    return damping_depth(climate.diffusivity_m2s) * math.log(climate.swing_k / swing_k)
