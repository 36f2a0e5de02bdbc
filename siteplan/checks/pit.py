"""Whether a header pit is large enough, on the header, clear of loops and of what exists."""

from __future__ import annotations

import math
from collections.abc import Iterator

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.checks.opened import opened_ground
from siteplan.findings.model import Finding
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Layout
from siteplan.layout.pit import PIT, PIT_GAP_M, PIT_SIDE_M, HeaderPit
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds


def pit_findings(site: Site, layout: Layout) -> Iterator[Finding]:
    """What is wrong with the pit of a header, but for distances that rules ask."""
    header = layout.header
    if header is None or header.pit is None:
        return
    outline, least = header.pit.outline, min(_sides(header.pit))
    if least < PIT_SIDE_M - TOLERANCE:
        yield Finding("pit-too-small", subject=PIT, measured_m=least, required_m=PIT_SIDE_M)
    runs = shapely.MultiLineString(list(header.runs))
    away = float(runs.distance(outline))
    if away > TOLERANCE:
        yield Finding("pit-off-header", subject=PIT, measured_m=away)
    yield from _near_loops(layout, outline)
    for feature in site.features:
        if kinds()[feature.kind].crossing != "free" and feature.ground.intersects(outline):
            values = {"feature": feature.id, "kind": feature.kind}
            yield Finding("pit-on-feature", subject=PIT, values=values)


def _sides(pit: HeaderPit) -> list[float]:
    """Sides of the least rectangle around a pit [m]."""
    # millions of metres from the origin the rectangle is off by hundredths of a millimetre
    near = shapely.transform(pit.outline, lambda places: places - places[0])
    corners = shapely.get_coordinates(near.minimum_rotated_rectangle)
    return [math.dist(corners[place], corners[place + 1]) for place in (0, 1)]


def _near_loops(layout: Layout, outline: BaseGeometry) -> Iterator[Finding]:
    """Loops and crossovers from which a pit does not keep enough undug ground."""
    dug = [(element.id, opened_ground(element), element.reach_m) for element in layout.elements]
    dug += [(each.id, each.line, each.width_m / 2) for each in layout.crossovers]
    for name, shape, reach in dug:
        gap = max(0.0, float(shape.distance(outline)) - reach)
        if gap < PIT_GAP_M - TOLERANCE:
            values = {"element": name}
            yield Finding(
                "pit-near-loop", subject=PIT, measured_m=gap, required_m=PIT_GAP_M, values=values
            )
