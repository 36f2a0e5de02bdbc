"""Bore length required by three heat pulses: years, a month, and hours of design load.

Source: M. Philippe, M. Bernier and D. Marchio, ASHRAE Journal, July 2010, equation 1, whose
denominator is garbled in the copy that was seen: L = (qh Rb + qy Ry + qm Rm + qh Rh) /
(|Tg - Tm| - Tp). So grouped it says that temperatures add up, which a test does pulse by pulse. The
factors of the pulses are exact, those of the cylindrical source; the penalty Tp of the neighbours
comes from the finite line source at the actual positions of the bores.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.demand.cylinder_source import cylinder_response
from siteplan.demand.line_source import Line, neighbours_response
from siteplan.demand.model import DemandError
from siteplan.findings.model import reason

Floats = NDArray[np.float64]

HOUR: Final = 3600.0
DAY: Final = 24 * HOUR
MONTH: Final = 30 * DAY
YEAR: Final = 365 * DAY
PEAK_HOURS: Final = 6.0
LONGEST_M: Final = 1e6
"""No exchanger is as long [m]."""


@dataclass(frozen=True, slots=True)
class Pulses:
    """Heat flows between exchanger and ground, positive in the direction that is sized for [W].

    Parameters
    ----------
    peak_w
        Of the design hours.
    month_w
        Mean of the hardest month.
    year_w
        Mean of the year: what is drawn less what is given back.
    """

    peak_w: float
    month_w: float
    year_w: float


@dataclass(frozen=True, slots=True)
class Bed:
    """Ground and bore as the pulse equation sees them.

    Parameters
    ----------
    conductivity
        Of the ground [W/(m K)].
    diffusivity_m2s
        Of the ground [m2/s].
    bore_radius_m
        Radius of a bore [m].
    bore_resistance
        Fluid to bore wall [m K/W].
    top_m
        Depth of the upper end of the exchanging part [m].
    years
        Time for which is sized.
    """

    conductivity: float
    diffusivity_m2s: float
    bore_radius_m: float
    bore_resistance: float
    top_m: float
    years: float


@dataclass(frozen=True, slots=True)
class Sizing:
    """Length required, and what it is made of.

    Parameters
    ----------
    length_m
        All bores together [m].
    penalty_k
        What the neighbours take of the temperature difference [K]; negative where they help.
    difference_k
        Ground less mean fluid, in the direction sized for [K].
    resistances
        Of the year, month and peak pulse [m K/W].
    """

    length_m: float
    penalty_k: float
    difference_k: float
    resistances: tuple[float, float, float]


def pulse_resistances(bed: Bed) -> tuple[float, float, float]:
    """Ground resistance of the pulse of years, of the month and of the peak hours [m K/W].

    Examples
    --------
    >>> bed = Bed(2.0, 1e-6, 0.0635, 0.12, 2.0, 10)
    >>> [round(value, 6) for value in pulse_resistances(bed)]
    [0.190785, 0.179426, 0.110618]
    """
    # the pulses follow one another, the hardest last: each counts from its beginning to the end of
    # all
    times = (PEAK_HOURS * HOUR, MONTH + PEAK_HOURS * HOUR, _whole_time(bed))
    scale = bed.diffusivity_m2s / bed.bore_radius_m**2
    peak, month, years = (cylinder_response(scale * time) for time in times)
    k = bed.conductivity
    return (years - month) / k, (month - peak) / k, peak / k


def size_bores(pulses: Pulses, bed: Bed, difference_k: float, distances_m: Floats) -> Sizing:
    """Length that carries the pulses with bores at given distances from one another.

    Parameters
    ----------
    pulses
        Heat flows in the direction sized for.
    bed
        Ground and bore.
    difference_k
        Ground less mean fluid temperature in that direction [K].
    distances_m
        Distances of all pairs of bores, as ``scipy.spatial.distance.pdist`` gives them; empty for
        one bore [m].

    Raises
    ------
    ValueError
        The fluid is not colder (or warmer) than the ground, or the neighbours take the whole
        difference at any length.

    Examples
    --------
    Two bores 6 m apart, 2 m below the ground.

    >>> bed = Bed(2.0, 1e-6, 0.0635, 0.12, 2.0, 10)
    >>> found = size_bores(Pulses(8000, 4000, 1500), bed, 9.5, np.array([6.0]))
    >>> round(found.length_m, 1), round(found.penalty_k, 4)
    (317.3, 0.5209)
    """
    if difference_k <= 0:
        raise ValueError("the fluid must be colder than the ground to draw heat, or warmer.")
    years, month, peak = pulse_resistances(bed)
    load = pulses.peak_w * (bed.bore_resistance + peak)
    load += pulses.month_w * month + pulses.year_w * years
    bores = _count(len(distances_m))
    if load <= 0:
        return Sizing(0.0, 0.0, difference_k, (years, month, peak))

    def penalty(length: float) -> float:
        line = Line(length / bores, bed.top_m, bed.diffusivity_m2s, _whole_time(bed))
        added = neighbours_response(distances_m, line)
        return pulses.year_w / (2 * math.pi * bed.conductivity * length) * added

    def lacking(length: float) -> float:
        return load - length * (difference_k - penalty(length))

    alone = load / difference_k
    if len(distances_m) == 0:
        return Sizing(alone, 0.0, difference_k, (years, month, peak))
    length = _least_enough(lacking, alone)
    return Sizing(length, penalty(length), difference_k, (years, month, peak))


def _least_enough(lacking: Callable[[float], float], alone: float) -> float:
    """Length at which nothing lacks, from that of bores far from one another [m]."""
    # loads slowly, and only a calculated length needs it
    from scipy.optimize import brentq  # noqa: PLC0415

    # neighbours may also help, where the year's balance goes the other way: less is enough then
    low, high = alone / 4, alone
    while lacking(high) > 0 and high < LONGEST_M:
        high *= 2
    if high >= LONGEST_M:
        raise DemandError(reason("neighbours-take-all"))
    # the penalty depends on the depth of each bore and so on the length itself: solved, not
    # rounded round by round
    return float(brentq(lacking, low, high, xtol=1e-4)) if lacking(low) > 0 else low


def _whole_time(bed: Bed) -> float:
    return bed.years * YEAR + MONTH + PEAK_HOURS * HOUR


def _count(pairs: int) -> int:
    """Number of bores with so many pairs."""
    return round((1 + math.sqrt(1 + 8 * pairs)) / 2)
