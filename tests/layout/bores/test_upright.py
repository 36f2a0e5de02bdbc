"""Bores: how many, how deep, where, and in which order."""

from dataclasses import replace

import numpy as np
import pytest
import shapely
from bore_ground import LAWN, OPTIONS, ground, points_of
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.distance import pdist
from shapely import MultiPolygon, Point, Polygon, box
from wording import in_words

from siteplan.geometry.memory import Memory
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.upright import depth_of_each, lay_out_bores
from siteplan.layout.counting import elements_needed
from siteplan.layout.model import Ground
from siteplan.site.model import Entry, VerticalOptions
from siteplan.units.lengths import FOOT
from siteplan.units.systems import METRIC


def test_as_few_bores_as_carry_the_length_at_the_greatest_depth():
    # 1,100 ft / 400 ft = 2.75, so 3; 1,100 / 3 = 366.67, up to 367 ft
    layout = lay_out_bores(LAWN, OPTIONS, 1100 * FOOT)
    assert [bore.id for bore in layout.elements] == ["B1", "B2", "B3"]
    assert {round(bore.depth_m / FOOT, 9) for bore in layout.elements} == {367.0}
    assert layout.obstacle is None


@pytest.mark.parametrize(
    ("required_ft", "bores", "depth_ft"),
    [
        (1200, 3, 400),  # 1,200 / 400 = 3 exactly
        (1200.3, 4, 301),  # one bore more: 300.075, up to 301
        (100, 1, 150),  # never below the least depth
        (399.5, 1, 400),
        (0, 1, 150),
    ],
)
def test_depth_is_shared_out_and_rounded_up_to_whole_feet(required_ft, bores, depth_ft):
    needed = elements_needed(required_ft * FOOT, OPTIONS.depth_most_m)
    assert needed == bores
    depth = depth_of_each(required_ft * FOOT, bores, options=OPTIONS)
    assert depth / FOOT == pytest.approx(depth_ft, abs=1e-9)


def test_a_depth_that_a_whole_foot_would_pass_is_the_greatest_depth_itself():
    metric = VerticalOptions(spacing_m=6.0, depth_least_m=50.0, depth_most_m=100.0, diameter_m=0.15)
    # 99.9 m = 327.76 ft, up to 328 ft = 99.97 m; 100 m = 328.08 ft, where 329 ft would be 100.28 m
    assert depth_of_each(99.9, 1, options=metric) == pytest.approx(328 * FOOT)
    assert depth_of_each(100.0, 1, options=metric) == 100.0


def test_a_metric_job_is_drilled_to_half_metres():
    metric = VerticalOptions(spacing_m=6.0, depth_least_m=50.0, depth_most_m=100.0, diameter_m=0.15)
    # 318.8 m / 5 = 63.76 m, up to 64 m
    assert depth_of_each(318.8, 5, options=metric, unit=METRIC) == 64.0


@settings(max_examples=several(15, 60), deadline=None)
@given(st.floats(1.0, 5000.0))
def test_the_length_provided_is_never_below_the_length_required(required):
    bores = elements_needed(required, OPTIONS.depth_most_m)
    assert bores * depth_of_each(required, bores, options=OPTIONS) >= required - TOLERANCE


def test_capacity_is_what_the_rows_hold_at_the_greatest_depth():
    # 12 ft by 60 ft holds one row of four: 4 * 400 ft
    layout = lay_out_bores(ground(box(0, 0, 60 * FOOT, 12 * FOOT), (0, -2)), OPTIONS, 500 * FOOT)
    assert layout.capacity_m / FOOT == pytest.approx(1600)
    assert len(layout.elements) == 2


def test_nine_bores_on_a_lawn_stand_three_by_three():
    points = points_of(lay_out_bores(LAWN, OPTIONS, 3600 * FOOT))
    assert len(points) == 9
    lines = {
        tuple(np.unique(np.round(points[:, axis], 3), return_counts=True)[1]) for axis in (0, 1)
    }
    assert (3, 3, 3) in lines


def test_bores_stand_in_the_part_of_the_lot_next_to_the_entry():
    field = ground(box(0, 0, 200, 100), (100, -3))
    points = points_of(lay_out_bores(field, OPTIONS, 2400 * FOOT))
    assert np.hypot(points[:, 0] - 100, points[:, 1]).max() < 20


def test_the_first_bore_is_a_row_end_near_the_entry_and_the_next_stands_beside_it():
    points = points_of(lay_out_bores(LAWN, OPTIONS, 3600 * FOOT))
    steps = np.hypot(*np.diff(points, axis=0).T)
    # to and fro: from one bore to the next is never farther than one step across the rows
    assert steps.max() <= 20 * FOOT * 1.2
    distance = np.hypot(points[:, 0] - 20, points[:, 1] + 3)
    assert distance[:3].mean() <= distance[3:].mean()


def test_too_small_a_lot_gets_all_the_bores_that_fit_and_a_sentence():
    # 60 ft by 20 ft at 20 ft: 4 in each of 2 rows
    small = ground(box(0, 0, 60 * FOOT, 20 * FOOT), (0, -2))
    layout = lay_out_bores(small, OPTIONS, 3500 * FOOT)
    assert len(layout.elements) == 8
    assert layout.length_m / FOOT == pytest.approx(8 * 400)
    # Oler: 2 * 1,200 / (1.732 * 400) + 160 / 40 + 1 = 8.46, so that 8 is proven the most
    assert layout.most == 8
    assert in_words(layout.obstacle) == (
        "room for 8 bores at 20 ft spacing; no arrangement holds more; "
        "9 bores needed at the 400 ft limit"
    )


def test_no_available_area_is_said_in_words():
    layout = lay_out_bores(
        ground(Polygon(), (0, 0), passable=box(0, 0, 5, 5)), OPTIONS, 1000 * FOOT
    )
    assert layout.elements == ()
    assert layout.header is None
    assert in_words(layout.obstacle) == "the setbacks leave no usable area for bores"


def test_an_area_that_no_entry_reaches_is_not_used():
    far = Ground(box(0, 0, 40, 30), box(100, 0, 110, 10), (Entry("E1", Point(100, 5)),))
    layout = lay_out_bores(far, OPTIONS, 1000 * FOOT)
    assert layout.elements == ()
    assert layout.capacity_m == 0.0
    assert (
        in_words(layout.obstacle) == "the header cannot reach the usable area from any entry point"
    )


def test_bores_spill_over_to_another_part_when_one_is_full():
    parts = MultiPolygon([box(0, 0, 20, 8), box(60, 0, 80, 8)])
    lot = ground(parts, (10, -3), passable=box(-5, -5, 85, 13))
    layout = lay_out_bores(lot, OPTIONS, 10 * 400 * FOOT)
    points = points_of(layout)
    # each part holds two rows of four at 20 ft
    assert len(points) == 10
    assert (points[:8, 0] < 21).all()
    assert (points[8:, 0] > 59).all()
    assert layout.obstacle is None


def test_a_header_joins_every_bore_to_the_entry():
    layout = lay_out_bores(LAWN, OPTIONS, 3600 * FOOT)
    runs = shapely.unary_union(layout.header.runs)
    assert shapely.distance(runs, shapely.points(points_of(layout))).max() <= 1e-5
    assert runs.distance(Point(20, -3)) <= 1e-5


@pytest.mark.parametrize("bores", [1, 2, 5, 7, 12, 16, 23])
def test_every_layout_keeps_the_spacing_and_stays_inside(bores):
    lot = box(0, 0, 45, 35).difference(Point(20, 15).buffer(6))
    points = points_of(lay_out_bores(ground(lot, (20, -3)), OPTIONS, bores * 400 * FOOT))
    assert len(points) == bores
    assert bores == 1 or pdist(points).min() >= OPTIONS.spacing_m - TOLERANCE
    assert shapely.dwithin(lot, shapely.points(points), TOLERANCE).all()


@settings(max_examples=several(8, 200), deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0, 40), st.floats(0, 30), st.floats(0.1, 18), st.floats(0.1, 18)),
        min_size=1,
        max_size=4,
    ),
    st.integers(1, 12),
)
def test_as_many_bores_are_placed_as_are_needed_or_fit(boxes, needed):
    area = shapely.unary_union([box(x, y, x + w, y + h) for x, y, w, h in boxes])
    lot = ground(area, (0, -4), passable=box(-5, -5, 70, 60))
    layout = lay_out_bores(lot, OPTIONS, needed * 400 * FOOT)
    fit = round(layout.capacity_m / OPTIONS.depth_most_m)
    assert len(layout.elements) == min(needed, fit)
    assert (layout.obstacle is None) == (needed <= fit)
    points = points_of(layout)
    assert len(points) < 2 or pdist(points).min() >= OPTIONS.spacing_m - TOLERANCE


def test_two_bores_half_a_spacing_apart_along_two_rows_are_both_found():
    # width 3.05 m, so that the second row stands about half a spacing along from the first
    narrow = ground(box(0, 0, 3.05, 5.3), (1, -3))
    assert len(lay_out_bores(narrow, OPTIONS, 800 * FOOT).elements) == 2


@pytest.mark.usefixtures("alone")
def test_the_same_ground_gives_the_same_layout():
    once = lay_out_bores(LAWN, OPTIONS, 1100.0)
    again = lay_out_bores(replace(LAWN, memory=Memory()), OPTIONS, 1100.0)
    assert once == again
    assert once.header is not again.header  # laid out anew
