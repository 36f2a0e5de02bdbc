"""Bores that stand freely: more than straight rows hold, the nearest taken, on one short way."""

from __future__ import annotations

import numpy as np
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.memory import remembered
from siteplan.geometry.points.packing import pack_points
from siteplan.geometry.points.scanline import Floats
from siteplan.geometry.points.tours import short_tour
from siteplan.layout.block import pipe_distance
from siteplan.layout.header.router import route_header
from siteplan.layout.in_rows import Placement
from siteplan.layout.model import Ground
from siteplan.layout.way import ways_of


@remembered
def place_freely(ground: Ground, area: BaseGeometry, *, spacing_m: float, count: int) -> Placement:
    """Points anywhere in the area, as many as asked for or as were found room for.

    Of more than are asked for, those nearest to an entry by the length of pipe are taken. The
    order begins at the nearest and goes on from neighbour to neighbour. Kept for the same count
    asked for again.
    """
    # the same whatever count is asked for
    packed = ground.memory.of(pack_points, area, spacing_m, arrangement="free")
    count, capacity = min(count, len(packed)), len(packed)
    if count == 0:
        return Placement(packed[:0], None, capacity, spacing_m)
    distance = np.round(pipe_distance(packed, ways_of(ground)), 6)
    # the nearest, as there are no rows to keep full: fewer metres of header and of moving the rig
    points = packed[np.argsort(distance, kind="stable")[:count]]
    # staked and drilled in this order: without rows the order of packing would jump across the lot
    points = points[short_tour(points, start=0)]
    header = route_header(ground, [[(float(x), float(y))] for x, y in points])
    return Placement(points, header, capacity, max(spacing_m, least_step(points, spacing_m)))


def least_step(points: Floats, alone: float) -> float:
    """Distance of the nearest pair, or ``alone`` where there is no pair [m]."""
    if len(points) < 2:
        return alone
    return float(np.asarray(cKDTree(points).query(points, k=2)[0])[:, 1].min())
