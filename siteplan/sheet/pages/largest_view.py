"""The window on the plan at the largest scale, north turned where that gains one."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Point, Polygon

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY, Paper, View
from siteplan.sheet.pages.strip import StripPlan
from siteplan.sheet.plan_view.measured_lines import width_of
from siteplan.sheet.plan_view.measures import dimensioned
from siteplan.sheet.style.paper import scale_label, scale_ratios, strip_widths

LABEL_MARGIN_MM: Final = 9.0
"""Paper kept free around the parcel for its bearings and distances [mm]."""
LEAST_WIDTH_MM: Final = 60.0
"""A narrower window shows no plan [mm]."""
EDGE_MM: Final = 3.0
"""Paper kept free beyond the far edge of a street [mm]."""
FACING: Final = 1.5
"""A corner faces a street that is at most so many times as far from it as from the nearest one."""
NEAR_M: Final = 30.0
"""A street or a well so near the parcel is shown (100 ft: Virginia 12VAC5-630-271(B)(6)) [m]."""
TURN_STEP_DEG: Final = 5
"""Of the turns of north that are tried [deg]."""
ASKEW: Final = 3.0
"""A lot that lies askew on the sheet by a degree is as bad as so many degrees of turn."""
MOST_ASKEW_DEG: Final = 20.0
"""A lot that lies still more askew is hard to read [deg]."""
MOST_TURN_DEG: Final = 90
"""North never points downwards [deg]."""


def largest_view(content: PlanContent, page: Paper, plan: StripPlan) -> View | None:
    """The window beside the strip, at the scale asked for or the largest at which the lot fits.

    North points upwards unless a turn gains a scale; then it is turned little, and the lot lies
    along the sheet rather than askew.
    """
    margin = page.margin_mm
    width = page.width_mm - 2 * margin - plan.width_mm
    height = page.height_mm - 2 * margin
    if width < LEAST_WIDTH_MM:
        return None
    unit, asked = content.site.unit, content.site.sheet.scale
    for ratio in (asked,) if asked else content.site.sheet.scales or scale_ratios(unit):
        room = _room(page, width, height, ratio)
        for turn, extent in _extents(content):
            if _fits(extent, room):
                metres = ratio * page.enlargement / 1000.0
                spare = (LABEL_MARGIN_MM - EDGE_MM) * metres
                center = _turned_back(_center(extent, room, _edges(content, turn), spare), turn)
                on_small = ratio * page.enlargement
                label = scale_label(ratio, unit)
                return View(on_small, label, margin, margin, width, height, center, turn)
    return None


def no_room(content: PlanContent, page: Paper) -> str:
    """Why the plan is not drawn on a paper, and what would help."""
    asked, unit = content.site.sheet.scale, content.site.unit
    if asked is None:
        return f"[sheet] size: the lot does not fit on {page.name} at any scale; take larger paper."
    width = page.width_mm - 2 * page.margin_mm - 2 * strip_widths()[1]
    height = page.height_mm - 2 * page.margin_mm
    for ratio in scale_ratios(unit):
        room = _room(page, width, height, ratio)
        if ratio > asked and any(_fits(extent, room) for _, extent in _extents(content)):
            break
    else:
        return (
            f"[sheet] scale: the lot does not fit on {page.name} at any scale; take larger paper."
        )
    return (
        f"[sheet] scale: the lot does not fit on {page.name} at {scale_label(asked, unit)}; "
        f"the largest scale that does is {scale_label(ratio, unit)}."
    )


Extent = tuple[float, float, float, float]


def _room(page: Paper, width_mm: float, height_mm: float, ratio: float) -> XY:
    """Width and height of the ground that a window has room for [m]."""
    metres = ratio * page.enlargement / 1000.0
    return (width_mm - 2 * LABEL_MARGIN_MM) * metres, (height_mm - 2 * LABEL_MARGIN_MM) * metres


def _fits(extent: Extent, room: XY) -> bool:
    west, south, east, north = extent
    return east - west <= room[0] and north - south <= room[1]


def _turned_back(middle: XY, turn_deg: float) -> XY:
    """Model point of one in axes that are turned with the view [m]."""
    x, y = middle
    if not turn_deg:
        return x, y
    angle = math.radians(turn_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    return x * cosine + y * sine, y * cosine - x * sine


def _center(extent: Extent, room: XY, edges: Extent, spare: float) -> XY:
    """Middle of the window: that of an extent, moved where the room lets it show edges as well.

    ``spare``: by how much the room for edges, which have no labels beyond them, is wider to each
    side than that for the extent [m]. Along an axis without room for both the extent decides.
    """
    center = []
    for axis, size in enumerate(room):
        low, high = extent[axis], extent[axis + 2]
        first, last = edges[axis], edges[axis + 2]
        least = max(high - size / 2, last - size / 2 - spare)
        most = min(low + size / 2, first + size / 2 + spare)
        middle = (low + high) / 2
        center.append(min(max(middle, least), most) if least <= most else middle)
    return center[0], center[1]


@kept
def _edges(content: PlanContent, turn_deg: float) -> Extent:
    """Bounds of what must be on the plan and of the far edges of streets near it, as turned [m]."""
    points = np.array([*_shown(content), *_far_edges(content)])
    low, high = _turned(points, turn_deg)
    return float(low[0]), float(low[1]), float(high[0]), float(high[1])


def _far_edges(content: PlanContent) -> Iterator[XY]:
    """The far edge of each street near the parcel, across from the corners that face it [m]."""
    corners = np.array([Point(at) for at in content.site.parcel.exterior.coords])
    for feature in content.site.of_kind("street"):
        apart, width = shapely.distance(corners, feature.shape), width_of(feature)
        nearest = float(apart.min())
        if width is None or not 0.0 < nearest < NEAR_M:
            continue
        # of a street given by its middle line the nearest place is half of it away
        beyond = width.length_m / (1 if feature.shape.area else 2)
        for corner in corners[apart < FACING * nearest]:
            start, end = shapely.get_coordinates(shapely.shortest_line(corner, feature.shape))
            x, y = end + (end - start) * (beyond / math.dist(start, end))
            yield float(x), float(y)


def _turned(points: npt.NDArray[np.float64], turn_deg: float) -> tuple[list[float], list[float]]:
    """Lowest and highest coordinates of points as turned [m]."""
    angle = math.radians(turn_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    turned = points @ np.array([[cosine, sine], [-sine, cosine]])
    return turned.min(axis=0).tolist(), turned.max(axis=0).tolist()


@kept
def _extents(content: PlanContent) -> tuple[tuple[float, Extent], ...]:
    """Bounds of what must be on the plan as turned, upright first."""
    shown = shapely.MultiPoint(_shown(content))
    upright: tuple[float, Extent] = (0.0, shown.bounds)
    if not content.site.sheet.turned:
        return (upright,)
    points = shapely.get_coordinates(shown)
    turned = []
    for turn in _turns(content.site.parcel):
        (west, south), (east, north) = _turned(points, turn)
        turned.append((turn, (west, south, east, north)))
    return (upright, *turned)


def _turns(parcel: Polygon) -> list[float]:
    """Turns of north, those first that are small and lay the lot along the sheet [deg]."""
    edges = shapely.get_coordinates(parcel.minimum_rotated_rectangle)
    dx, dy = (edges[1] - edges[0]).tolist()
    square = -math.degrees(math.atan2(dy, dx)) % 90.0
    aligned = {round(square - quarter, 2) for quarter in (0.0, 90.0)}
    # a lot that lies straight is turned by a whole quarter to either side
    aligned |= {-turn for turn in aligned if abs(turn) == MOST_TURN_DEG}
    steps = range(-MOST_TURN_DEG, MOST_TURN_DEG + 1, TURN_STEP_DEG)
    turns = {*aligned, *(float(step) for step in steps)} - {0.0}

    def askew(turn: float) -> float:
        off = (turn - square) % 90.0
        return min(off, 90.0 - off)

    least = [turn for turn in turns if askew(turn) <= MOST_ASKEW_DEG]
    return sorted(least, key=lambda turn: (abs(turn) + ASKEW * askew(turn), turn))


def _shown(content: PlanContent) -> list[XY]:
    """Points that must be on the plan: parcel, elements, distances, its street, wells near it."""
    parcel = content.site.parcel
    points = [(float(x), float(y)) for x, y, *_ in parcel.exterior.coords]
    points += [
        end
        for separation in dimensioned(content)
        for end in (separation.element_point, separation.feature_point)
    ]
    for feature in content.site.of_kind("street", "potable well"):
        near = shapely.shortest_line(parcel, feature.shape)
        if near.length < NEAR_M:
            points.append((near.coords[1][0], near.coords[1][1]))
    for element in content.layout.elements if content.layout else ():
        west, south, east, north = element.footprint.bounds
        points += [(west, south), (east, south), (east, north), (west, north)]
    return points
