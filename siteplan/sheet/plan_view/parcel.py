"""The parcel on the plan: its line, corners, and a bearing and distance on every side."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
from shapely import LineString, Polygon

from siteplan.geometry.boundary import Course, Curve, Side, outline_with_arcs
from siteplan.sheet.content.lot_lines import line_names
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.model import XY, Symbol, View
from siteplan.sheet.place.candidates import REACHES_MM, TAG_REACHES_MM, Candidate, led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label, readable
from siteplan.sheet.place.placer import HARD
from siteplan.sheet.style.formats import course_mark
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import text_width
from siteplan.site.model import Site
from siteplan.units.lengths import format_bearing
from siteplan.units.model import UnitSystem

COURSE_HEIGHT_MM = 2.3
CORNER_MM = 1.0
LINE_INK = 60.0
"""What a leader pays for crossing the property line; a label never covers it."""
MOST_TAGS, MOST_TAG_COST = 12, 50.0
"""Of more short sides than this, those go without a tag that have no room for it near by."""
AWAY_MM = (
    (1.9, 0.0), (3.2, 2.0), (5.0, 4.0), (8.0, 7.0), (-1.9, 9.0), (-3.2, 11.0), (12.0, 12.0),
    (17.0, 15.0),
)  # fmt: skip
"""How far a label stands off its side, outside and inside [mm], and what that costs."""
TAG_AWAY_MM = AWAY_MM[:3] + AWAY_MM[4:6]
"""The same of a tag: a few letters farther off would be read with another side, unless led."""
LISTED_MARK = "*"
"""Behind the tag of a curve that stands in the table."""


def draw_parcel(canvas: Canvas, parcel: Polygon, sides: tuple[Side, ...]) -> None:
    """Draw the property line, true arcs as arcs, and a mark at every corner."""
    corners, bulges = outline_with_arcs(parcel)
    canvas.ring(
        corners, "property", layer("property"), ink=HARD, leader=LINE_INK,
        bulges=bulges if any(bulges) else (),
    )  # fmt: skip
    for side in sides:
        corner = Symbol("corner", side.start, CORNER_MM, "corner", layer("corner"))
        canvas.symbol(corner, keep_off=1.2)


def label_sides(canvas: Canvas, site: Site, tagged: tuple[tuple[str, Side], ...]) -> None:
    """Write bearing and distance, or its tag, along every side; outside where there is room.

    Below it stands whether the side is the front, the rear or a side line of the lot.
    """
    parcel, unit = site.parcel, site.unit
    named = dict(zip(sides_of(parcel), line_names(site), strict=False))
    left = parcel.exterior.is_ccw
    many = sum(is_listed(tag) for tag, _ in tagged) > MOST_TAGS
    for tag, side in sorted(tagged, key=lambda pair: -pair[1].length):
        lines = (tag,) if is_listed(tag) else side_text(tag, side, unit)
        small = f"{named[side]} LOT LINE" if side in named and not is_listed(tag) else ""
        label = Label(tuple(lines), COURSE_HEIGHT_MM, "text", layer("bearing"), small=small)
        listed = is_listed(tag)
        off = TAG_AWAY_MM if listed else AWAY_MM
        places = _along(canvas, side, label, off, outward=-1.0 if left else 1.0)
        middle = LineString(canvas.view.to_paper(side.points)).interpolate(0.5, normalized=True)
        reaches = TAG_REACHES_MM if listed else REACHES_MM
        away = led((middle.x, middle.y), label.width, label.height, reaches=reaches)
        most = MOST_TAG_COST if many and listed else HARD
        canvas.put(label, [*places, *away], most=most)


def is_listed(tag: str) -> bool:
    """Whether the plan shows only the tag of a side, and a table the rest.

    Examples
    --------
    >>> is_listed("L3"), is_listed("C2*"), is_listed("C1"), is_listed("")
    (True, True, False, False)
    """
    return tag.startswith("L") or tag.endswith(LISTED_MARK)


def side_text(tag: str, side: Side, unit: UnitSystem) -> tuple[str, ...]:
    r"""Bearing and distance of a line; radius, length, delta and chord of a curve.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> side_text("", Course((0, 0), (0, 30.48)), US)
    ('N 00°00\'00" E  100.00\'',)
    """
    bearing = format_bearing(side.end[0] - side.start[0], side.end[1] - side.start[1])
    if isinstance(side, Course):
        return (f"{bearing}  {course_mark(side.length, unit)}",)
    radius, length = course_mark(side.radius, unit), course_mark(side.length, unit)
    arc = f"{tag}  R={radius}  L={length}  Δ={angle_text(side.delta_deg)}"
    # a full circle has no chord
    return (arc, f"CH {bearing}  {course_mark(side.chord, unit)}") if side.chord > 0.01 else (arc,)


def angle_text(angle_deg: float) -> str:
    r"""Degrees, minutes and seconds.

    Examples
    --------
    >>> angle_text(27.1125)
    '27°06\'45"'
    """
    degrees, rest = divmod(round(angle_deg * 3600), 3600)
    return f"{degrees:d}°{rest // 60:02d}'{rest % 60:02d}\""


def tagged_sides(
    sides: tuple[Side, ...], view: View, unit: UnitSystem
) -> tuple[tuple[str, Side], ...]:
    """Sides with their tag: ``C1`` for a curve, ``L1`` for a line too short for its label.

    Its number is that of the corner from which a side runs on, on every sheet and at every scale.
    A curve too short for its label has a star behind its tag.
    """
    tagged: list[tuple[str, Side]] = []
    for number, side in enumerate(sides, 1):
        if isinstance(side, Curve):
            tag = f"C{number}"
            wide = max(text_width(line, COURSE_HEIGHT_MM) for line in side_text(tag, side, unit))
            tagged.append((tag + (LISTED_MARK if wide > _room(side, view) else ""), side))
        elif text_width(side_text("", side, unit)[0], COURSE_HEIGHT_MM) > _room(side, view):
            tagged.append((f"L{number}", side))
        else:
            tagged.append(("", side))
    return tuple(tagged)


def _room(side: Side, view: View) -> float:
    # both ends of a side belong to the marks of its corners
    return 0.92 * side.chord * 1000.0 / view.ratio


def _along(
    canvas: Canvas, side: Side, label: Label, off_mm: Sequence[XY], *, outward: float
) -> list[Candidate]:
    """Places along a side, ``outward`` 1 to the left of its direction, -1 to the right.

    ``off_mm``: how far off it, and what each costs.
    """
    path = LineString(canvas.view.to_paper(side.points))
    places = []
    for share in (0.5, 0.42, 0.58, 0.34, 0.66, 0.26, 0.74):
        # the direction under the whole label: along the tangent its ends would run into the curve
        reach = min(label.width / 2, path.length / 2.2)
        near, far = (path.interpolate(share * path.length + s * reach) for s in (-1.0, 1.0))
        direction = np.array([far.x - near.x, far.y - near.y])
        angle = math.degrees(math.atan2(direction[1], direction[0]))
        across = np.array([-direction[1], direction[0]]) / max(float(np.hypot(*direction)), 1e-9)
        middle = path.interpolate(share * path.length)
        for away, cost in off_mm:
            off = across * outward * math.copysign(label.height / 2 + abs(away), away)
            center = (float(middle.x + off[0]), float(middle.y + off[1]))
            places.append(Candidate(center, readable(angle), cost + 8.0 * abs(share - 0.5)))
    return places
