"""How wide the ground opens when a trench is dug with sloped sides.

29 CFR 1926.652(a)(1): from 5 ft a protective system is needed, unless in stable rock;
29 CFR 1926 Subpart P, App. B, Table B-1: steepest slopes, horizontal to vertical.
"""

from __future__ import annotations

import math
from typing import Final

from siteplan.site.model import HorizontalOptions
from siteplan.site.sides import SoilClass
from siteplan.units.lengths import FOOT

PROTECTED_FROM_M: Final = 5 * FOOT
"""Depth from which a trench needs a protective system, 29 CFR 1926.652(a)(1) [m]."""

SLOPES: Final[dict[SoilClass, float]] = {"stable rock": 0.0, "A": 0.75, "B": 1.0, "C": 1.5}
"""Steepest slope, horizontal to vertical, Subpart P App. B Table B-1."""


def strip_width(options: HorizontalOptions) -> float:
    """Width of ground that a trench opens at the surface [m].

    The trench's own width where it is shielded, shallower than 5 ft or in a soil not stated.

    Examples
    --------
    >>> from dataclasses import replace
    >>> deep = HorizontalOptions(9.0, 6 * FOOT, 3 * FOOT, 2, 0.0, protection="slope")
    >>> [round(strip_width(replace(deep, soil=soil)) / FOOT) for soil in ("A", "B", "C")]
    [12, 15, 21]
    """
    if options.soil is None or options.protection != "slope" or not needs_protection(options):
        return options.width_m
    return options.width_m + 2 * SLOPES[options.soil] * options.depth_m


def needs_protection(options: HorizontalOptions) -> bool:
    """Whether a trench is so deep that it needs a protective system."""
    return options.depth_m >= PROTECTED_FROM_M - 1e-9 and options.soil != "stable rock"


ENTERED_FROM_M: Final = 2 * FOOT
"""Width from which somebody finds room to stand in a trench; common practice, no source [m]."""


def too_narrow_to_enter(options: HorizontalOptions) -> bool:
    """Whether nobody, and no shield, finds room in a trench; sloped sides make room.

    Examples
    --------
    >>> [too_narrow_to_enter(HorizontalOptions(3.0, 1.8, width, 2, 0.0)) for width in (0.3, 0.61)]
    [True, False]
    """
    return strip_width(options) < ENTERED_FROM_M - 1e-9


SPOIL_SETBACK_M: Final = 2 * FOOT
"""Least distance of spoil from the edge of an excavation, 29 CFR 1926.651(j)(2) [m]."""
SWELL: Final = 1.25
"""Loose volume of soil over its volume in the ground; common practice, no source."""
REPOSE: Final = 1.5
"""Slope at which a heap rests, horizontal to vertical; common practice, no source."""


def section_area(options: HorizontalOptions) -> float:
    """Area of the section that is dug [m2].

    Examples
    --------
    >>> round(section_area(HorizontalOptions(3.0, 1.5, 0.6, 2, 0.0)), 6)
    0.9
    """
    return options.depth_m * (options.width_m + strip_width(options)) / 2


def end_volume(options: HorizontalOptions) -> float:
    """Earth that the sloped end of a trench takes beyond its line [m3].

    A wedge as wide as the bottom, and a quarter of a cone at each corner; 0 with upright sides.

    Examples
    --------
    >>> round(end_volume(HorizontalOptions(3.0, 1.5, 0.6, 2, 0.0)), 6)
    0.0
    """
    out = (strip_width(options) - options.width_m) / 2
    return options.depth_m * (out * options.width_m / 2 + math.pi * out**2 / 6)


def heap_width(options: HorizontalOptions) -> float:
    """Width of the heap of spoil beside a trench [m].

    A triangle of the loosened section at the slope at which it rests.

    Examples
    --------
    2 ft x 5 ft dug, 12.5 sq ft loose: 2.89 ft high at 1.5 to 1, 8.66 ft wide.

    >>> round(heap_width(HorizontalOptions(3.0, 5 * FOOT, 2 * FOOT, 2, 0.0)) / FOOT, 2)
    8.66
    """
    return 2 * math.sqrt(section_area(options) * SWELL * REPOSE)


def working_width(options: HorizontalOptions) -> float:
    """Width that digging one trench takes: its strip, the spoil's setback and the heap [m]."""
    return strip_width(options) + SPOIL_SETBACK_M + heap_width(options)
