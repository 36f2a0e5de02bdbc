import math

import pytest
from shapely import LineString, Point, box

from siteplan.geometry.lines.bends import BendRule, clashes
from siteplan.geometry.lines.coarsening import coarsened
from siteplan.geometry.lines.rings import contours, outline
from siteplan.geometry.tolerance import TOLERANCE


def test_a_contour_of_a_rectangle_has_round_corners():
    # 2 (20 + 16) - 8 x 1.5 + 2 pi 1.5 = 69.42 m, the chords a little less
    [curve] = contours(box(0, 0, 20, 16), 1.5)
    assert curve.length == pytest.approx(72 - 12 + 3 * math.pi, abs=0.02)
    assert not clashes(curve, BendRule(3.0, 1.5))


def test_a_contour_stays_inside_and_leaves_out_narrow_arms():
    region = box(0, 0, 20, 16).union(box(20, 7, 40, 9.9))
    [curve] = contours(region, 1.5)
    assert region.buffer(TOLERANCE).covers(curve)
    assert curve.bounds[2] <= 20 + 1.5  # the disc reaches a little into the mouth of the arm


def test_a_hole_has_a_contour_of_its_own():
    region = box(0, 0, 40, 40).difference(Point(20, 20).buffer(6))
    outer, inner = contours(region, 1.5)
    assert inner.length == pytest.approx(2 * math.pi * 6, rel=0.01)
    assert outer.length > inner.length


def test_a_region_too_narrow_for_the_bend_has_no_contour_but_an_outline():
    strip = box(0, 0, 30, 2.9)
    assert contours(strip, 1.5) == []
    assert [line.length for line in outline(strip)] == pytest.approx([65.8])


@pytest.mark.parametrize(
    "region",
    [
        Point(0, 0).buffer(10, quad_segs=64),
        box(-20, -20, 20, 20).difference(Point(0, 0).buffer(10, quad_segs=64)),
        box(0, 0, 9, 9).union(Point(9, 9).buffer(4, quad_segs=40)),
    ],
)
def test_a_coarsened_region_has_fewer_corners_and_lies_inside(region):
    coarse = coarsened(region, 0.01)
    assert len(coarse.exterior.coords) <= len(region.exterior.coords)
    assert coarse.difference(region.buffer(TOLERANCE)).is_empty
    assert region.area - coarse.area < 0.03 * region.length
    count = sum(len(ring.coords) for ring in (coarse.exterior, *coarse.interiors))
    assert count < 0.6 * sum(len(ring.coords) for ring in (region.exterior, *region.interiors))


def test_straight_sides_stay_where_they_are():
    region = box(0, 0, 20, 10).difference(Point(20, 0).buffer(5, quad_segs=64))
    left = LineString([(0, 1), (0, 9)])
    assert coarsened(region, 0.01).boundary.distance(left) < 1e-9
