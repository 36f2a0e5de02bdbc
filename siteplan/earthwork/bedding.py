"""Sand in a trench: around each layer of pipe, with native soil between the layers.

Where pipes lie one above another, each layer has its own sand: from 3 in below to 6 in above it;
what lies between is native soil without stones. Common practice, no source.
"""

from __future__ import annotations

from typing import Final

from siteplan.earthwork.excavation import strip_width
from siteplan.site.model import HorizontalOptions
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.lengths import INCH

SAND_BELOW_M: Final = 3 * INCH
"""Sand below a pipe; common practice, no source [m]."""
SAND_ABOVE_M: Final = 6 * INCH
"""Sand above a pipe; common practice, no source [m]."""
TAPE_M: Final = 18 * INCH
"""Depth of the warning tape; common practice, no source [m]."""

Layer = tuple[float, float]
"""From one height above the bottom of a trench to another [m]."""


def sand_layers(options: HorizontalOptions) -> tuple[Layer, ...]:
    """Layers of sand in a trench, from the bottom up, none higher than the ground.

    A coil on edge lies in one layer from below its rings to above their tops.

    Examples
    --------
    Pipes stacked 3 in and 27 in above the bottom: sand to 9 in, and from 24 in to 33 in.

    >>> stacked = HorizontalOptions(3.0, 1.8, 0.3, 2, 9.0, kind="two pipes stacked")
    >>> [(round(low / INCH), round(high / INCH)) for low, high in sand_layers(stacked)]
    [(0, 9), (24, 33)]
    """
    kind = trench_kinds()[options.kind]
    rise = kind.height_m - max(above for _, above in kind.at)  # of a coil on edge
    layers: list[Layer] = []
    for above in sorted({above for _, above in kind.at}):
        low = max(0.0, above - SAND_BELOW_M)
        high = min(above + rise + SAND_ABOVE_M, options.depth_m)
        # layers that touch are one fill for the crew; counted twice, their overlap would be
        # ordered twice
        if layers and low <= layers[-1][1]:
            layers[-1] = (layers[-1][0], high)
        elif low < high:
            layers.append((low, high))
    return tuple(layers)


def width_at(options: HorizontalOptions, height_m: float) -> float:
    """Width of a trench at a height above its bottom [m].

    Examples
    --------
    Soil B slopes 1 to 1: 2 ft at the bottom, and 1 ft more on each side 1 ft up.

    >>> from siteplan.units.lengths import FOOT
    >>> wide = HorizontalOptions(3.0, 6 * FOOT, 2 * FOOT, 2, 9.0, soil="B", protection="slope")
    >>> round(width_at(wide, 1 * FOOT) / FOOT, 6)
    4.0
    """
    opening = strip_width(options) - options.width_m
    return options.width_m + opening * height_m / options.depth_m


def sand_area(options: HorizontalOptions) -> float:
    """Area of sand in the section of a trench, the pipes in it not taken off [m2].

    Examples
    --------
    One layer of 9 in over a width of 2 ft, sides upright: 1.5 sq ft.

    >>> from siteplan.units.lengths import FOOT
    >>> round(sand_area(HorizontalOptions(3.0, 5 * FOOT, 2 * FOOT, 2, 0.0)) / FOOT**2, 6)
    1.5
    """
    return sum(
        (high - low) * (width_at(options, low) + width_at(options, high)) / 2
        for low, high in sand_layers(options)
    )
