"""The window on the plan at the largest scale, north turned where that gains one."""

from __future__ import annotations

import math
from typing import Final

import shapely
from shapely import Polygon

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY, Paper, View
from siteplan.sheet.pages.strip import StripPlan
from siteplan.sheet.plan_view.measures import dimensioned
from siteplan.sheet.style.paper import scale_label, scale_ratios, strip_widths

LABEL_MARGIN_MM: Final = 9.0
"""Paper kept free around the parcel for its bearings and distances [mm]."""
LEAST_WIDTH_MM: Final = 60.0
"""A narrower window shows no plan [mm]."""
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
                center = _middle(extent, turn)
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


def _middle(extent: Extent, turn_deg: float) -> XY:
    """Model point in the middle of an extent that is turned with the view [m]."""
    x, y = (extent[0] + extent[2]) / 2, (extent[1] + extent[3]) / 2
    if not turn_deg:
        return x, y
    angle = math.radians(turn_deg)
    cosine, sine = math.cos(angle), math.sin(angle)
    return x * cosine + y * sine, y * cosine - x * sine


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
        angle = math.radians(turn)
        cosine, sine = math.cos(angle), math.sin(angle)
        xs = points[:, 0] * cosine - points[:, 1] * sine
        ys = points[:, 0] * sine + points[:, 1] * cosine
        bounds = (float(xs.min()), float(ys.min()), float(xs.max()), float(ys.max()))
        turned.append((turn, bounds))
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
