"""Names of trenches stand in one series: all at one end and on one side where that has room."""

from __future__ import annotations

import math

from shapely import LineString, Point, Polygon, box

from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.sheet.model import Text, View
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.placer import HARD
from siteplan.sheet.plan_view.exchanger import label_layout
from siteplan.units.systems import METRIC

PITCH, LENGTH = 9.0, 80.0
"""Of trenches that run to the north [mm on paper, m at 1:1000]."""


def names_of(taken):
    """Places of the names of six trenches, some paper being taken [mm]."""
    view = View(1000.0, "1:1000", 0.0, 0.0, 200.0, 200.0, (100.0, 100.0))
    canvas = Canvas(view, METRIC)
    trenches = []
    for number in range(6):
        x = 70.0 + PITCH * number
        line = LineString([(x, 60.0), (x, 60.0 + LENGTH)])
        trenches.append(Trench(f"T{number + 1}", line, 0.9, 1.5, 2))
        canvas.outline(trenches[-1].footprint, "trench", "0", ink=HARD, leader=40.0)
    for area in taken:
        canvas.placer.add_area(area)
    label_layout(canvas, Layout("horizontal", tuple(trenches), None, PITCH, 0.0), ())
    return [view.to_paper([item.at])[0] for item in canvas.primitives if isinstance(item, Text)]


def test_names_stand_beyond_one_end_where_all_have_room() -> None:
    heights = {round(float(y), 1) for _, y in names_of(())}
    assert len(heights) == 1


def test_where_some_have_no_room_beyond_all_stand_beside_their_trenches() -> None:
    # what stands beyond both ends of some of them, so that no end is free for all
    blocks = [box(75.0, 143.0, 94.0, 160.0), box(75.0, 40.0, 94.0, 57.0)]
    places = names_of(blocks)
    assert len(places) == 6
    offsets = [float(x) - (70.0 + PITCH * number) for number, (x, _) in enumerate(places)]
    assert all(math.isclose(off, offsets[0], abs_tol=0.1) for off in offsets)
    # nearer to its own trench than to the next
    assert abs(offsets[0]) < PITCH / 2


def ring(name, half):
    """A trench that runs round a square, and begins where its left side meets its upper one."""
    near, far = 100.0 - half, 100.0 + half
    line = LineString([(near, far), (far, far), (far, near), (near, near), (near, far)])
    return Trench(name, line, 0.9, 1.5, 2)


def test_the_name_of_a_ring_within_another_does_not_stand_beyond_the_outer_one_unled() -> None:
    view = View(1000.0, "1:1000", 0.0, 0.0, 200.0, 200.0, (100.0, 100.0))
    canvas = Canvas(view, METRIC)
    outer, inner = ring("T1", 17.0), ring("T2", 14.0)
    # no room within either, and none between them
    canvas.placer.add_area(box(88.0, 88.0, 112.0, 112.0), HARD, leader_cost=0.0)
    for trench in (outer, inner):
        canvas.outline(trench.footprint, "trench", "0", ink=HARD, leader=40.0)
        canvas.line(trench.axis.coords, "trench-center", "0", ink=40.0)
    label_layout(canvas, Layout("horizontal", (outer, inner), None, 6.0, 0.0), ())
    texts = {item.text: item for item in canvas.primitives if isinstance(item, Text)}
    leaders = [item for item in canvas.primitives if getattr(item, "style", "") == "leader"]
    within = Polygon(outer.axis.coords).contains(Point(texts["T2"].at))
    target = LineString(inner.line.coords)
    led = any(target.distance(Point(item.points[-1])) < 3.0 for item in leaders)
    assert within or led
