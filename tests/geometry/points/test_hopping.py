"""Hops of crowds: who is moved where, and which hops are kept."""

import numpy as np
import shapely
from scipy.spatial.distance import pdist
from shapely import box

from siteplan.geometry.points.fence import edge_index, fence_of
from siteplan.geometry.points.hopping import (
    Crowd,
    Ground,
    emptiest,
    kept,
    places_in,
    pushed,
    relocated,
)

SQUARE = box(0, 0, 4, 4)
NOBODY = np.zeros((0, 2))


def ground_of(area, spacing=1.0):
    return Ground(edge_index(area, fence_of(area), spacing=spacing), spacing, 0.0)


def test_places_lie_inside_and_on_the_edge_a_step_apart():
    places = places_in(SQUARE, 1.0)
    assert shapely.covers(SQUARE, shapely.points(places)).all()
    assert len(np.unique(places, axis=0)) == 25


def test_the_emptiest_place_is_mostly_the_one_far_from_all():
    points = np.array([[0.0, 0.0]])
    crowd = Crowd(points, NOBODY, np.array([[0.1, 0.1], [4.0, 4.0]]))
    random = np.random.default_rng(1)
    found = [emptiest(crowd, points, random=random).tolist() for _ in range(100)]
    assert found.count([4.0, 4.0]) > 75


def test_a_hop_takes_a_squeezed_point_more_often_than_another_and_puts_it_into_a_place():
    apart = [(2.0 * number, 9.0) for number in range(18)]
    points = np.array([*apart, (0.0, 3.0), (0.1, 3.0)])
    crowd = Crowd(points, NOBODY, np.array([[50.0, 50.0]]))
    random = np.random.default_rng(2)
    moved = [relocated(crowd, 1.0, random=random) for _ in range(300)]
    there = np.array([np.hypot(*(xy - [50.0, 50.0]).T) < 5 for xy in moved])
    assert there.any(axis=1).all()
    assert there[:, -2:].mean() > 2 * there[:, :-2].mean()


def test_a_crowd_with_room_has_no_energy_left_and_one_without_keeps_some():
    random = np.random.default_rng(3)
    begin = [random.uniform(0, 4, (count, 2)) for count in (12, 60)]
    crowds = [Crowd(points, NOBODY, places_in(SQUARE, 0.25)) for points in begin]
    points, energy = pushed(crowds, begin, ground=ground_of(SQUARE))
    assert [len(xy) for xy in points] == [12, 60]
    assert energy[0] < 1e-12
    assert energy[1] > 1e-2
    assert pdist(points[0]).min() >= 1 - 1e-5


def test_a_hop_downwards_is_kept_and_one_far_upwards_is_not():
    random = np.random.default_rng(4)
    before, after = np.array([np.inf, 1.0, 1.0]), np.array([5.0, 0.9, 9.0])
    assert kept(before, after, random=random).tolist() == [0, 1]
