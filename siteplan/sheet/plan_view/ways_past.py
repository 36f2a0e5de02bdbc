"""Leaders past a building or a header: along its lines they would be taken for one of them."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import Final

import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import leader_path
from siteplan.site.model import Site

WALL_MM: Final = 0.3
"""So far into a building a leader to its wall may reach [mm]."""


def houses_of(site: Site) -> BaseGeometry:
    """All buildings of a site."""
    return shapely.union_all([one.shape for one in site.features if one.kind == "building"])


def past(
    places: Iterable[Candidate], label: Label, canvas: Canvas, houses: BaseGeometry
) -> list[Candidate]:
    """The places whose leaders pass no building; those without a leader among them."""
    walls = shapely.transform(houses, canvas.view.to_paper).buffer(-WALL_MM)
    shapely.prepare(walls)
    size = (label.width, label.height)
    return [
        place
        for place in places
        if place.leader is None or not walls.intersects(LineString(leader_path(place, *size)))
    ]


ALONG_MM: Final = 0.8
"""A leader so near to a header lies on it [mm]."""
MOST_ALONG_MM: Final = 3.5
"""More of it than this is not read as a leader [mm]: across, or at its tip, it lies on less."""


def apart(
    places: Iterable[Candidate], label: Label, canvas: Canvas, runs: Sequence[LineString]
) -> list[Candidate]:
    """The places whose leaders do not run along a header; those without a leader among them."""
    lines = [LineString(canvas.view.to_paper(run.coords)) for run in runs]
    near = shapely.union_all([line.buffer(ALONG_MM, cap_style="flat") for line in lines])
    size = (label.width, label.height)
    return [
        place
        for place in places
        if place.leader is None
        or LineString(leader_path(place, *size)).intersection(near).length <= MOST_ALONG_MM
    ]
