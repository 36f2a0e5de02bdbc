"""Offsets: never short of the distance, exact along straight sides."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Point, Polygon, box

from siteplan.errors import GeometryError
from siteplan.geometry.offset import grow, keep_inside, widened_over
from siteplan.geometry.tolerance import TOLERANCE

corners = st.lists(
    st.tuples(st.integers(-50, 50), st.integers(-50, 50)), min_size=2, max_size=9, unique=True
)
distances = st.floats(0.1, 40)


@st.composite
def shapes(draw: st.DrawFn) -> shapely.Geometry:
    points = draw(corners)
    kind = draw(st.sampled_from(["point", "line", "hull"]))
    if kind == "point":
        return Point(points[0])
    if kind == "line":
        return LineString(points)
    return shapely.convex_hull(shapely.MultiPoint(points))


@given(shapes(), distances)
def test_the_edge_of_an_offset_is_never_nearer_than_the_distance(
    shape: shapely.Geometry, distance: float
) -> None:
    edge = shapely.get_coordinates(shapely.segmentize(grow(shape, distance).boundary, 1.0))
    gaps = shapely.distance(shapely.points(edge), shape)
    assert gaps.min() >= distance - TOLERANCE
    # ARC_STEP_DEG of 2.8125 degrees: tangents meet 1/cos(1.406 deg) = 1.000301 outside the arc;
    # those of small arcs half a centimetre outside
    assert gaps.max() <= max(distance * 1.000302, distance + 0.005) + TOLERANCE


def test_a_default_buffer_is_what_this_module_is_for() -> None:
    # 100 ft setback at 8 pieces a quarter: chord sags by 30.48 (1 - cos 5.625 deg) = 0.1468 m
    inscribed = Point(0, 0).buffer(30.48, quad_segs=8)
    assert 30.48 - inscribed.exterior.distance(Point(0, 0)) == pytest.approx(0.1468, abs=1e-4)
    assert grow(Point(0, 0), 30.48).exterior.distance(Point(0, 0)) >= 30.48 - TOLERANCE


def test_straight_sides_lie_exactly_at_the_distance() -> None:
    bounds = grow(box(0, 0, 30, 20), 3.048).bounds
    assert bounds == pytest.approx((-3.048, -3.048, 33.048, 23.048), abs=1e-12)


def test_a_turned_square_has_the_offset_area_of_steiner() -> None:
    # area + perimeter x d + pi d^2, the last term a little larger: tangents outside the arc, by
    # half a centimetre at most
    square = shapely.affinity.rotate(box(0, 0, 10, 10), 31)
    d = 2.0
    steiner = 100 + 40 * d + math.pi * d**2
    assert steiner <= grow(square, d).area <= steiner + math.pi * ((d + 0.005) ** 2 - d**2)


def test_holes_and_parts_are_widened_too() -> None:
    ring = Polygon(box(0, 0, 20, 20).exterior.coords, [box(5, 5, 15, 15).exterior.coords])
    both = MultiPolygon([ring, box(40, 0, 50, 10)])
    grown = grow(both, 2)
    assert grown.geom_type == "MultiPolygon"
    assert not grown.covers(Point(10, 10))
    assert grown.covers(Point(6.9, 10))
    assert grown.covers(Point(38.1, 5))


def test_keeping_inside_leaves_nothing_nearer_to_the_edge() -> None:
    yard = Polygon([(0, 0), (40, 0), (40, 30), (25, 30), (20, 12), (0, 30)])
    inner = keep_inside(yard, 3.0)
    points = shapely.points(shapely.get_coordinates(inner))
    assert shapely.distance(points, yard.boundary).min() >= 3.0 - TOLERANCE


def test_far_coordinates_do_not_change_an_offset() -> None:
    near = grow(box(0, 0, 10, 10), 3)
    far = grow(box(1e7, 1e7, 1e7 + 10, 1e7 + 10), 3)
    assert far.area == pytest.approx(near.area, abs=1e-5)


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_a_senseless_distance_is_refused(bad: float) -> None:
    with pytest.raises(GeometryError, match="give a distance outwards"):
        grow(Point(0, 0), bad)


def test_nothing_and_zero_stay_themselves() -> None:
    assert grow(Polygon(), 3).is_empty
    square = box(0, 0, 1, 1)
    assert grow(square, 0) is square


def test_a_line_doubling_back_is_covered_on_all_sides() -> None:
    line = LineString([(0, 0), (10, 0), (0, 0.0)])
    grown = grow(line, 1)
    edge = shapely.points(shapely.get_coordinates(grown.boundary))
    assert np.min(shapely.distance(edge, line)) >= 1 - TOLERANCE


@given(st.floats(0.01, 60.0), st.integers(3, 40), st.floats(0.0, 3.0))
def test_an_area_widened_for_a_bound_lies_around_the_true_one(distance, corners, turned):
    # a polygon whose corners turn by any angle, also by one and a half steps of the arc: the
    # true disc, drawn with a thousand pieces a quarter, is shorter than one by 3e-7 of its radius
    angles = turned + math.tau * np.arange(corners) / corners
    area = Polygon(10 * np.column_stack((np.cos(angles), np.sin(angles))))
    wide = widened_over(area, distance)
    assert wide.covers(area.buffer(distance, quad_segs=1000))
    assert not area.buffer(1.001 * distance + 1e-6, quad_segs=1000).boundary.intersects(wide)


@pytest.mark.parametrize("distance", [0.0, 0.5, 1.0, 2.0, 3.0])
def test_inside_of_a_box_is_a_smaller_box(distance: float) -> None:
    inner = keep_inside(box(0, 0, 10, 8), distance)
    assert inner.bounds == pytest.approx((distance, distance, 10 - distance, 8 - distance))


def test_far_from_the_origin_ground_is_what_it_is_near_and_has_no_hairs() -> None:
    east, north = 570_097.3, 308_306.9  # metres of a state's system
    bad = 0
    for number in range(several(16, 120)):
        random = np.random.default_rng(number)
        yard = box(0, 0, 40, 30).difference(
            shapely.union_all(
                [
                    Point(x, y).buffer(random.uniform(0.5, 4))
                    for x, y in random.uniform(0, 40, (6, 2))
                ]
            )
        )
        far = shapely.transform(yard, lambda points: points + np.array((east, north)))
        kept = keep_inside(far, 1.2192)
        back = shapely.transform(kept, lambda points: points - np.array((east, north)))
        assert kept.is_valid
        assert back.symmetric_difference(keep_inside(yard, 1.2192)).area < 1e-5
        bad += any(part.area <= 1e-6 for part in shapely.get_parts(kept))
    assert bad == 0
