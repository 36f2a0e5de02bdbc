"""Where the header comes through the shore of a pond: stated by the site, or chosen."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import shapely
from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import joined_polygons
from siteplan.layout.model import Ground, Landing
from siteplan.site.model import Site

XY = tuple[float, float]

GATE_M: Final = 0.25
"""Around a shore entry the header may come through the shore [m]."""
BANK_M: Final = 0.05
"""Half the width of the ground along a shore that is closed but for its entry [m]."""
SAME_M: Final = 0.01
"""Crossings of the shore nearer than that are one [m]."""


def gated(passable: BaseGeometry, shore: BaseGeometry, entry: Point) -> BaseGeometry:
    """Ground of the header where it may come through a shore at its entry alone."""
    gate = entry.buffer(GATE_M)
    closed = shore.buffer(BANK_M).difference(gate)
    return joined_polygons(passable.difference(closed))


def landings_of(header: BaseGeometry, ground: Ground) -> tuple[Landing, ...]:
    """Where a header comes through the shore of what it enters, from west to east."""
    if ground.entered is None or ground.entered.area == 0:
        return ()
    return _landings(header, ground.entered, ground.shore_entries)


def landings_on(site: Site, runs: Sequence[LineString]) -> tuple[Landing, ...]:
    """Where a header that somebody drew comes through the shores of the ponds, likewise."""
    ponds = site.of_kind("pond")
    water = shapely.union_all([pond.shape for pond in ponds])
    at = [entry.at for pond in ponds for entry in pond.survey.shore_entries]
    return _landings(MultiLineString(list(runs)), water, [(float(p.x), float(p.y)) for p in at])


def _landings(
    header: BaseGeometry, water: BaseGeometry, stated: Sequence[XY]
) -> tuple[Landing, ...]:
    crossed = header.intersection(water.boundary)
    places: list[XY] = []
    for x, y in sorted(map(tuple, shapely.get_coordinates(crossed).tolist())):
        if all(math.dist((x, y), other) > SAME_M for other in places):
            places.append((x, y))
    reach = GATE_M + BANK_M
    return tuple(
        Landing(at, any(math.dist(at, entry) <= reach for entry in stated)) for at in places
    )
