import math

import numpy as np
import pytest
import shapely
from campaign import several
from scipy.sparse.csgraph import floyd_warshall
from shapely import LineString, Point, box
from shapely.affinity import rotate

from siteplan.geometry.lines.sweep import rings_of
from siteplan.geometry.ways.routing import (
    OFF_DIRECTION,
    KnownWays,
    Prices,
    Toll,
    region_of,
    route_graph,
    shortest_tree,
    shunning,
)

NONE = np.empty((0, 2))
NO_LINKS = np.empty((0, 2), dtype=np.intp)


def graph_of(ground, stops, *, prices=None, fine=True):
    return route_graph(
        region_of(ground, fine=fine),
        np.array(stops, dtype=float),
        prices=prices or Prices(),
        helpers=NONE,
        helper_links=NO_LINKS,
    )


def cost_of(starts, ends, prices):
    return prices.of(np.array([starts], dtype=float), np.array([ends], dtype=float))[0]


def test_a_straight_sight_costs_its_length():
    graph = graph_of(box(0, 0, 10, 10), [(1, 1), (4, 5)])
    assert graph.ways([0])[0][0, 1] == pytest.approx(5.0)  # 3-4-5


def test_the_way_round_a_square_touches_its_corners():
    # Over (4, 6) and (6, 6): 2 hypot(4, 1) + 2.
    graph = graph_of(box(0, 0, 10, 10) - box(4, 0, 6, 6), [(0, 5), (10, 5)])
    assert graph.ways([0])[0][0, 1] == pytest.approx(2 * math.hypot(4, 1) + 2)


def test_the_way_round_a_circle_is_two_tangents_and_an_arc():
    # Circle of radius 3 about (10, 10), from (0, 10) to (20, 10): tangents sqrt(100 - 9), the
    # arc turns by pi - 2 acos(0.3).
    exact = 2 * math.sqrt(91) + 3 * (math.pi - 2 * math.acos(0.3))
    ground = box(0, 0, 20, 20) - Point(10, 10).buffer(3, 64)
    fine = graph_of(ground, [(0, 10), (20, 10)]).ways([0])[0][0, 1]
    coarse = graph_of(ground, [(0, 10), (20, 10)], fine=False).ways([0])[0][0, 1]
    assert fine == pytest.approx(exact, rel=1e-3)
    assert exact <= coarse <= exact + 0.5


def test_few_corners_stand_for_a_curve():
    ground = box(0, 0, 20, 20) - Point(10, 10).buffer(3, 64)
    assert len(region_of(ground).corners) < 12 < len(region_of(ground, fine=True).corners)


def test_few_corners_stay_inside_the_ground():
    ground = box(0, 0, 20, 20) - Point(10, 10).buffer(3, 64)
    assert ground.covers(region_of(ground).inner)


def test_there_is_no_way_between_parts():
    graph = graph_of(box(0, 0, 5, 5).union(box(9, 0, 14, 5)), [(1, 1), (10, 1)])
    assert math.isinf(graph.ways([0])[0][0, 1])
    assert shortest_tree(KnownWays.of(graph, [0, 1]), [0, 1]) is None


def test_a_line_crossed_costs_its_toll_once():
    prices = Prices((Toll(LineString([(5, -5), (5, 5)]), 3.0),))
    assert cost_of((0, 0), (10, 0), prices) == pytest.approx(13)
    assert cost_of((0, 0), (4, 0), prices) == pytest.approx(4)


def test_two_stretches_that_meet_on_a_line_pay_its_toll_once_together():
    prices = Prices((Toll(LineString([(5, -5), (5, 5)]), 3.0),))
    assert cost_of((0, 0), (5, 0), prices) + cost_of((5, 0), (9, 0), prices) == pytest.approx(12)


def test_running_along_a_line_costs_its_toll_for_each_metre():
    prices = Prices((Toll(LineString([(2, 0), (6, 0)]), 3.0),))
    assert cost_of((0, 0), (10, 0), prices) == pytest.approx(10 + 4 * 3)


def test_a_stretch_off_the_favoured_directions_counts_longer():
    prices = Prices(favoured_deg=(30.0, 120.0))
    along = (10 * math.cos(math.radians(30)), 10 * math.sin(math.radians(30)))
    assert cost_of((0, 0), along, prices) == pytest.approx(10)
    assert cost_of((0, 0), (10, 0), prices) == pytest.approx(10 * (1 + OFF_DIRECTION))


def test_a_tree_goes_once_through_a_gap_that_all_need():
    # Entry below a wall with one gap at (10, 10): 10 m to the gap, hypot(1, 9) = 9.055 m to one
    # bore, 2 m on to the other.
    ground = box(0, 0, 20, 20) - box(0, 9.9, 9.9, 10) - box(10.1, 9.9, 20, 10)
    graph = graph_of(ground, [(10, 0), (9, 19), (11, 19)])
    points = graph.points
    length = sum(
        math.dist(points[a], points[b])
        for a, b in shortest_tree(KnownWays.of(graph, [0, 1, 2]), [0, 1, 2])
    )
    assert length == pytest.approx(10 + math.hypot(1, 9) + 2, abs=0.02)


def test_a_point_wished_for_is_used_only_where_it_leads_on():
    graph = graph_of(box(0, 0, 20, 20), [(0, 0), (10, 0), (5, 1), (0, 15)])
    assert sorted(shortest_tree(KnownWays.of(graph, range(4)), [0, 1], wished=[2, 3])) == [
        (0, 2),
        (1, 2),
    ]


def test_a_place_to_shun_makes_every_stretch_through_it_dearer():
    graph = graph_of(box(0, 0, 20, 20), [(0, 0), (10, 0), (5, 0)])
    shunned = shunning(graph, [2], 100.0)
    assert shunned.ways([0])[0][0, 1] == pytest.approx(110)


@pytest.mark.parametrize("seed", range(several(4, 60)))
def test_ways_are_the_shortest_over_all_corners_there_are(seed):
    """By brute force: every pair of corners, seen by plain shapely, and all ways between them.

    A shortest way among polygons bends at their corners alone: T. Lozano-Perez, M. A. Wesley, Comm.
    ACM 22 (1979) 560.
    """
    rng = np.random.default_rng(seed)
    blocks = [
        rotate(box(x, y, x + w, y + h), turn)
        for x, y, w, h, turn in rng.uniform((2, 2, 1, 1, 0), (24, 14, 5, 5, 90), (5, 5))
    ]
    ground = box(0, 0, 30, 20) - shapely.union_all(blocks)
    toll = Toll(LineString(rng.uniform((0, 0), (30, 20), (2, 2))), 4.0)
    stops = rng.uniform((0, 0), (30, 20), (12, 2))
    stops = stops[shapely.contains_xy(ground.buffer(-0.1), stops)][:5]
    free, dear = (
        graph_of(ground, stops, prices=Prices(tolls)).ways(range(len(stops)))[0][:, : len(stops)]
        for tolls in ((), (toll,))
    )

    corners = [xy for ring in rings_of(ground) for xy in ring]
    points = np.concatenate([stops, corners])
    first, other = np.triu_indices(len(points), 1)
    lines = shapely.linestrings(np.stack([points[first], points[other]], axis=1))
    seen = shapely.covers(ground.buffer(1e-6), lines)

    def least(costs):
        matrix = np.full((len(points), len(points)), np.inf)
        matrix[first[seen], other[seen]] = costs[seen]
        return floyd_warshall(np.minimum(matrix, matrix.T))[: len(stops), : len(stops)]

    lengths = shapely.length(lines)
    assert free == pytest.approx(least(lengths), abs=1e-4)
    # a taut string keeps to one side of a corner; what goes round the end of a toll need not
    paid = lengths + toll.cost_m * shapely.intersects(lines, toll.shape)
    assert (dear >= least(paid) - 1e-4).all()
    assert (dear <= free + len(blocks) * toll.cost_m).all()
    assert np.median(dear - least(paid)) < 1e-4
