"""How wide the ground opens when a trench is dug with sloped sides.

29 CFR 1926.652(a)(1): from 5 ft a protective system is needed, unless in stable rock;
29 CFR 1926 Subpart P, App. B, Table B-1: steepest slopes, horizontal to vertical.
"""

from __future__ import annotations

from typing import Final

from siteplan.site.model import HorizontalOptions, SoilClass
from siteplan.units import FOOT

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
