"""Lines that distances are measured from, drawn where they lie, each with its size."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import shapely
from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.checks.model import Separation
from siteplan.geometry.offset import grow
from siteplan.rule_books.model import FROM_MACHINE
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.lot_lines import line_distances
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY
from siteplan.sheet.place.candidates import led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import HARD
from siteplan.sheet.plan_view.features import PAVED
from siteplan.sheet.plan_view.measures import (
    finish_dimension,
    left_to_right,
    reserve_dimension,
)
from siteplan.sheet.style.formats import fine_mark, short_mark
from siteplan.sheet.style.styles import layer, treatment
from siteplan.site.model import Feature, Site
from siteplan.vocabulary.kinds import kinds

ACROSS: Final = 1.05
"""Around the end of a strip no edge is drawn, in shares of half its width."""
NAME_MM: Final = 2.05
SEARCHED: Final = "WELLS LOOKED FOR UP TO THIS LINE"
AROUND_MM: Final = 16.0
"""How much of the reach of a machine is drawn around where it is measured from [mm]."""
MOST_CROSSED: Final = 130.0
"""A size that would cross more than this is left to the sheet of tables."""
LEAST_MM: Final = 4.0
"""A shorter size would be a blot [mm]."""
THROUGH_M: Final = 0.1
"""What runs so far through a building has it in its way [m]."""
ALIKE_M: Final = 0.005
"""A band that is no more wider than this at another place is as wide there [m]."""
BANDS: Final = ("street", "easement")
"""Kinds of which the width is told also where they are drawn as areas."""
SHARES: Final = (0.5, 0.35, 0.65, 0.2, 0.8)
"""Where along its side the width of a band is looked for."""


@dataclass(frozen=True, slots=True)
class Width:
    """Distance between the two edges of something: the least, at the places where it is that."""

    feature: str
    places: tuple[tuple[XY, XY], ...]

    @property
    def length_m(self) -> float:
        """The distance [m]."""
        return math.dist(*self.places[0])


def has_edges(feature: Feature) -> bool:
    """Whether a feature is known by a line and a width, and not drawn as the surface it is."""
    is_line = feature.width_m > 0.0 and feature.shape.area == 0.0
    return is_line and kinds()[feature.kind].group != PAVED


def draw_edges(canvas: Canvas, site: Site) -> None:
    """Draw the edges of what is known by a line and a width: streets, easements, streams."""
    for feature in filter(has_edges, site.features):
        half = feature.width_m / 2
        # where the line ends the strip does not: nothing is drawn across it there
        ends = feature.shape.boundary.buffer(ACROSS * half)
        edge = feature.shape.buffer(half, cap_style="flat").boundary.difference(ends)
        style = treatment(kinds()[feature.kind]).line
        # never under a label: distances are measured from it
        shown = edge.intersection(canvas.window)
        canvas.outline(shown, style, layer("edge"), ink=HARD, leader=4.0)


def draw_search(canvas: Canvas, site: Site) -> None:
    """Draw how far around the parcel wells were looked for, where the window shows all of it."""
    if site.searched_m is None:
        return
    around = grow(site.parcel, site.searched_m)
    if canvas.window.contains(around):
        canvas.outline(around, "setback", layer("search"), ink=3.0)


def label_search(canvas: Canvas, site: Site) -> None:
    """Name the line around what was searched."""
    if site.searched_m is None or not canvas.window.contains(grow(site.parcel, site.searched_m)):
        return
    label = Label((SEARCHED,), NAME_MM, "text-setback", layer("search"))
    around = grow(site.parcel, site.searched_m).boundary
    spots = [around.interpolate(share / 12, normalized=True) for share in range(12)]
    places = [
        place
        for spot in spots
        for place in led(canvas.paper((spot.x, spot.y)), label.width, label.height)
    ]
    canvas.put(label, places, most=100.0)


def reaches(content: PlanContent) -> tuple[tuple[Separation, BaseGeometry], ...]:
    """Separations measured from the reach of a machine, and the line of that reach [m]."""
    layout, reach = content.layout, content.site.exchanger.machine_reach_m
    if reach <= 0.0 or layout is None:
        return ()
    bodies = {element.id: (element.near_surface, element.reach_m) for element in layout.elements}
    if layout.header is not None:
        bodies["header"] = (shapely.MultiLineString(list(layout.header.runs)), 0.0)
    return tuple(
        (row, grow(body, own + reach).boundary)
        for row in content.separations
        if row.rule.measure in FROM_MACHINE and row.element in bodies
        for body, own in (bodies[row.element],)
    )


def draw_reaches(canvas: Canvas, content: PlanContent, drawn: list[Separation]) -> None:
    """Draw how far a machine at an element reaches, there where a distance is measured from it."""
    for separation, line in reaches(content):
        if separation in drawn:
            near = Point(separation.element_point).buffer(canvas.view.metres(AROUND_MM))
            canvas.outline(line.intersection(near), "access", layer("access"), ink=4.0)


def label_reaches(canvas: Canvas, content: PlanContent, drawn: list[Separation]) -> None:
    """Name the reach of the machine."""
    reach = content.site.exchanger.machine_reach_m
    text = f"MACHINE REACH {short_mark(reach, canvas.unit, rounding='down')}"
    for separation, line in reaches(content):
        if separation not in drawn:
            continue
        near = Point(separation.element_point).buffer(canvas.view.metres(AROUND_MM))
        label = Label((text,), NAME_MM, "text-access", layer("access"))
        part = line.intersection(near)
        spots = [part.interpolate(share, normalized=True) for share in (0.25, 0.75, 0.1, 0.9)]
        places = [
            place
            for spot in spots
            for place in led(canvas.paper((spot.x, spot.y)), label.width, label.height)
        ]
        canvas.put(label, places)


def draw_widths(canvas: Canvas, content: PlanContent) -> dict[str, str]:
    """Draw the width of everything long whose edges are known.

    Of those without room for it, the width in words by the id of the feature, for its name.
    """
    undrawn = {}
    for width in widths(content.site):
        text = fine_mark(width.length_m, canvas.unit, 1)
        seen = (ends for ends in width.places if canvas.window.contains(LineString(ends)))
        if not any(_draw_size(canvas, ends, text) for ends in seen):
            undrawn[width.feature] = f"{short_mark(width.length_m, canvas.unit, decimals=1)} WIDE"
    return undrawn


@kept
def widths(site: Site) -> tuple[Width, ...]:
    """Width of streets, easements and other lines whose edges are known, where it is measured."""
    banded = (one for one in site.features if one.kind in BANDS or has_edges(one))
    widths = (width_of(feature) for feature in banded)
    return tuple(width for width in widths if width is not None)


def width_of(feature: Feature) -> Width | None:
    """Width of a band square to its longest side; None where it has no edges."""
    shape = feature.shape
    if shape.area == 0.0:
        if feature.width_m <= 0.0 or not isinstance(shape, LineString):
            return None
        shape = shape.buffer(feature.width_m / 2, cap_style="flat")
    if not isinstance(shape, Polygon):
        return None
    spans = tuple(_across(shape))
    least = min((math.dist(*ends) for ends in spans), default=0.0)
    alike = tuple(ends for ends in spans if math.dist(*ends) < least + ALIKE_M)
    return Width(feature.id, alike) if alike else None


def _across(shape: Polygon) -> Iterator[tuple[XY, XY]]:
    """Ways across a band from its longest side, square to it."""
    corners = [(float(x), float(y)) for x, y, *_ in shape.exterior.coords]
    start, end = max(pairwise(corners), key=lambda side: math.dist(*side))
    size = math.dist(start, end)
    along = ((end[0] - start[0]) / size, (end[1] - start[1]) / size)
    inward = (-along[1], along[0]) if shape.exterior.is_ccw else (along[1], -along[0])
    for share in SHARES:
        at = (start[0] + share * size * along[0], start[1] + share * size * along[1])
        near = (at[0] + 0.01 * inward[0], at[1] + 0.01 * inward[1])
        far = (at[0] + 1e4 * inward[0], at[1] + 1e4 * inward[1])
        hit = LineString([near, far]).intersection(shape.boundary)
        ends = [(float(x), float(y)) for x, y in shapely.get_coordinates(hit)]
        if ends:
            yield at, min(ends, key=lambda other: math.dist(at, other))


def draw_building_distances(canvas: Canvas, content: PlanContent) -> None:
    """Draw how far the building stands from each line of the lot, where that crosses little.

    Through another building nobody tapes it.
    """
    for distance in line_distances(content.site):
        ends = (distance.start, distance.end)
        way = LineString(ends)
        through = way.intersection(canvas.houses).length > THROUGH_M
        if canvas.window.contains(way) and not through:
            _draw_size(canvas, ends, fine_mark(distance.length_m, canvas.unit, 1, rounding="down"))


def _draw_size(canvas: Canvas, ends: tuple[XY, XY], text: str) -> bool:
    """Draw a dimension where it is long enough and crosses little; False: it does not."""
    line = canvas.view.to_paper(ends)
    length = math.dist(*line)
    if length < LEAST_MM:
        return False
    # both ends lie on a line, which the size has to touch
    inner = [line[0] + share * (line[1] - line[0]) for share in (1.0 / length, 1.0 - 1.0 / length)]
    if canvas.placer.crossed(inner) > MOST_CROSSED:
        return False
    reserve_dimension(canvas, ends)
    finish_dimension(canvas, left_to_right(*ends, canvas.view.turn_deg), text)
    return True
