"""That there is no room is proven close to where there is some, and never where there is."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from campaign import several

from siteplan.geometry.points.few import FEW, holds_none_of, most_points
from siteplan.geometry.points.packing import pack_points

SQUARE = {
    # the diagonal; three corners of the largest triangle of equal sides, one in a corner of the
    # square and turned by 15 degrees; the corners; of five points two share a quarter of the
    # square, whose diagonal is half of the whole: plane geometry
    2: math.sqrt(2),
    3: math.sqrt(6) - math.sqrt(2),
    4: 1.0,
    5: math.sqrt(2) / 2,
}
"""Least distance at most of so many points in a square of side 1."""
MARGIN = {2: 1.005, 3: 1.02, 4: 1.005, 5: 1.1}


@pytest.mark.parametrize("count", SQUARE)
def test_no_room_is_proven_close_above_the_farthest_that_points_in_a_square_stand(
    count: int,
) -> None:
    side = 10.0
    square = shapely.affinity.rotate(shapely.box(0, 0, side, side), 20)
    assert holds_none_of(square, count, MARGIN[count] * SQUARE[count] * side)
    if count < 5:  # five that have room take half a second to be left open
        assert not holds_none_of(square, count, SQUARE[count] * side * (1 - 1e-9))


def test_no_room_is_proven_close_above_the_sides_of_the_regular_polygons_in_a_circle() -> None:
    # of two and three points in a circle the corners of the regular polygon stand farthest apart:
    # 2 sin(180/n), plane geometry
    circle = shapely.Point(0, 0).buffer(5.0, quad_segs=64)
    for count in (2, 3):
        side = 10 * math.sin(math.pi / count)
        assert holds_none_of(circle, count, 1.05 * side)
        assert not holds_none_of(circle, count, 0.9 * side)


def test_room_that_points_have_is_never_said_to_be_none() -> None:
    random = np.random.default_rng(5)
    for _ in range(several(4, 400)):
        count = int(random.integers(2, FEW + 1))
        points = random.uniform(0, 12, (count, 2))
        apart = shapely.distance(*(shapely.points(points[list(pair)]) for pair in zip(
            *[(i, j) for i in range(count) for j in range(i)], strict=True)))  # fmt: skip
        # pieces that hold just these points, some with room around them
        pieces = [shapely.Point(x, y).buffer(random.choice([1e-4, 0.1, 0.6])) for x, y in points]
        area = shapely.union_all([*pieces, shapely.LineString(points).buffer(1e-3)])
        assert not holds_none_of(area, count, float(apart.min()))


def test_what_was_packed_is_never_more_than_is_proven() -> None:
    random = np.random.default_rng(8)
    for _ in range(several(3, 100)):
        hull = shapely.convex_hull(shapely.MultiPoint(random.uniform(0, 11, (6, 2))))
        held = len(pack_points(hull, 6.0, arrangement="rows"))
        assert held <= most_points(hull, 6.0, held=0)


def test_ground_of_many_cells_is_left_open() -> None:
    # of two pieces with a mile between them each is small; a field is not
    far = shapely.union_all([shapely.box(0, 0, 1, 1), shapely.box(1600, 0, 1601, 1)])
    assert holds_none_of(far, 3, 6.0)
    assert not holds_none_of(far, 2, 6.0)
    assert not holds_none_of(shapely.box(0, 0, 60, 60), 3, 6.0)
    assert not holds_none_of(shapely.box(0, 0, 9000, 0.01), 3, 6.0)
