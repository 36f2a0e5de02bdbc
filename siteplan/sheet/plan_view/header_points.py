"""Points of the header that are staked, named on the plan."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.layout.model import Layout
from siteplan.sheet.content.header_points import HeaderPoint
from siteplan.sheet.marks import LABEL, Mark
from siteplan.sheet.model import Symbol
from siteplan.sheet.place.candidates import Candidate, around, led, led_far
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import HARD
from siteplan.sheet.plan_view.exchanger import ENTRY_MM, TICK_MM
from siteplan.sheet.plan_view.ways_past import apart, past
from siteplan.sheet.style.styles import layer

HEIGHT_MM: Final = 2.05
MOST_BESIDE: Final = 120.0
"""A name that disturbs less than this beside its point stands there before any is led away."""
MOST_PAST: Final = 250.0
"""A name whose leader passes no building disturbs less than this: no symbol lies under it."""


def draw_header_points(canvas: Canvas, points: tuple[HeaderPoint, ...]) -> None:
    """Mark the points of the header that have a name; the entry has a symbol already."""
    for point in points[1:]:
        tick = Symbol("tick", point.at, TICK_MM, "entry", layer("header-point"))
        canvas.symbol(tick, keep_off=1.0)


def label_header_points(
    canvas: Canvas, points: Sequence[HeaderPoint], layout: Layout | None, houses: BaseGeometry, *,
    strict: bool,
) -> None:  # fmt: skip
    """Name the points of the header that are staked: each stands in the table as well.

    ``strict``: whether a name counts as lost whose leader would cross a symbol or a house.
    """
    runs = layout.header.runs if layout is not None and layout.header is not None else ()
    shown = [point for point in points if canvas.own.contains(Point(point.at))]
    # those beside their points first: no name led away takes the room of another
    for point in [point for point in shown if not _stands_beside(canvas, point, houses)]:
        _name_point(canvas, point, runs, houses, strict=strict)


def _stands_beside(canvas: Canvas, point: HeaderPoint, houses: BaseGeometry) -> bool:
    """Write the name of a point beside it where that disturbs little; False: it is to be led."""
    label, radius = _label_of(point), _radius(point)
    beside = around(canvas.paper(point.at), label.width, label.height, radius + 0.3)
    return canvas.put(label, past(beside, label, canvas, houses), most=MOST_BESIDE)


def _label_of(point: HeaderPoint) -> Label:
    mark, where = Mark(LABEL, point.name, "header-point"), layer("header-point")
    return Label((point.name,), HEIGHT_MM, "text-header", where, mark=mark, small=point.said)


def _radius(point: HeaderPoint) -> float:
    # the entry has a symbol already
    return ENTRY_MM if point.is_entry else TICK_MM


def _name_point(
    canvas: Canvas, point: HeaderPoint, runs: Sequence[LineString], houses: BaseGeometry, *,
    strict: bool,
) -> None:  # fmt: skip
    label, radius = _label_of(point), _radius(point)
    size, spot = (label.width, label.height), canvas.paper(point.at)
    # beside its point where that disturbs little, else with a leader to it
    near = [*around(spot, *size, radius + 0.3), *led(spot, *size, stand_off=radius + 0.2)]

    def places() -> Iterator[tuple[list[Candidate], float]]:
        # most points have room at once: what comes later is not even looked at
        beside = past(near, label, canvas, houses)
        yield apart(beside, label, canvas, runs), MOST_PAST
        far = list(led_far(spot, *size, stand_off=radius + 0.2))
        yield apart(past(far, label, canvas, houses), label, canvas, runs), MOST_PAST
        yield beside, MOST_PAST
        if not strict:
            # across a symbol rather than through a house
            yield past(far, label, canvas, houses), HARD - 1.0
            yield near, HARD

    for some, most in places():
        if canvas.put(label, some, most=most):
            return
    if strict:
        canvas.lose(_label_of(point))
