import math

import pytest
from shapely import LineString, Point, box

from siteplan.geometry.lines.rings import contours
from siteplan.layout.model import Ground
from siteplan.layout.trenches.gates import begun_nearest, with_gates
from siteplan.layout.way import ways_of
from siteplan.site.model import Entry

LOT = box(0, 0, 40, 30)
WAYS = ways_of(Ground(LOT, LOT, (Entry("entry-1", Point(20, 0)),)))


def test_rings_begin_where_the_entry_is_nearest_one_behind_the_other():
    rings = [contours(box(d, d, 40 - d, 30 - d), 1.5)[0] for d in (2, 5, 8)]
    for ring, turned, depth in zip(rings, begun_nearest(rings, WAYS), (2, 5, 8), strict=True):
        x, y = turned.coords[0]
        assert abs(x - 20) <= 0.6
        assert y == pytest.approx(depth, abs=1e-6)
        assert turned.is_ring
        assert turned.length == pytest.approx(ring.length)


def test_a_gate_is_as_wide_as_the_spacing_also_on_a_bend():
    circle = LineString(Point(0, 0).buffer(6, quad_segs=32).exterior.coords)
    [opened] = with_gates([circle], 3.0, shortest_m=10.0)
    assert Point(opened.coords[0]).distance(Point(opened.coords[-1])) == pytest.approx(3.0)
    # 2 x 6 asin(3 / 12) = 3.032 m of way
    assert opened.length == pytest.approx(circle.length - 12 * math.asin(0.25), abs=0.01)


def test_open_lines_and_rings_too_short_for_a_gate_stay_as_they_are():
    row = LineString([(0, 0), (20, 0)])
    short = LineString(Point(0, 0).buffer(2, quad_segs=16).exterior.coords)
    assert with_gates([row, short], 3.0, shortest_m=11.0) == [row, short]
    assert begun_nearest([row], WAYS) == [row]
