"""What bores near one another cost in length, worked out before any of them has a place."""

from __future__ import annotations

import math
from typing import Final

import numpy as np

from siteplan.demand.bore_length import YEAR
from siteplan.demand.calculated import calculate_bores
from siteplan.demand.line_source import Line, line_response
from siteplan.errors import SitePlanError
from siteplan.layout.bores.neighbours import Neighbours
from siteplan.site.model import Exchanger

NEAREST_M: Final = 1.0
FARTHEST_M: Final = 300.0
"""Distances between which it is worked out [m]: what is farther off is not felt in 25 years."""
STEPS: Final = 48


def neighbours_of(exchanger: Exchanger) -> Neighbours | None:
    """What one bore adds to the length that another needs; None where no length is calculated.

    None also where neighbours help, or do nothing: the years give back what they take.

    The length L = (what a lone bore's pulses ask + y G / 2 pi k) / dT of ``bore_length.size_bores``
    is linear in the sum G of the neighbours' responses, for the yearly flow y and the difference dT
    between ground and fluid, but for the small change of G with the depth, which is taken at the
    greatest.
    """
    energy, vertical = exchanger.energy, exchanger.vertical
    if energy is None or exchanger.length is not None or vertical.length is not None:
        return None
    try:
        alone = calculate_bores(energy, vertical.diameter_m)
    except SitePlanError:
        return None
    year_w, earth = alone.pulses.year_w, energy.earth
    if year_w <= 0:
        return None
    line = Line(vertical.depth_most_m, energy.loop.top_m, earth.diffusivity_m2s, alone.years * YEAR)
    distances = np.geomspace(NEAREST_M, FARTHEST_M, STEPS)
    each_m = year_w / (2 * math.pi * earth.conductivity * alone.sizing.difference_k)
    longer = each_m * line_response(distances, line)
    return Neighbours(tuple(distances.tolist()), tuple(longer.tolist()))
