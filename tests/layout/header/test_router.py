import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, MultiPolygon, Point, affinity, box

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.header.crossings import over_trenches
from siteplan.layout.header.router import reachable_area, route_header
from siteplan.layout.model import Ground, Header
from siteplan.site.model import Entry, Feature


def ground_of(passable, *entries, area=None, marked=()):
    places = tuple(Entry(f"entry-{k}", Point(x, y)) for k, (x, y) in enumerate(entries, 1))
    return Ground(passable if area is None else area, passable, places, tuple(marked))


def bores(points):
    return [[point] for point in points]


def assert_tree(header: Header, ground: Ground, ends) -> None:
    """Inside the passable ground, in one piece, without circle or overlap, one end of each."""
    whole = MultiLineString(list(header.runs))
    assert ground.passable.buffer(TOLERANCE).covers(whole)
    assert shapely.unary_union(whole).length == pytest.approx(header.length_m, abs=1e-5)
    places = {
        tuple(np.round(spot, 5)) for run in header.runs for spot in (run.coords[0], run.coords[-1])
    }
    assert len(places) == len(header.runs) + 1  # a tree of k runs has k + 1 ends and branchings
    graph_is_one = shapely.union_all(whole.buffer(1e-4))
    assert graph_is_one.geom_type == "Polygon"
    assert whole.distance(header.entry.point) <= TOLERANCE
    for element in ends:
        joined = [place for place in element if whole.distance(Point(place)) <= TOLERANCE]
        assert len(joined) == 1


def test_reachable_area_is_the_area_itself_where_one_piece_of_ground_holds_everything():
    area = box(1, 1, 9, 9)
    ground = ground_of(box(0, 0, 10, 10), (0, 5), area=area)
    assert reachable_area(ground).equals(area)


def test_ground_cut_off_from_every_entry_is_not_reachable():
    passable = MultiPolygon([box(0, 0, 10, 10), box(20, 0, 30, 10)])
    ground = ground_of(passable, (0, 5), area=box(5, 0, 25, 10))
    assert reachable_area(ground).equals(box(5, 0, 10, 10))


def test_a_second_entry_makes_the_second_piece_reachable():
    passable = MultiPolygon([box(0, 0, 10, 10), box(20, 0, 30, 10)])
    assert reachable_area(ground_of(passable, (0, 5), (25, 10))).area == pytest.approx(200)


def test_nothing_is_reachable_without_an_entry_on_the_passable_ground():
    ground = ground_of(box(0, 0, 10, 10), (-1, 5))
    assert reachable_area(ground).is_empty
    assert route_header(ground, bores([(5, 5)])) is None


def test_no_header_reaches_a_bore_on_ground_that_is_cut_off():
    passable = MultiPolygon([box(0, 0, 10, 10), box(20, 0, 30, 10)])
    assert route_header(ground_of(passable, (0, 5)), bores([(5, 5), (25, 5)])) is None


def test_nothing_to_join_gives_no_header():
    assert route_header(ground_of(box(0, 0, 10, 10), (0, 5)), []) is None


def test_one_bore_in_sight_of_the_entry_takes_one_straight_run():
    # 3-4-5 triangle: from (0, 0) to (3, 4) are 5 m.
    header = route_header(ground_of(box(0, 0, 10, 10), (0, 0)), bores([(3, 4)]))
    assert header.length_m == pytest.approx(5.0)
    assert [run.wkt for run in header.runs] == ["LINESTRING (0 0, 3 4)"]


def test_the_header_goes_round_a_house_and_keeps_clear_of_its_corner():
    # Taut string over the house corners (4, 6) and (8, 6): 2 hypot(4, 6) + 4 = 18.422 m; a bend
    # may stand off a corner by 0.25 m each way.
    ground = ground_of(box(0, 0, 12, 12) - box(4, -1, 8, 6), (0, 0))
    header = route_header(ground, bores([(12, 0)]))
    assert 18.422 <= header.length_m <= 18.422 + 0.75
    assert len(header.runs) == 1


def test_the_nearer_of_two_entries_is_taken():
    ground = ground_of(box(0, 0, 30, 10), (0, 5), (30, 5))
    header = route_header(ground, bores([(25, 5), (20, 5)]))
    assert header.entry.id == "entry-2"
    assert header.length_m == pytest.approx(10.0)


def test_an_entry_a_hair_off_the_passable_ground_is_reached_from_its_edge():
    header = route_header(ground_of(box(0, 0, 10, 10), (-5e-7, 5)), bores([(5, 5)]))
    assert header.runs[0].coords[0] == pytest.approx((0.0, 5.0), abs=1e-6)


def test_an_entry_three_millimetres_within_a_keep_out_is_not_reached():
    # the header would end beside it, or break the rule
    assert route_header(ground_of(box(0, 0, 10, 10), (-0.003, 5)), bores([(5, 5)])) is None


def test_bores_in_a_row_with_the_entry_are_joined_by_one_run():
    ground = ground_of(box(0, 0, 40, 10), (0, 5))
    row = [(6.0 * k, 5.0) for k in range(1, 6)]
    header = route_header(ground, bores(row), along_deg=0.0)
    assert [run.wkt for run in header.runs] == ["LINESTRING (0 5, 30 5)"]


def test_a_lattice_gets_straight_laterals_and_one_straight_main():
    # 4 rows of 5 bores 6 m apart in a hexagonal lattice, rows 6 sin 60° = 5.196 m apart.
    step, rise = 6.0, 6.0 * math.sin(math.radians(60))
    points = [
        (5 + step * k + step / 2 * (row % 2), 5 + rise * row) for row in range(4) for k in range(5)
    ]
    ground = ground_of(box(0, 0, 45, 30), (5, 0))
    header = route_header(ground, bores(points), along_deg=0.0)
    assert_tree(header, ground, bores(points))
    # Laterals 4 x 4 x 6 = 96, main 3 x 5.196 = 15.588, way to the entry 5: 116.588 m, less than
    # the shortest tree without branching between bores, 19 x 6 + 5 = 119 m.
    assert header.length_m <= 96 + 3 * rise + 5 + step / 2 + 1e-6
    directions = {
        round(math.degrees(math.atan2(y2 - y1, x2 - x1)) % 180, 3) % 180
        for run in header.runs
        for (x1, y1), (x2, y2) in pairwise(run.coords)
    }
    assert directions == {0.0, 90.0}


def test_the_tidy_lattice_header_turns_with_the_lattice():
    points = [(5 + 6 * k, 5 + 6 * row) for row in range(3) for k in range(4)]
    ground = ground_of(box(0, 0, 30, 25), (5, 0))
    turned = Ground(
        affinity.rotate(ground.area, 30, origin=(0, 0)),
        affinity.rotate(ground.passable, 30, origin=(0, 0)),
        (Entry("entry-1", affinity.rotate(Point(5, 0), 30, origin=(0, 0))),),
    )
    moved = [affinity.rotate(Point(p), 30, origin=(0, 0)).coords[0] for p in points]
    straight = route_header(ground, bores(points), along_deg=0.0)
    oblique = route_header(turned, bores(moved), along_deg=30.0)
    assert oblique.length_m == pytest.approx(straight.length_m, abs=1e-6)
    assert len(oblique.runs) == len(straight.runs)


def test_one_end_of_each_trench_is_joined_on_the_side_of_the_entry():
    ground = ground_of(box(0, 0, 40, 20), (0, 0))
    lines = [LineString([(5, y), (35, y)]) for y in (5, 8, 11, 14)]
    ends = [[line.coords[0], line.coords[-1]] for line in lines]
    header = route_header(ground, ends, along_deg=0.0, avoid=lines)
    assert_tree(header, ground, ends)
    # hypot(5, 5) to the first trench, then 3 x 3 m up the left ends.
    assert header.length_m == pytest.approx(math.hypot(5, 5) + 9)


def test_the_header_does_not_cross_a_trench_where_a_way_round_is_open():
    ground = ground_of(box(0, 0, 40, 20), (20, 0))
    lines = [LineString([(5, y), (35, y)]) for y in (5, 8, 11)]
    ends = [[line.coords[0], line.coords[-1]] for line in lines]
    header = route_header(ground, ends, along_deg=0.0, avoid=lines)
    whole = MultiLineString(list(header.runs))
    for line in lines:
        common = whole.intersection(line)
        # Nothing but the joined end is touched.
        assert common.length < TOLERANCE
        assert max(common.distance(Point(end)) for end in line.coords) == pytest.approx(30)
        assert min(common.distance(Point(end)) for end in line.coords) <= TOLERANCE


def test_the_header_goes_round_the_end_of_a_trench_that_it_joins_at_the_other_end():
    # A bore at the lower left asks for a pipe through the lower ends of three trenches, a trench
    # at the upper left for one past the upper ends; a wall stands between bore and trench.
    lines = [LineString([(x, 1), (x, 20)]) for x in (10, 13, 16)]
    lines.append(LineString([(2, 20), (8, 20)]))
    ground = ground_of(box(0, 1, 40, 21) - box(-1, 4, 10, 16), (40, 1))
    ends = [[line.coords[0], line.coords[-1]] for line in lines] + [[(2.0, 1.0)]]
    header = route_header(ground, ends, along_deg=90.0, avoid=lines)
    assert_tree(header, ground, ends)
    whole = MultiLineString(list(header.runs))
    assert not any(whole.crosses(line) for line in lines)


def test_each_crossing_of_a_utility_is_listed_once_with_its_place():
    water = Feature("water-1", "water line", LineString([(10, -5), (10, 25)]))
    ground = ground_of(box(0, 0, 20, 20), (0, 5), marked=[water])
    header = route_header(ground, bores([(15, 5), (15, 10)]))
    crossing = header.crossings[0]
    assert [(c.feature, c.kind) for c in header.crossings] == [("water-1", "water line")]
    assert (crossing.x_m, crossing.y_m) == pytest.approx((10, 5))


def test_a_driveway_is_crossed_and_marked_halfway_not_taken_for_a_wall():
    drive = Feature("drive-1", "driveway", box(8, 0, 12, 20))
    ground = ground_of(box(0, 0, 20, 20), (0, 5), marked=[drive])
    header = route_header(ground, bores([(15, 5)]))
    assert [(c.feature, c.x_m, c.y_m) for c in header.crossings] == [("drive-1", 10.0, 5.0)]


def test_round_an_obstacle_the_side_without_a_crossing_is_taken():
    # A shed in the middle: both ways round are 2 hypot(4, 1) + 2 = 10.25 m long. The gas line
    # comes up from the south and ends at the shed, so the north side is free.
    gas = Feature("gas-1", "gas line", LineString([(5, -5), (5, 4)]))
    shed = box(4, 4, 6, 6)
    ground = ground_of(box(0, 0, 10, 10) - shed, (0, 5), marked=[gas])
    header = route_header(ground, bores([(10, 5)]))
    assert header.crossings == ()
    assert header.length_m == pytest.approx(2 * math.hypot(4, 1) + 2, abs=0.5)
    assert max(y for run in header.runs for _, y in run.coords) > 6


def test_a_utility_that_ends_at_the_entry_is_not_crossed_there():
    water = Feature("water-1", "water line", LineString([(0, 5), (0, 20)]))
    ground = ground_of(box(0, 0, 20, 20), (0, 5), marked=[water])
    assert route_header(ground, bores([(15, 5)])).crossings == ()


def test_the_same_input_gives_the_same_header_whatever_ran_before():
    ground = ground_of(box(0, 0, 60, 60) - box(20, 20, 40, 40), (20, 30))
    points = [(3 + 6.1 * k, 3 + 6.1 * row) for row in range(3) for k in range(8)]
    first = route_header(ground, bores(points), along_deg=0.0)
    assert route_header(ground, bores(points), along_deg=0.0) == first


@st.composite
def scenes(draw):
    """A lot with up to six round and square keep-outs, and up to 14 bores or trench ends."""
    lot = box(0, 0, 60, 45)
    places = st.tuples(st.floats(4, 56), st.floats(4, 41))
    for kind, place, size in draw(
        st.lists(st.tuples(st.booleans(), places, st.floats(1, 6)), max_size=6)
    ):
        lot -= Point(place).buffer(size) if kind else box(*place, place[0] + size, place[1] + size)
    return lot, draw(st.lists(places, min_size=1, max_size=14))


@settings(max_examples=several(15, 60), deadline=None, derandomize=True)
@given(scenes())
def test_a_header_is_a_tree_inside_the_passable_ground_that_joins_every_bore(scene):
    lot, places = scene
    ground = ground_of(lot, (0, 0))
    reachable = reachable_area(ground)
    points = list(dict.fromkeys(place for place in places if reachable.covers(Point(place))))
    header = route_header(ground, bores(points))
    if points:
        assert_tree(header, ground, bores(points))


def test_a_header_passes_over_trenches_that_it_does_not_join_there():
    # out of the entry at the origin across T1 to the beginning of T2; T3 begins on the header
    lines = {
        "T1": [(-10, 3), (10, 3)], "T2": [(0, 6), (20, 6)], "T3": [(0, 4.5), (20, 4.5)],
    }  # fmt: skip
    trenches = [Trench(name, LineString(line), 0.6, 1.5, 2) for name, line in lines.items()]
    header = Header((LineString([(0, 0), (0, 6)]),), Entry("E1", Point(0, 0)))
    [found] = over_trenches(header, trenches)
    assert (found.feature, found.x_m, found.y_m) == ("T1", 0.0, 3.0)
