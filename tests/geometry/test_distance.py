"""Gaps between shapes: outside positive, inside negative."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from shapely import LineString, Point, box

from siteplan.geometry.distance import gap


def test_a_gap_is_measured_from_the_edge_of_the_body() -> None:
    # 3-4-5 triangle: centre 5 from the corner, radius 0.5
    found = gap(Point(13, 14), box(0, 0, 10, 10), reach=0.5)
    assert found.distance == pytest.approx(4.5)
    assert found.end == (10, 10)
    assert found.start == pytest.approx((13 - 0.5 * 0.6, 14 - 0.5 * 0.8))


def test_inside_counts_as_negative_depth() -> None:
    assert gap(Point(3, 5), box(0, 0, 10, 10), reach=0.5).distance == pytest.approx(-3.5)


def test_a_trench_reaching_into_a_field_is_as_deep_as_its_deepest_corner() -> None:
    trench = box(-10, 4, 2, 5)
    assert gap(trench, box(0, 0, 10, 10)).distance == pytest.approx(-2)


def test_touching_is_zero() -> None:
    assert gap(box(-5, 0, 0, 5), box(0, 0, 10, 10)).distance == 0


def test_a_line_crossing_a_line_is_zero() -> None:
    assert gap(LineString([(0, -1), (0, 1)]), LineString([(-1, 0), (1, 0)])).distance == 0


@given(st.floats(-50, 50), st.floats(-50, 50))
def test_a_gap_is_as_long_as_the_line_between_its_points(x: float, y: float) -> None:
    found = gap(Point(x, y), box(60, 60, 70, 70))
    (x1, y1), (x2, y2) = found.start, found.end
    assert ((x2 - x1) ** 2 + (y2 - y1) ** 2) ** 0.5 == pytest.approx(found.distance)
