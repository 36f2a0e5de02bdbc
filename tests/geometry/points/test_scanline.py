"""Rows through areas are closed sets and agree with shapely's own intersection."""

import math

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from siteplan.geometry.points.scanline import WIDENING, boundary_edges, cut_rows, outline

L_SHAPE = Polygon([(0, 0), (10, 0), (10, 4), (4, 4), (4, 9), (0, 9)])


def rows_of(area, degrees, offset, pitch):
    return cut_rows(
        outline(area).edges,
        np.array([math.radians(degrees)]),
        offset=np.array([[offset]]),
        pitch=pitch,
    )


def test_a_row_on_an_edge_counts_at_the_bottom_and_at_the_top():
    found = rows_of(box(0, 0, 4, 2), 0.0, 0.0, 1.0)
    assert found.row.tolist() == [0, 1, 2]
    assert found.start == pytest.approx([0, 0, 0], abs=2 * WIDENING)
    assert found.end == pytest.approx([4, 4, 4], abs=2 * WIDENING)


def test_a_row_that_touches_one_corner_counts():
    found = rows_of(Polygon([(0, 0), (4, 0), (2, 3)]), 0.0, 3.0, 10.0)
    assert found.start == pytest.approx([2.0], abs=1e-5)
    assert found.end == pytest.approx([2.0], abs=1e-5)


def test_a_row_through_a_hole_comes_in_two_pieces():
    ring = box(0, 0, 10, 10).difference(box(3, 3, 6, 6))
    found = rows_of(ring, 0.0, 5.0, 100.0)
    assert found.start == pytest.approx([0, 6], abs=2 * WIDENING)
    assert found.end == pytest.approx([3, 10], abs=2 * WIDENING)


def test_a_point_is_cut_by_the_row_through_it():
    assert rows_of(Point(3, 4), 0.0, 4.0, 1.0).row.tolist() == [0]


@pytest.mark.parametrize("degrees", [0.0, 13.0, 90.0, 141.7])
def test_pieces_are_as_long_as_the_intersections_shapely_finds(degrees):
    angle = math.radians(degrees)
    along, across = (
        np.array([math.cos(angle), math.sin(angle)]),
        np.array([-math.sin(angle), math.cos(angle)]),
    )
    area = L_SHAPE.difference(Point(2, 2).buffer(1.2))
    found = rows_of(area, degrees, 0.123, 0.7)
    for row in np.unique(found.row):
        middle = (0.123 + row * 0.7) * across
        line = LineString([middle - 50 * along, middle + 50 * along])
        length = shapely.intersection(area, line).length
        mine = (found.end - found.start)[found.row == row].sum()
        assert mine == pytest.approx(length, abs=1e-4)


def test_families_come_in_the_order_of_directions_and_offsets():
    found = cut_rows(
        outline(box(0, 0, 4, 2)).edges,
        np.array([0.0, math.pi / 2]),
        offset=np.array([[0.5, 0.9], [-0.5, -0.9]]),
        pitch=10.0,
    )
    assert found.family.tolist() == [0, 1, 2, 3]
    assert found.of(2).end - found.of(2).start == pytest.approx([2.0], abs=1e-5)
    assert found.of(0).end - found.of(0).start == pytest.approx([4.0], abs=1e-5)


def test_edges_are_counted_over_rings_and_parts():
    two = shapely.MultiPolygon([box(0, 0, 1, 1), box(2, 0, 9, 9).difference(box(3, 3, 4, 4))])
    assert len(boundary_edges(two)) == 12
