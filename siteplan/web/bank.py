"""Where an outfall ends that somebody has tapped: at the bank of the nearest water."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, TypeAlias

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.errors import Fault, InputError
from siteplan.site.model import Site
from siteplan.site.readers.site_file import OUTFALL_KINDS

XY: TypeAlias = tuple[float, float]
Waters: TypeAlias = tuple[tuple[str, BaseGeometry], ...]
"""Ponds and streams by their ids."""
NEAR_BANK_M: Final = 5.0
"""What is tapped so near to the water is meant at its bank [m]."""
AT_AREA_M: Final = 0.3
"""From the outline of a pond to an outfall at its bank [m]."""
AT_LINE_M: Final = 0.75
"""From the middle of a stream to an outfall at its bank [m]."""
ON_IT_M: Final = 0.1
"""What is tapped so near to an outline lies on neither side of it [m]."""
TURNS: Final = 16
"""Directions that are looked in."""


def waters_of(site: Site | None) -> Waters:
    """Ponds and streams that an outfall may end at."""
    found = site.of_kind(*OUTFALL_KINDS) if site is not None else ()
    return tuple((each.id, each.ground) for each in found)


def at_bank(spot: XY, waters: Waters, laid: Sequence[BaseGeometry]) -> tuple[XY, str]:
    """The place at the bank of the nearest water where an outfall tapped there ends, and its id.

    What is tapped in the water or near its bank is meant at the bank; elsewhere it stays, and the
    check tells.

    Parameters
    ----------
    spot
        What was tapped [m].
    waters
        Ponds and streams.
    laid
        What is laid out: an outfall that was tapped in the middle of a stream is on its side.

    Raises
    ------
    InputError
        No pond or stream is drawn.
    """
    point = shapely.Point(spot)
    if not waters:
        words = "ends at a pond or stream, and none is drawn."
        raise InputError([Fault("An outfall", words, "Draw that first.")])
    name, water = min(waters, key=lambda each: float(each[1].distance(point)))
    if water.distance(point) > NEAR_BANK_M:
        return spot, name
    line = water.boundary if water.area > 0 else water
    foot = line.interpolate(line.project(point))
    out = -1 if water.area > 0 and water.covers(point) else 1
    x, y = np.subtract(spot, (foot.x, foot.y)) * out
    far_m = AT_AREA_M if water.area > 0 else AT_LINE_M
    ways = [math.atan2(y, x)] if math.hypot(x, y) > ON_IT_M else _ways_off(foot, water, laid)
    return (foot.x + far_m * math.cos(ways[0]), foot.y + far_m * math.sin(ways[0])), name


def _ways_off(
    foot: shapely.Point, water: BaseGeometry, laid: Sequence[BaseGeometry]
) -> list[float]:
    """Directions in which one gets off the bank, those towards what is laid out first [rad]."""
    goal = shapely.union_all(list(laid)).centroid if laid else shapely.Point(0, 0)

    def lacks(angle: float) -> tuple[float, float]:
        there = shapely.Point(foot.x + math.cos(angle), foot.y + math.sin(angle))
        return -round(float(water.distance(there)), 1), float(goal.distance(there))

    return sorted((math.tau * turn / TURNS for turn in range(TURNS)), key=lacks)
