"""The bound is never below what can be placed, and known exactly for simple shapes."""

import math

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from known_packings import OPTIMA
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.spatial import cKDTree
from shapely import MultiPolygon, Point, Polygon, box

from siteplan.geometry.points.bound import packing_bound
from siteplan.geometry.points.packing import pack_points


@pytest.mark.parametrize("count", range(2, 49))
def test_the_bound_is_not_below_what_the_unit_square_is_known_to_hold(count):
    bound = packing_bound(box(0, 0, 1, 1), OPTIMA[count])
    assert count <= bound <= 1.35 * count + 2


def test_where_there_is_no_ground_no_point_has_a_place():
    assert packing_bound(shapely.Polygon(), 1.0) == 0


@settings(max_examples=several(6, 12), deadline=None)
@given(
    st.lists(st.tuples(st.floats(-3, 3), st.floats(-3, 3)), min_size=3, max_size=7),
    st.floats(0.2, 0.9),
    st.floats(1.2, 2.5),
)
def test_the_bound_is_not_below_the_most_places_of_a_grid_by_integer_programming(
    corners, hole, spacing
):
    area = shapely.MultiPoint(corners).convex_hull.buffer(0.3, quad_segs=2)
    area = area.difference(area.centroid.buffer(hole))
    x, y = np.meshgrid(np.arange(-3.5, 3.6, 0.5), np.arange(-3.5, 3.6, 0.5))
    places = np.column_stack([x.ravel(), y.ravel()])
    places = places[shapely.covers(area, shapely.points(places))]
    pairs = cKDTree(places).query_pairs(spacing - 1e-9, output_type="ndarray")
    if len(pairs) == 0:
        most = len(places)
    else:
        near = np.zeros((len(pairs), len(places)))
        near[np.arange(len(pairs))[:, None], pairs] = 1
        rules = LinearConstraint(near, ub=np.ones(len(pairs)))
        found = milp(
            -np.ones(len(places)),
            integrality=np.ones(len(places)),
            bounds=Bounds(0, 1),
            constraints=rules,
            options={"node_limit": 2000},
        )
        most = 0 if found.x is None else round(-found.fun)
    assert most <= packing_bound(area, spacing)


def test_oler_gives_the_bound_of_a_square():
    # 2 * 16 / sqrt(3) + 16 / 2 + 1 = 27.48
    assert packing_bound(box(0, 0, 4, 4), 1.0) == 27


def test_a_lattice_triangle_is_bounded_by_its_own_count():
    # side 3: 2 (9 sqrt(3) / 4) / sqrt(3) + 9 / 2 + 1 = 10
    triangle = Polygon([(0, 0), (3, 0), (1.5, 1.5 * math.sqrt(3))])
    assert packing_bound(triangle, 1.0) == 10


def test_a_star_of_three_lines_holds_three_although_its_area_and_outline_say_less():
    # legs of 1 / sqrt(3): the ends are 1 apart, but area 0 and half outline give 1 + sqrt(3) = 2.7
    legs = [
        shapely.LineString([(0, 0), (math.cos(a) / math.sqrt(3), math.sin(a) / math.sqrt(3))])
        for a in (0.0, 2 * math.pi / 3, 4 * math.pi / 3)
    ]
    star = shapely.unary_union([leg.buffer(1e-9) for leg in legs])
    assert packing_bound(star, 1.0) >= 3


def test_parts_far_apart_are_bounded_each_on_its_own():
    # each part holds one point: 2 * 0.01 / sqrt(3) + 0.4 / 2 + 1 = 1.2
    parts = MultiPolygon([box(10 * k, 0, 10 * k + 0.1, 0.1) for k in range(7)])
    assert packing_bound(parts, 1.0) == 7


def test_an_empty_area_holds_nothing():
    assert packing_bound(Polygon(), 1.0) == 0


def test_a_point_holds_one():
    assert packing_bound(Point(3, 4), 1.0) == 1


@settings(max_examples=several(6, 12), deadline=None)
@given(
    st.lists(
        st.tuples(*[st.floats(-20, 20)] * 2, st.floats(0.05, 9), st.floats(0.05, 9)),
        min_size=1,
        max_size=5,
    ),
    st.floats(1.0, 6.0),
)
def test_no_packing_exceeds_the_bound(boxes, spacing):
    area = shapely.unary_union([box(x, y, x + w, y + h) for x, y, w, h in boxes])
    assert len(pack_points(area, spacing, effort=0.1)) <= packing_bound(area, spacing)


@pytest.mark.parametrize("side", [3, 10, 40])
def test_no_whole_square_grid_exceeds_the_bound(side):
    grid = np.argwhere(np.ones((side + 1, side + 1)))
    assert len(grid) <= packing_bound(box(0, 0, side, side), 1.0)
