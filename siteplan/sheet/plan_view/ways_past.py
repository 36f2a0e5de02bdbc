"""Leaders past a building: through one they would be taken for lines of it."""

from __future__ import annotations

from collections.abc import Iterable
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
