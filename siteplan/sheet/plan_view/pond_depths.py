"""Depth of ponds on the plan: contours as drawn or between soundings, and the soundings."""

from __future__ import annotations

import math
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.ponds.bottom import bottom_of
from siteplan.sheet.kept import kept
from siteplan.site.model import Feature
from siteplan.units.lengths import to_unit
from siteplan.units.model import UnitSystem

MOST_LINES: Final = 4
"""Contours drawn between soundings, at most."""
STEPS: Final = (1.0, 2.0, 3.0, 5.0, 10.0, 20.0, 50.0)
"""Depths apart at which contours are drawn, in the unit of the sheet."""
SMOOTH_M: Final = 0.1
"""What a contour drawn between soundings may lie off its place, to have fewer corners [m]."""


@kept
def drawn_contours(pond: Feature, unit: UnitSystem) -> tuple[tuple[float, BaseGeometry], ...]:
    """Depth below the level of the survey [m], and the area so deep, of each contour drawn."""
    if pond.contours:
        return tuple((contour.depth_m, contour.shape) for contour in pond.contours)
    bottom = bottom_of(pond) if pond.survey.soundings else None
    if bottom is None:
        return ()
    drawdown = pond.survey.drawdown_m
    deepest = to_unit(bottom.deepest_m + drawdown, unit)
    step = next((each for each in STEPS if deepest / each <= MOST_LINES), STEPS[-1])
    depths = [nth * step * unit.metres for nth in range(1, math.ceil(deepest / step))]
    areas = [(depth, bottom.at_least(depth - drawdown)) for depth in depths if depth > drawdown]
    drawn = [(depth, shapely.simplify(area, SMOOTH_M)) for depth, area in areas]
    return tuple((depth, area) for depth, area in drawn if not area.is_empty)
