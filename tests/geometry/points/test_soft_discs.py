"""Soft discs: distances to edges, energies by hand, gradients, and crowds pushed apart."""

import numpy as np
import pytest
import shapely
from scipy.spatial.distance import pdist
from shapely import Polygon, box

from siteplan.geometry.points.fence import edge_index, fence_of
from siteplan.geometry.points.soft_discs import Crowds, energy, neighbours_of, relax

L_SHAPE = Polygon([(0, 0), (10, 0), (10, 4), (4, 4), (4, 9), (0, 9)])


def crowd_of(points, held=()):
    points = np.array(points, dtype=float)
    held = np.array(held, dtype=float).reshape(-1, 2)
    return Crowds(points, np.zeros(len(points), int), held, np.zeros(len(held), int))


def index_of(area, spacing=1.0):
    return edge_index(area, fence_of(area), spacing=spacing)


def energy_of(crowds, area, spacing=1.0):
    near = neighbours_of(crowds, index_of(area, spacing), spacing=spacing)
    return energy(crowds.points, near, spacing=spacing, inset=0.0)


def test_two_discs_that_overlap_by_a_tenth_have_a_hundredth_of_energy():
    total, gradient = energy_of(crowd_of([(2, 2), (2.9, 2)]), box(0, 0, 9, 9))
    assert total.sum() == pytest.approx(0.01)
    # pushed apart: the first to the west, the second to the east
    assert gradient == pytest.approx(np.array([[0.2, 0], [-0.2, 0]]))


def test_a_held_point_pushes_but_is_not_pushed():
    total, gradient = energy_of(crowd_of([(2, 2)], held=[(2, 2.8)]), box(0, 0, 9, 9))
    assert total.tolist() == pytest.approx([0.04])
    assert gradient == pytest.approx(np.array([[0, 0.4]]))


def test_a_point_outside_by_a_tenth_has_four_hundredths_of_energy():
    total, gradient = energy_of(crowd_of([(5, -0.1)]), box(0, 0, 9, 9))
    assert total.tolist() == pytest.approx([0.04])
    assert gradient == pytest.approx(np.array([[0, -0.8]]))


def test_the_gradient_is_the_difference_quotient():
    random = np.random.default_rng(7)
    points = random.uniform(-0.2, 10, (40, 2))
    crowds, step = crowd_of(points), 1e-6
    _, gradient = energy_of(crowds, L_SHAPE, 2.0)
    for index in range(0, 40, 5):
        for axis in (0, 1):
            ahead, behind = points.copy(), points.copy()
            ahead[index, axis] += step
            behind[index, axis] -= step
            up = energy_of(crowd_of(ahead), L_SHAPE, 2.0)[0].sum()
            down = energy_of(crowd_of(behind), L_SHAPE, 2.0)[0].sum()
            assert gradient[index, axis] == pytest.approx((up - down) / (2 * step), abs=1e-4)


def test_a_crowd_with_room_is_pushed_apart():
    random = np.random.default_rng(3)
    start = crowd_of(random.uniform(0, 4, (18, 2)))
    area = box(0, 0, 4, 4)
    after, left = relax(start, index_of(area), spacing=1.0, inset=0.0, steps=200)
    assert left[0] < 1e-12
    assert pdist(after.points).min() >= 1 - 1e-5
    assert shapely.dwithin(area, shapely.points(after.points), 1e-5).all()


def test_crowds_do_not_see_each_other():
    alone, _ = relax(
        crowd_of([(2, 2), (2.5, 2)]), index_of(box(0, 0, 9, 9)), spacing=1.0, inset=0.0, steps=60
    )
    twice = Crowds(
        np.array([(2, 2), (2.5, 2), (2, 2), (2.5, 2)], dtype=float),
        np.array([0, 0, 1, 1]),
        np.zeros((0, 2)),
        np.zeros(0, int),
    )
    both, left = relax(twice, index_of(box(0, 0, 9, 9)), spacing=1.0, inset=0.0, steps=60)
    assert both.points[:2] == pytest.approx(alone.points)
    assert both.points[2:] == pytest.approx(alone.points)
    assert left == pytest.approx([0, 0], abs=1e-12)


def test_kept_crowds_are_numbered_anew():
    crowds = Crowds(
        np.arange(8.0).reshape(4, 2), np.array([0, 1, 1, 2]), np.ones((2, 2)), np.array([1, 2])
    )
    kept = crowds.kept(np.array([0, 2]))
    assert kept.crowd.tolist() == [0, 1]
    assert kept.points.tolist() == [[0, 1], [6, 7]]
    assert kept.held_crowd.tolist() == [1]
