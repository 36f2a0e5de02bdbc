"""A header that runs through all elements one after another, so that its runs to all are equal.

A reverse return is as long for every circuit only where nothing branches off. In rows close
together that takes hardly more pipe than a tree.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, MultiLineString, MultiPoint, Point

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.header.router import route_header
from siteplan.layout.model import Ground, Header
from siteplan.preferences.table import figure_of

Floats = NDArray[np.float64]

MORE: Final = figure_of("layout.header.threaded.more")
LONGER: Final = figure_of("layout.header.threaded.longer")


def threaded(
    ground: Ground, points: Floats, header: Header | None, *, step_m: float
) -> Header | None:
    """The header, or one that runs through all points in their order where it is hardly longer.

    Parameters
    ----------
    ground
        Where it may run.
    points
        In staking order: row by row, to and fro [m].
    header
        The one found without an order.
    step_m
        From point to point in a row [m].
    """
    if header is None or len(points) < 3:
        return header
    steps = np.hypot(*np.diff(points, axis=0).T)
    if steps.max() > LONGER * step_m:
        return header
    # from either end: the nearer one as a rule
    found = [one for order in (points, points[::-1]) for one in _through(ground, order, step_m)]
    best = min(found, key=lambda one: round(one.length_m, 3), default=header)
    return best if best.length_m <= MORE * header.length_m else header


def _through(ground: Ground, order: Floats, step_m: float) -> Iterator[Header]:
    """The header to the first point and through all; none where something is in its way."""
    chain = LineString(order)
    barred = shapely.union_all([feature.shape for feature in ground.marked])
    if chain.intersects(barred) or not ground.passable.buffer(TOLERANCE).covers(chain):
        return
    way = route_header(ground, [[(float(order[0][0]), float(order[0][1]))]])
    if way is None:
        return
    line = MultiLineString(list(way.runs))
    rest = chain.difference(Point(order[0]).buffer(step_m / 4))
    past = line.distance(MultiPoint(order[1:])) < step_m / 2
    if not past and not line.intersects(rest):
        yield replace(way, runs=(*way.runs, chain))
