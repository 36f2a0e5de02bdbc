"""The strips that trenches with sloped sides open, as the plan shows them."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.earthwork.excavation import strip_width
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.style.styles import layer
from siteplan.site.model import Site

STRIP_INK = 4.0
"""What a label pays for crossing the edge of a strip."""


def strips(site: Site, layout: Layout) -> BaseGeometry:
    """Ground that the trenches of a layout open beside and beyond their bottoms, all in one.

    Empty where no sides are sloped. A strip is as far from a trench's end as from its side.
    """
    options = site.exchanger.horizontal
    beyond = (strip_width(options) - options.width_m) / 2
    trenches = layout.of(Trench)
    if beyond <= TOLERANCE:
        return shapely.Polygon()
    return shapely.union_all([trench.footprint.buffer(beyond) for trench in trenches])


def draw_strips(canvas: Canvas, site: Site, layout: Layout) -> None:
    """Draw the edges of the strips, where sides are sloped."""
    edge = strips(site, layout)
    if not edge.is_empty:
        canvas.outline(edge, "strip", layer("trench-strip"), ink=STRIP_INK)
