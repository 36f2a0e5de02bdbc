"""A short way through points: every point once, no long leg, the same wherever the points lie."""

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.geometry.points.tours import short_tour

SPOTS = st.lists(
    st.tuples(st.integers(0, 30), st.integers(0, 30)), min_size=1, max_size=25, unique=True
)


def legs(points, order):
    return np.hypot(*np.diff(points[order], axis=0).T)


@settings(max_examples=several(15, 60), deadline=None)
@given(SPOTS, st.data())
def test_every_point_is_visited_once_from_the_first(spots, data):
    points = np.array(spots, dtype=float)
    start = data.draw(st.integers(0, len(points) - 1))
    order = short_tour(points, start=start)
    assert order[0] == start
    assert sorted(order) == list(range(len(points)))


@pytest.mark.parametrize("size", [2, 4, 7])
def test_on_a_square_grid_the_way_takes_single_steps_and_few_diagonals(size):
    points = np.array([(x, y) for x in range(size) for y in range(size)], dtype=float)
    found = legs(points, short_tour(points, start=0))
    # a grid can be walked in single steps; a good way has no leg beyond a diagonal
    assert found.max() <= np.sqrt(2) + 1e-9
    assert found.sum() <= 1.1 * (size * size - 1)


@settings(max_examples=several(10, 40), deadline=None)
@given(SPOTS, st.integers(-5000, 5000), st.integers(-5000, 5000))
def test_moving_the_points_leaves_the_order_alone(spots, dx, dy):
    points = np.array(spots, dtype=float)
    assert (short_tour(points, start=0) == short_tour(points + np.array([dx, dy]), start=0)).all()


@settings(max_examples=several(10, 40), deadline=None)
@given(SPOTS)
def test_the_way_is_no_longer_than_going_to_the_nearest_each_time(spots):
    points = np.array(spots, dtype=float)
    order, open_ = [0], set(range(1, len(points)))
    while open_:
        order.append(min(open_, key=lambda k: (np.hypot(*(points[k] - points[order[-1]])), k)))
        open_.discard(order[-1])
    found = legs(points, short_tour(points, start=0))
    assert (found**2).sum() <= (legs(points, order) ** 2).sum() + 1e-6
