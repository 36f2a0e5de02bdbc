"""Lots beside the lot on the plan: thin lines with their numbers, and nothing gives way to them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

import shapely
from shapely import LineString, Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.plan_view.features import inside_places
from siteplan.sheet.style.styles import layer
from siteplan.site.model import Site

AROUND_M: Final = 100.0
"""So far around the lot they are drawn: the rest of a farm beside it tells nothing [m]."""
SAME_M: Final = 1.0
"""Nearer to the property line, or to a line drawn before, it is that line again [m]."""
NUMBER_MM: Final = 2.05
MOST_COST: Final = 12.0
"""A number that disturbs more than this is left out."""


def lines_of_adjoining(site: Site) -> Iterator[LineString]:
    """Lines of the lots beside the lot, each once, without the lot's own [m]."""
    ground = shapely.box(*site.parcel.buffer(AROUND_M).bounds)
    drawn: BaseGeometry = site.parcel.exterior
    for each in site.adjoining:
        own = each.shape.boundary.intersection(ground).difference(drawn.buffer(SAME_M))
        merged = shapely.line_merge(own) if own.geom_type.startswith("Multi") else own
        for line in get_parts(merged):
            if isinstance(line, LineString) and line.length > SAME_M:
                yield line
        drawn = shapely.union_all([drawn, own])


def draw_adjoining(canvas: Canvas, site: Site) -> None:
    """Draw the lines of the lots beside the lot, which keep no label off."""
    for line in lines_of_adjoining(site):
        canvas.line(line.coords, "adjoining", layer("adjoining"), ink=0.5)


def label_adjoining(canvas: Canvas, site: Site) -> None:
    """Write their numbers where nothing else wants the paper."""
    areas = [feature.shape for feature in site.features if feature.shape.area]
    taken = shapely.union_all([site.parcel, *areas])
    for each in site.adjoining:
        text = " ".join(each.number.upper().split())
        seen = each.shape.intersection(canvas.window)
        free = seen.difference(taken)
        parts = [part for part in get_parts(free) if isinstance(part, Polygon) and part.area]
        if text and parts:
            label = Label((text,), NUMBER_MM, "text-adjoining", layer("adjoining"))
            largest = max(parts, key=lambda part: part.area)
            canvas.put(label, inside_places(canvas, largest, label), most=MOST_COST)
