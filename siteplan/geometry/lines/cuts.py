"""Straight cuts that divide a region along the sides of its reflex corners."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import Points, polygonal, rings_of

SAME_CUT: Final = 0.5
"""Two cuts whose ends lie nearer than this count as one [m]."""


def zones_of(region: BaseGeometry, *, least_m: float, most: int) -> list[BaseGeometry]:
    """Parts of a region on either side of cuts along its longest sides at reflex corners.

    Parameters
    ----------
    region
        Polygon or multipolygon.
    least_m
        Shortest side that gives a cut [m].
    most
        Most cuts; each gives two zones.

    Examples
    --------
    >>> corner = shapely.Polygon([(0, 0), (9, 0), (9, 3), (3, 3), (3, 8), (0, 8)])
    >>> [zone.area for zone in zones_of(corner, least_m=1.0, most=2)]
    [15.0, 27.0, 24.0, 18.0]
    """
    west, south, east, north = region.bounds
    far = 2.0 * float(np.hypot(east - west, north - south))
    zones: list[BaseGeometry] = []
    cuts: list[BaseGeometry] = []
    # a corner that points inwards is what breaks rows: cut along its sides, each zone is filled in
    # the direction that suits it; long sides first, as they bound the larger zones
    for start, end in _reflex_sides(region, least_m)[: 4 * most]:
        along = (end - start) / np.hypot(*(end - start))
        cut = shapely.intersection(LineString([start - far * along, end + far * along]), region)
        if len(cuts) == most or any(cut.hausdorff_distance(known) < SAME_CUT for known in cuts):
            continue
        cuts.append(cut)
        across = np.array([-along[1], along[0]])
        for side in (-far * across, far * across):
            corners = [start - far * along, end + far * along]
            half = shapely.Polygon([*corners, corners[1] + side, corners[0] + side])
            zones.append(polygonal(shapely.intersection(region, half)))
    return [zone for zone in zones if not zone.is_empty]


def _reflex_sides(region: BaseGeometry, least_m: float) -> list[npt.NDArray[np.float64]]:
    """Sides that end at a reflex corner, the longest first, as pairs of points."""
    sides: list[tuple[float, Points]] = []
    for ring in rings_of(region):
        before, after = np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0)
        first, second = ring - before, after - ring
        turns = first[:, 0] * second[:, 1] - first[:, 1] * second[:, 0]
        for corner in np.flatnonzero(turns < 0):
            for other in (before[corner], after[corner]):
                length = float(np.hypot(*(ring[corner] - other)))
                sides.append((length, np.array([other, ring[corner]])))
    sides.sort(key=lambda side: -round(side[0], 6))
    return [pair for length, pair in sides if length >= least_m]
