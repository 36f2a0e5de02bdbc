"""Leaders past a building or a header: along its lines they would be taken for one of them."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.kept import kept
from siteplan.sheet.model import View
from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import FOOT_MM, LANDING_MM, box_corners, leader_paths
from siteplan.site.model import Site

WALL_MM: Final = 0.3
"""So far into a building a leader to its wall may reach [mm]."""


def houses_of(site: Site) -> BaseGeometry:
    """All buildings of a site."""
    return shapely.union_all([one.shape for one in site.features if one.kind == "building"])


def past(
    places: Iterable[Candidate], label: Label, canvas: Canvas, houses: BaseGeometry
) -> list[Candidate]:
    """The places that lie in no building, with leaders that pass none."""
    tried = list(places)
    if not tried:
        return []
    walls, size = _walls(canvas.view, houses), (label.width, label.height)
    if _all_clear(walls, tried, math.hypot(*size) / 2 + LANDING_MM + FOOT_MM):
        return tried
    boxes = shapely.polygons([box_corners(at.center, *size, at.angle_deg) for at in tried])
    through = shapely.intersects(walls, _leaders(tried, label)) | shapely.intersects(walls, boxes)
    return [place for place, crosses in zip(tried, through, strict=True) if not crosses]


def _all_clear(walls: BaseGeometry, places: Sequence[Candidate], around: float) -> bool:
    """Whether all places, with what lies so far around them and their leaders, are off the walls.

    By the boxes around all of them alone: mostly that is enough.
    """
    if walls.is_empty:
        return True
    spots = np.array([spot for place in places for spot in (place.center, place.leader) if spot])
    left, low, right, high = walls.bounds
    (west, south), (east, north) = spots.min(axis=0) - around, spots.max(axis=0) + around
    return bool(west > right or east < left or south > high or north < low)


@kept
def _walls(view: View, houses: BaseGeometry) -> BaseGeometry:
    """Buildings on paper, without the rim into which a leader to a wall may reach [mm]."""
    walls = shapely.transform(houses, view.to_paper).buffer(-WALL_MM)
    shapely.prepare(walls)
    return walls


ALONG_MM: Final = 0.8
"""A leader so near to a header lies on it [mm]."""
MOST_ALONG_MM: Final = 3.5
"""More of it than this is not read as a leader [mm]: across, or at its tip, it lies on less."""


def apart(
    places: Iterable[Candidate], label: Label, canvas: Canvas, runs: Sequence[LineString]
) -> list[Candidate]:
    """The places whose leaders do not run along a header; those without a leader among them."""
    tried = list(places)
    leaders, near = _leaders(tried, label), _beside(canvas.view, runs)
    # few touch a header at all, and only of these is asked for how long
    touching = np.flatnonzero(shapely.intersects(near, leaders))
    along = np.zeros(len(tried))
    along[touching] = shapely.length(shapely.intersection(leaders[touching], near))
    return [place for place, length in zip(tried, along, strict=True) if length <= MOST_ALONG_MM]


@kept
def _beside(view: View, runs: Sequence[LineString]) -> BaseGeometry:
    """Paper on which a leader would lie on a header [mm]."""
    lines = [LineString(view.to_paper(run.coords)) for run in runs]
    near = shapely.union_all([line.buffer(ALONG_MM, cap_style="flat") for line in lines])
    shapely.prepare(near)
    return near


def _leaders(places: Sequence[Candidate], label: Label) -> NDArray[np.object_]:
    """Leader of each place on paper; None where it has none."""
    leaders = np.full(len(places), None, dtype=object)
    led = [number for number, place in enumerate(places) if place.leader is not None]
    if led:
        own = [places[number] for number in led]
        leaders[led] = leader_paths(own, label.width, label.height, tipped=True)
    return leaders
