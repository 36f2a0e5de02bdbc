"""Bore fields by option: count, fixed depth, wider spacing, free places, limit of bores."""

import dataclasses
from functools import cache

import numpy as np
import pytest
import shapely
from bore_ground import LAWN, OPTIONS, ground, points_of
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.distance import pdist
from shapely import Point, Polygon, affinity, box
from wording import in_words

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.neighbours import Neighbours
from siteplan.layout.bores.upright import lay_out_bores
from siteplan.units.lengths import FOOT
from siteplan.units.systems import METRIC

SPACING = 20 * FOOT
WIDE = dataclasses.replace(OPTIONS, spacing_most_m=25 * FOOT)
ROUND = Point(0, 0).buffer(12)
"""Straight rows hold 16 bores at 20 ft here, free places more; Oler's bound is 21."""


def depths_ft(layout):
    return {round(bore.depth_m / FOOT, 6) for bore in layout.elements}


def test_a_count_is_kept_exactly_and_the_depth_follows():
    layout = lay_out_bores(LAWN, dataclasses.replace(OPTIONS, count=6), 1100 * FOOT)
    # 1,100 / 6 = 183.33, up to 184 ft
    assert (len(layout.elements), depths_ft(layout), layout.obstacle) == (6, {184.0}, None)


def test_a_count_that_would_have_to_be_too_deep_is_an_obstacle():
    layout = lay_out_bores(LAWN, dataclasses.replace(OPTIONS, count=2), 1100 * FOOT)
    # 1,100 / 2 = 550 ft
    assert (
        in_words(layout.obstacle)
        == "2 bores would have to be 550 ft deep each; the limit is 400 ft"
    )
    assert depths_ft(layout) == {400.0}


def test_a_count_that_the_lot_does_not_hold_says_how_many_it_does():
    small = ground(box(0, 0, 60 * FOOT, 20 * FOOT), (0, -2))
    layout = lay_out_bores(small, dataclasses.replace(OPTIONS, count=9), 1100 * FOOT)
    assert in_words(layout.obstacle) == (
        "room for 8 bores at 20 ft spacing; no arrangement holds more; 9 asked for"
    )
    assert len(layout.elements) == 8


def test_a_fixed_depth_is_the_depth_of_every_bore():
    fixed = dataclasses.replace(OPTIONS, depth_least_m=300 * FOOT, depth_most_m=300 * FOOT)
    layout = lay_out_bores(LAWN, fixed, 1000 * FOOT)
    # 1,000 / 300 = 3.33, so 4
    assert (len(layout.elements), depths_ft(layout)) == (4, {300.0})


@settings(max_examples=10, deadline=None)
@given(st.integers(1, 9), st.floats(50.0, 4000.0))
def test_a_count_is_never_passed_and_no_bore_leaves_its_limits(count, required_ft):
    layout = lay_out_bores(LAWN, dataclasses.replace(WIDE, count=count), required_ft * FOOT)
    assert len(layout.elements) == count
    assert all(150 <= depth <= 400 for depth in depths_ft(layout))
    assert bool(layout.obstacle) == (required_ft > count * 400)


@pytest.mark.parametrize("bores", [2, 3, 4, 6, 9, 12])
def test_a_wider_field_costs_the_header_no_more_than_its_steps(bores):
    asked = lay_out_bores(LAWN, OPTIONS, bores * 400 * FOOT)
    wide = lay_out_bores(LAWN, WIDE, bores * 400 * FOOT)
    assert len(wide.elements) == bores
    assert asked.spacing_m == SPACING
    assert SPACING < wide.spacing_m <= 25 * FOOT + TOLERANCE  # the lawn has room
    assert wide.spacing_m / FOOT == pytest.approx(round(wide.spacing_m / FOOT))
    grown = (bores - 1) * (wide.spacing_m - SPACING)
    # half a spacing each for gaps, oblique and staggered rows is header worth spending too
    assert wide.header.length_m <= asked.header.length_m + grown + 1.5 * SPACING
    assert pdist(points_of(wide)).min() >= wide.spacing_m - TOLERANCE


def test_the_widest_spacing_may_be_far_wider_than_there_is_room_for():
    # four bores hold at 30 ft in a yard of 31 ft square, and no farther: a square of that side is
    # the widest four points of a grid can have there
    yard = ground(box(0, 0, 31 * FOOT, 31 * FOOT), (0, -2))
    far = dataclasses.replace(OPTIONS, spacing_most_m=60 * FOOT)
    layout = lay_out_bores(yard, far, 4 * 400 * FOOT)
    assert len(layout.elements) == 4
    assert layout.spacing_m / FOOT == pytest.approx(31)


@pytest.mark.parametrize("bores", [6, 9])
def test_bores_that_feel_one_another_stand_in_fewer_rows(bores):
    # a row has fewer near neighbours than a block of the same steps: by geometry, whatever the
    # ground; what a metre apart is worth is here the most there is
    felt = Neighbours((1.0, 100.0), (400.0, 0.0))
    alone = lay_out_bores(LAWN, OPTIONS, bores * 400 * FOOT)
    weighed = lay_out_bores(LAWN, OPTIONS, bores * 400 * FOOT, felt)
    assert len(weighed.elements) == bores
    costs = [felt.of(points_of(each)) + each.header.length_m for each in (weighed, alone)]
    assert costs[0] < costs[1] - 1.0
    assert pdist(points_of(weighed)).mean() > pdist(points_of(alone)).mean()


def test_a_full_lot_keeps_the_spacing_asked_for():
    small = ground(box(0, 0, 60 * FOOT, 20 * FOOT), (0, -2))
    assert lay_out_bores(small, WIDE, 8 * 400 * FOOT).spacing_m == SPACING


def test_on_a_metric_sheet_the_spacing_grows_by_half_metres():
    metric = dataclasses.replace(WIDE, spacing_m=6.1, spacing_most_m=7.7)
    lawn = ground(box(0, 0, 40, 30), (20, -3), unit=METRIC)
    assert lay_out_bores(lawn, metric, 400 * FOOT * 4).spacing_m == 7.5


@cache
def eighteen_in_the_round():
    """More bores than straight rows hold."""
    return lay_out_bores(ground(ROUND, (0, -14)), OPTIONS, 18 * 400 * FOOT)


def test_bores_stand_freely_where_rows_do_not_hold_enough():
    rows = dataclasses.replace(OPTIONS, arrangement="rows")
    lot = ground(ROUND, (0, -14))
    assert "room for 16 bores" in in_words(lay_out_bores(lot, rows, 18 * 400 * FOOT).obstacle)
    layout = eighteen_in_the_round()
    points = points_of(layout)
    assert layout.obstacle is None
    assert len(points) == 18
    assert layout.capacity_m >= 18 * OPTIONS.depth_most_m - TOLERANCE
    assert pdist(points).min() >= SPACING - TOLERANCE
    assert layout.spacing_m >= SPACING
    assert shapely.dwithin(ROUND, shapely.points(points), TOLERANCE).all()


def test_free_bores_are_numbered_from_the_entry_on_from_neighbour_to_neighbour():
    points = points_of(eighteen_in_the_round())
    distance = np.hypot(*(points - [0, -14]).T)
    assert distance[0] == pytest.approx(distance.min())
    assert np.hypot(*np.diff(points, axis=0).T).max() <= 1.9 * SPACING


def test_a_header_joins_every_free_bore():
    layout = eighteen_in_the_round()
    runs = shapely.unary_union(layout.header.runs)
    assert shapely.distance(runs, shapely.points(points_of(layout))).max() <= 1e-5


def test_where_no_arrangement_can_hold_enough_rows_are_drawn_and_the_limit_is_said():
    layout = lay_out_bores(ground(ROUND, (0, -14)), OPTIONS, 30 * 400 * FOOT)
    # Oler: 2 * 452.4 / (1.732 * 37.16) + 75.4 / 12.19 + 1 = 21.2
    assert layout.most == 21
    assert in_words(layout.obstacle) == (
        "room for 16 bores at 20 ft spacing; no arrangement holds more than 21; "
        "30 bores needed at the 400 ft limit"
    )


CORNERS = st.lists(
    st.tuples(st.floats(0, 24), st.floats(0, 24)), min_size=3, max_size=6, unique=True
)


@settings(max_examples=several(4, 80), deadline=None)
@given(CORNERS, st.integers(1, 8), st.sampled_from(["rows", "free", "best"]))
def test_whatever_the_arrangement_bores_keep_apart_inside_and_within_the_limit(
    corners, needed, arrangement
):
    area = shapely.convex_hull(shapely.MultiPoint(corners))
    # no ground: a line, or a sliver of which nobody could survey the width
    if not isinstance(area, Polygon) or area.area < TOLERANCE:
        return
    options = dataclasses.replace(WIDE, arrangement=arrangement)
    layout = lay_out_bores(ground(area, (-2, -2)), options, needed * 400 * FOOT)
    points = points_of(layout).reshape(-1, 2)
    assert len(points) <= min(needed, layout.most)
    assert layout.capacity_m <= layout.most * OPTIONS.depth_most_m + TOLERANCE
    assert (len(points) == needed) == (layout.obstacle is None)
    assert len(points) < 2 or pdist(points).min() >= layout.spacing_m - TOLERANCE
    assert shapely.distance(area, shapely.points(points)).max(initial=0.0) <= TOLERANCE


@pytest.mark.parametrize(
    ("arrangement", "turn_deg", "dx", "dy"),
    [
        ("rows", 90, 5e5, 4.7e6),
        ("rows", 37, -80, 1e4),
        ("free", 37, -80, 1e4),
        ("free", 90, 5e5, 4.7e6),
    ][: several(3, 4)],
)
def test_moving_and_turning_the_lot_leaves_count_and_spacing_alone(arrangement, turn_deg, dx, dy):
    lawn = ground(box(0, 0, 27, 20), (14, -3))

    def moved(shape):
        return affinity.translate(affinity.rotate(shape, turn_deg, origin=(0, 0)), dx, dy)

    options = dataclasses.replace(WIDE, arrangement=arrangement)
    there = ground(moved(lawn.area), moved(lawn.entries[0].point).coords[0])
    bores = {"rows": 9, "free": 4}[arrangement]
    here = lay_out_bores(lawn, options, bores * 400 * FOOT)
    other = lay_out_bores(there, options, bores * 400 * FOOT)
    assert len(here.elements) == len(other.elements) == bores
    if arrangement == "rows":
        assert other.spacing_m == here.spacing_m
        assert other.header.length_m == pytest.approx(here.header.length_m, abs=0.05)


@pytest.mark.parametrize("arrangement", ["rows", "free"])
@pytest.mark.thorough
def test_the_same_input_gives_the_same_ids_in_the_same_places(arrangement):
    options = dataclasses.replace(WIDE, arrangement=arrangement)
    lot = ground(ROUND, (0, -14))
    first = lay_out_bores(lot, options, 5 * 400 * FOOT)
    second = lay_out_bores(ground(ROUND, (0, -14)), options, 5 * 400 * FOOT)
    assert first.elements == second.elements
    assert [bore.id for bore in first.elements] == [f"B{k}" for k in range(1, 6)]


@pytest.mark.parametrize("bores", [2, 5, 8, 12])
def test_the_next_bore_in_rows_is_a_neighbour(bores):
    layout = lay_out_bores(LAWN, WIDE, bores * 400 * FOOT)
    steps = np.hypot(*np.diff(points_of(layout), axis=0).T)
    assert steps.max() <= 1.5 * layout.spacing_m
