"""How far bores change the temperature of the ground at the property line."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.demand.ground_loads import pulses_of
from siteplan.demand.line_source import Floats, Line, line_response
from siteplan.heat_balance import directions
from siteplan.layout.elements import Bore
from siteplan.site.energy import Energy

SECONDS_A_YEAR: Final = 365 * 86_400.0
SEASON_S: Final = SECONDS_A_YEAR / 2
NEAREST_M: Final = 0.1
"""A point is taken to be no nearer to a bore than this [m]."""
STEP_M: Final = 1.0
"""Pieces in which the property line is looked at [m]."""


def change_at_line(energy: Energy, bores: Sequence[Bore], line: BaseGeometry) -> float:
    """Greatest change along the property line after the design years, as deep as the bores [K].

    The mean heat flow of the years, and on top of it what the hardest month has more than the
    mean, kept up for half a year: more than happens, so that the figure lies on the safe side.
    Warmer is above zero, colder below. Upright bores of one depth, ground without flow of water.

    Examples
    --------
    By hand: one bore of 100 m, 8.76 MWh a year drawn in heating alone are 1 kW, 10 W/m. At 6 m and
    2 W/(m K) after 10 years the response is 1.3259 (see `line_response`), the change
    10 / (2 pi x 2) x 1.3259 = 1.055 K colder, before what a season adds.
    """
    earth = energy.earth
    if not bores:
        return 0.0
    places = np.array([(bore.x_m, bore.y_m) for bore in bores])
    points = shapely.get_coordinates(shapely.segmentize(line, STEP_M))
    apart = np.hypot(*(points[:, None, :] - places[None, :, :]).transpose(2, 0, 1))
    depth, top = max(bore.depth_m for bore in bores), energy.loop.top_m
    changes = []
    for way in directions(energy):
        pulses, sign = pulses_of(energy, way), -1.0 if way == "heating" else 1.0
        season = max(0.0, pulses.month_w - pulses.year_w)
        flows = ((pulses.year_w, energy.years * SECONDS_A_YEAR), (season, SEASON_S))
        total: Floats = np.zeros(len(points))
        for heat_w, time_s in flows:
            at_work = Line(depth - top, top, earth.diffusivity_m2s, time_s)
            per_metre = heat_w / sum(bore.depth_m - top for bore in bores)
            response = line_response(np.maximum(apart, NEAREST_M).ravel(), at_work)
            summed = response.reshape(apart.shape).sum(axis=1)
            total += sign * per_metre / (2 * math.pi * earth.conductivity) * summed
        changes.append(float(total[np.abs(total).argmax()]))
    return max(changes, key=abs, default=0.0)
