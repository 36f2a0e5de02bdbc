from itertools import combinations

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.sparse.csgraph import minimum_spanning_tree
from shapely import LineString

from siteplan.geometry.ways.trees import (
    nearest_tree,
    noded,
    pruned,
    spanning,
    tree_runs,
    unpaired_ends,
)


@settings(max_examples=several(15, 60), deadline=None, derandomize=True)
@given(st.lists(st.tuples(st.integers(0, 50), st.integers(0, 50)), min_size=2, max_size=15))
def test_the_nearest_tree_is_as_short_as_scipys(places):
    points = np.array(list(dict.fromkeys(places)), dtype=float)
    costs = np.hypot(*np.moveaxis(points[:, None] - points[None], 2, 0))
    ours = sum(costs[a, b] for a, b in nearest_tree(costs))
    assert ours == pytest.approx(minimum_spanning_tree(costs).sum())


def test_a_circle_loses_its_dearest_link():
    price = {(0, 1): 1.0, (1, 2): 2.0, (0, 2): 3.0}
    assert spanning(price, price) == [(0, 1), (1, 2)]


def test_dead_ends_go_whole():
    assert pruned([(0, 1), (1, 2), (2, 3), (1, 4)], [0, 4]) == [(0, 1), (1, 4)]


def test_dead_ends_that_hang_together_alone_go_both():
    assert pruned([(0, 1), (2, 3)], [0, 1]) == [(0, 1)]


def test_a_link_that_ends_on_another_splits_it_and_crosses_nothing():
    points = np.array([[0.0, 0.0], [10.0, 0.0], [4.0, 0.0], [4.0, 3.0], [2.0, 1.0], [8.0, 1.0]])
    spots, links = noded(points, [(0, 1), (2, 3), (4, 5)])
    # only (2, 3) and (4, 5) cross, at (4, 1)
    assert spots[6:].tolist() == [[4, 1]]
    assert links == [(0, 2), (1, 2), (2, 6), (3, 6), (4, 6), (5, 6)]


def test_a_link_through_a_point_is_split_there():
    points = np.array([[0.0, 0.0], [10.0, 0.0], [4.0, 0.0], [4.0, 3.0]])
    _, links = noded(points, [(0, 1), (2, 3)])
    assert links == [(0, 2), (1, 2), (2, 3)]


def test_links_that_lie_on_each_other_become_one():
    points = np.array([[0.0, 0.0], [6.0, 0.0], [4.0, 0.0], [10.0, 0.0]])
    _, links = noded(points, [(0, 1), (2, 3)])
    assert links == [(0, 2), (1, 2), (1, 3)]


def test_crossing_links_meet_in_a_new_point():
    points = np.array([[0.0, 0.0], [4.0, 4.0], [0.0, 4.0], [4.0, 0.0]])
    points, links = noded(points, [(0, 1), (2, 3)])
    assert points[4].tolist() == [2, 2]
    assert links == [(0, 4), (1, 4), (2, 4), (3, 4)]


def test_runs_end_at_branches_and_keep_their_bends():
    points = np.array([[0.0, 0.0], [5.0, 0.0], [5.0, 5.0], [9.0, 5.0], [5.0, 9.0]])
    runs = tree_runs(points, [(0, 1), (1, 2), (2, 3), (2, 4)], 0)
    assert [run.wkt for run in runs] == [
        "LINESTRING (0 0, 5 0, 5 5)",
        "LINESTRING (5 5, 9 5)",
        "LINESTRING (5 5, 5 9)",
    ]


@pytest.mark.parametrize(
    ("ends", "unpaired"),
    [
        ([(-1, 0), (1, 0)], 0),  # straight on
        ([(-1, 0), (1, 0), (0, 1)], 1),  # a branch
        ([(-1, 0), (1, 0), (0, 1), (0, -1)], 0),  # a crossing
        ([(-1, 0), (0, 1)], 2),  # a bend
    ],
)
def test_tidiness_counts_ends_without_a_straight_continuation(ends, unpaired):
    points = np.array([(0, 0), *ends], dtype=float)
    assert unpaired_ends(points, [(0, k) for k in range(1, len(points))]) == unpaired


LINKED = st.lists(
    st.tuples(st.integers(0, 11), st.integers(0, 11)).filter(lambda pair: pair[0] < pair[1]),
    min_size=1, max_size=14, unique=True,
)  # fmt: skip
CORNERS = st.lists(
    st.tuples(st.integers(0, 20), st.integers(0, 20)), min_size=12, max_size=12, unique=True
)


@settings(max_examples=several(20, 80), deadline=None, derandomize=True)
@given(CORNERS, LINKED)
def test_noded_links_cover_the_same_ground_and_meet_at_their_ends_alone(corners, links):
    points = np.array(corners, dtype=float)
    before = shapely.union_all([LineString(points[list(link)]) for link in links])
    spots, found = noded(points, links)
    lines = [LineString(spots[list(link)]) for link in found]
    assert shapely.union_all(lines).hausdorff_distance(before) < 0.01
    for (link, line), (other, beside) in combinations(zip(found, lines, strict=True), 2):
        # what they share is an end of both (rounding of a crossing aside)
        shared = line.intersection(beside)
        assert shared.length < 0.02
        if set(link).isdisjoint(other) and not shared.is_empty:
            at = shapely.points(spots[[*link, *other]])
            assert shapely.distance(at, shared).min() < 0.01


@settings(max_examples=several(20, 80), deadline=None, derandomize=True)
@given(CORNERS, LINKED)
def test_an_end_is_unpaired_where_no_other_link_goes_straight_on(corners, links):
    points = np.array(corners, dtype=float)
    ways = {}
    for a, b in links:
        for here, there in ((a, b), (b, a)):
            way = points[there] - points[here]
            ways.setdefault(here, []).append(way)
    lone = 0
    for around in ways.values():
        for k, (x, y) in enumerate(around):
            others = [way for j, way in enumerate(around) if j != k]
            # whole numbers: straight on is a cross product of nothing and the other way
            straight = any(x * v - y * u == 0 and x * u + y * v < 0 for u, v in others)
            lone += bool(others) and not straight
    assert unpaired_ends(points, links) == lone
