"""Walls around points: they keep a point in the area, and let it go where the area goes."""

import numpy as np
import pytest
import shapely
from shapely import MultiPolygon, Point, Polygon, box

from siteplan.geometry.points.fence import edge_index, fence_of

L_SHAPE = Polygon([(0, 0), (10, 0), (10, 4), (4, 4), (4, 9), (0, 9)])
HOLED = L_SHAPE.difference(Point(2, 2).buffer(1, quad_segs=4))


def room_of(area, points, spacing=1.0):
    """For each point the least distance to its walls, negative beyond one."""
    walls = edge_index(area, fence_of(area), spacing=spacing).walls(points)
    room = (walls.normal.T * points[walls.point]).sum(axis=1) - walls.offset
    least = np.full(len(points), np.inf)
    np.minimum.at(least, walls.point, room)
    return least


@pytest.mark.parametrize("area", [L_SHAPE, HOLED, MultiPolygon([box(0, 0, 3, 3), box(4, 1, 9, 9)])])
def test_the_nearest_wall_of_a_point_inside_is_as_far_as_the_boundary(area):
    points = np.random.default_rng(1).uniform(0, 10, (500, 2))
    points = points[shapely.contains_xy(area, points)]
    distance = shapely.distance(area.boundary, shapely.points(points))
    near = distance < 0.35
    assert near.sum() > 20
    assert room_of(area, points)[near] == pytest.approx(distance[near], abs=1e-9)


def test_a_point_outside_is_beyond_a_wall_also_far_off():
    points = np.random.default_rng(2).uniform(-8, 18, (500, 2))
    points = points[~shapely.intersects_xy(HOLED, points)]
    assert (room_of(HOLED, points) < 0).all()


def test_what_the_walls_of_a_point_allow_nearby_is_inside():
    random = np.random.default_rng(3)
    points = random.uniform(0, 10, (300, 2))
    points = points[shapely.contains_xy(HOLED, points)]
    walls = edge_index(HOLED, fence_of(HOLED), spacing=1.0).walls(points)
    for _ in range(20):
        moved = points + random.uniform(-0.25, 0.25, points.shape)
        room = (walls.normal.T * moved[walls.point]).sum(axis=1) - walls.offset
        allowed = np.ones(len(points), dtype=bool)
        allowed[walls.point[room < 0]] = False
        assert shapely.dwithin(HOLED, shapely.points(moved[allowed]), 1e-8).all()


def test_a_point_deep_inside_minds_no_wall():
    assert (
        edge_index(L_SHAPE, fence_of(L_SHAPE), spacing=1.0).walls(np.array([[2.0, 6.0]])).point.size
        == 0
    )
