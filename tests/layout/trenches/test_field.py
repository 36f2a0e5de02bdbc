import json
import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from places import REFERENCES
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, box, union_all
from shapely.geometry import shape
from shapely.ops import nearest_points
from wording import in_words

from siteplan.errors import GeometryError
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Ground, Layout
from siteplan.layout.trenches.field import lay_out_trenches
from siteplan.layout.trenches.fit import trench_bound
from siteplan.site.model import Entry, Feature, HorizontalOptions

FOOT = 0.3048
OPTIONS = HorizontalOptions(
    spacing_m=3.0, depth_m=1.5, width_m=0.9, pipes=2, shortest_m=12.0, longest_m=60.0
)


def lots():
    """The test areas, each with ground for the header around it and to its entry."""
    path = REFERENCES / "areas.geojson"
    for feature in json.loads(path.read_text(encoding="utf-8"))["features"][:8]:
        area, spot = shape(feature["geometry"]), Point(feature["properties"]["entry_m"])
        way = LineString([spot, nearest_points(area, spot)[0]]).buffer(1.5)
        passable = area.buffer(3.2).buffer(-2).union(way)
        if feature["properties"]["name"] == "G_split":
            passable = passable.buffer(4).buffer(-4)  # the header may cross the drive
        yield feature["properties"]["name"][0], Ground(area, passable, (Entry("entry-1", spot),))


LOTS = dict(lots())


def open_lot(*, area=None, marked=()):
    lot = box(0, 0, 40, 30)
    return Ground(
        lot if area is None else area, lot, (Entry("entry-1", Point(0, 0)),), tuple(marked)
    )


def assert_sound(layout: Layout, ground: Ground, options=OPTIONS) -> None:
    """Inside, apart, of a length allowed, and joined at the first end, alone unless a ring."""
    lines = [trench.line for trench in layout.elements]
    assert ground.area.buffer(TOLERANCE).covers(MultiLineString(lines))
    whole = MultiLineString(list(layout.header.runs))
    assert ground.passable.buffer(TOLERANCE).covers(whole)
    for index, line in enumerate(lines):
        assert line.length >= options.shortest_m - TOLERANCE
        assert line.length <= (options.longest_m or math.inf) + TOLERANCE
        assert all(line.distance(o) >= options.spacing_m - TOLERANCE for o in lines[:index])
        assert Point(line.coords[0]).distance(whole) <= TOLERANCE
        assert line.is_ring or Point(line.coords[-1]).distance(whole) > TOLERANCE


@pytest.mark.parametrize("name", "ABCDEG")
def test_the_trenches_carry_the_length_required_in_whole_feet(name):
    ground = LOTS[name]
    required = 0.2 * ground.area.area  # 0.6 of what rows 3 m apart hold on average
    layout = lay_out_trenches(ground, OPTIONS, required)
    assert_sound(layout, ground)
    assert layout.obstacle is None
    assert layout.length_m >= required
    # Whole feet, unless the shortest length forbids to cut the last trench any further.
    feet = layout.length_m / FOOT
    shortest = min(trench.length_m for trench in layout.elements)
    assert abs(feet - math.ceil(required / FOOT - 1e-9)) < 1e-6 or (
        shortest < OPTIONS.shortest_m + TOLERANCE and layout.length_m < required + 12.0
    )


@settings(max_examples=several(4, 80), deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(st.floats(0, 50), st.floats(0, 40), st.floats(2, 9)), max_size=3),
    st.sampled_from([(2.4, 6.0, 30.0), (3.0, 15.0, None), (4.5, 0.0, 60.0)]),
    st.floats(20, 200),
)
def test_a_layout_is_sound_on_any_lot(keep_outs, lengths, required):
    lot = Polygon([(0, 0), (50, 4), (46, 40), (5, 36)])
    house = box(20, 15, 31, 24)
    round_ones = [Point(x, y).buffer(size) for x, y, size in keep_outs]
    area = lot.buffer(-3).difference(union_all([house.buffer(3), *round_ones]))
    passable = lot.buffer(-1).difference(house)
    water = Feature("water-1", "water line", LineString([(25, 24), (30, 60)]))
    ground = Ground(area, passable, (Entry("entry-1", Point(31, 20)),), (water,))
    spacing, shortest, longest = lengths
    options = replace(OPTIONS, spacing_m=spacing, shortest_m=shortest, longest_m=longest)
    layout = lay_out_trenches(ground, options, required)
    if layout.elements:
        assert_sound(layout, ground, options)
    assert layout.obstacle or layout.length_m >= required
    assert layout.length_m <= layout.capacity_m + TOLERANCE


@pytest.mark.parametrize("name", "ABG"[: several(2, 3)])
def test_a_lot_too_small_is_filled_and_says_what_it_holds(name):
    ground = LOTS[name]
    layout = lay_out_trenches(ground, OPTIONS, trench_bound(ground.area, 3.0) + 1)
    assert_sound(layout, ground)
    assert layout.length_m >= 0.99 * layout.capacity_m
    assert layout.capacity_m <= trench_bound(ground.area, 3.0)
    assert layout.most_m == trench_bound(ground.area, 3.0)
    most = math.ceil(layout.most_m / FOOT)
    assert in_words(layout.obstacle) == (
        f"best layout found at 9.8 ft spacing; no arrangement holds more than {most:,} ft"
    )


def test_trenches_take_width_depth_and_pipes_from_the_options():
    trench = lay_out_trenches(open_lot(), OPTIONS, 30.0).elements[0]
    assert (trench.width_m, trench.depth_m, trench.pipes) == (0.9, 1.5, 2)


def test_trenches_are_numbered_row_by_row_from_the_entry():
    layout = lay_out_trenches(open_lot(), OPTIONS, 150.0)
    assert [trench.id for trench in layout.elements] == ["T1", "T2", "T3", "T4"]
    distances = [trench.line.distance(Point(0, 0)) for trench in layout.elements]
    assert distances == sorted(distances)


def test_neighbouring_rows_along_an_edge_are_taken_and_the_last_is_shortened():
    # 130 m = 426.5 ft, so 427 ft = 130.15 m. Three rows of 40 m and 10 m more would leave a piece
    # below the shortest 12 m, so another row gives way too (or rows of 30 m are taken).
    layout = lay_out_trenches(open_lot(), OPTIONS, 130.0)
    assert layout.length_m == pytest.approx(427 * FOOT)
    steps = [np.subtract(t.line.coords[-1], t.line.coords[0]) for t in layout.elements]
    assert all(min(abs(dx), abs(dy)) < 1e-6 for dx, dy in steps)
    gaps = [a.line.distance(b.line) for a, b in pairwise(layout.elements)]
    assert gaps == pytest.approx([3.0] * len(gaps))


def lengths_of(layout):
    return [trench.length_m for trench in layout.elements]


def test_a_short_row_near_the_entry_is_left_out_where_even_rows_have_room():
    # Rows of 30 m, but 13.9 m for the first: with it 427 ft = 130.15 m would be 13.9 m + 4 x
    # 29.06 m. Five full rows of 85.4 ft = 26.03 m take 3 m more of header and need no valves.
    area = box(0, 0, 30, 16.5).difference(box(13.9, 0, 30, 2))
    layout = lay_out_trenches(open_lot(area=area), OPTIONS, 130.0)
    assert lengths_of(layout) == pytest.approx([427 / 5 * FOOT] * 5)


def test_a_short_row_is_taken_where_no_choice_of_even_rows_has_room():
    # Rows 3 m apart on 13.5 m: four of 30 m and the short one, 134 m at most.
    area = box(0, 0, 30, 13.5).difference(box(13.9, 0, 30, 2))
    layout = lay_out_trenches(open_lot(area=area), OPTIONS, 130.0)
    assert layout.length_m == pytest.approx(427 * FOOT)
    assert min(lengths_of(layout)) == pytest.approx(13.9)


def test_trenches_of_one_pipe_are_dug_in_pairs():
    # 100 m = 329 ft: three rows of 40 m would leave one pipe without another to come home through.
    layout = lay_out_trenches(open_lot(), replace(OPTIONS, pipes=1), 100.0)
    assert len(layout.elements) % 2 == 0


@settings(max_examples=several(4, 100), deadline=None, derandomize=True)
@given(st.floats(27, 55), st.integers(3, 6), st.floats(0.45, 0.8), st.floats(0.6, 0.9))
def test_trenches_are_within_five_percent_where_a_rectangle_has_room(wide, rows, cut, share):
    # A rectangle of so many rows 3 m apart holds the length required; at the entry lies one row
    # more that is shorter.
    area = box(0, 0, wide, 3.0 * rows + 0.1).difference(box(cut * wide, 0, wide, 2.9))
    layout = lay_out_trenches(open_lot(area=area), OPTIONS, share * rows * wide)
    assert min(lengths_of(layout)) >= 0.95 * max(lengths_of(layout))


def square_ended():
    """Ground of 30 m by 10 m that trenches 0.9 m wide may open: centre lines lie 0.45 m inside."""
    whole = box(0, 0, 30, 10)
    return Ground(whole.buffer(-0.45, join_style="mitre"), whole, open_lot().entries, whole=whole)


def test_rows_are_led_on_to_the_edge_of_the_ground_that_may_be_opened():
    # Four rows 3 m apart on 9.1 m: 29.1 m inside the inset ground, 30 m with both square ends.
    layout = lay_out_trenches(square_ended(), OPTIONS, 119.5)
    assert layout.capacity_m == pytest.approx(120.0, abs=1e-4)
    assert layout.obstacle is None


def test_led_on_trenches_open_no_ground_beyond_the_edge():
    ground = square_ended()
    layout = lay_out_trenches(ground, OPTIONS, 119.5)
    opened = union_all([trench.footprint for trench in layout.elements])
    assert opened.difference(ground.whole.buffer(TOLERANCE)).is_empty


def test_the_bound_holds_for_led_on_trenches_too():
    # More than the 116.4 m of the inset rows. (300 + 80 x 1.05 + pi 1.05²) / 3 = 129.15 m of whole
    # ground widened by half of 3 - 0.9 m, in which the inset ground widened by 1.5 m lies: 0.45 m
    # inside and 1.5 m out of it is 1.05 m as well, with rounder corners.
    layout = lay_out_trenches(square_ended(), OPTIONS, 500.0)
    assert layout.capacity_m == pytest.approx(120.0, abs=1e-4)
    assert layout.most_m == pytest.approx(129.15, abs=0.05)


def test_a_trench_is_shortened_at_the_end_away_from_the_header():
    layout = lay_out_trenches(open_lot(), OPTIONS, 50.0)
    assert_sound(layout, open_lot())
    assert layout.length_m == pytest.approx(165 * FOOT)  # 50 m = 164.04 ft, so 165 ft


def test_the_header_crosses_no_trench_on_an_open_lot():
    layout = lay_out_trenches(open_lot(), OPTIONS, 300.0)
    whole = MultiLineString(list(layout.header.runs))
    for trench in layout.elements:
        assert whole.intersection(trench.line).equals_exact(Point(trench.line.coords[0]), 1e-6)


def test_ground_without_a_way_to_an_entry_is_left_alone():
    area = MultiPolygon([box(0, 0, 20, 20), box(100, 0, 140, 20)])
    ground = Ground(area, area, (Entry("entry-1", Point(0, 0)),))
    layout = lay_out_trenches(ground, OPTIONS, 500.0)
    assert max(x for trench in layout.elements for x, _ in trench.line.coords) <= 20 + TOLERANCE


def test_a_crossing_of_the_header_is_reported():
    water = Feature("water-1", "water line", LineString([(-5, 5), (60, 5)]))
    ground = open_lot(area=box(0, 10, 40, 30), marked=[water])
    layout = lay_out_trenches(ground, OPTIONS, 100.0)
    assert [crossing.feature for crossing in layout.header.crossings] == ["water-1"]


@pytest.mark.parametrize(
    ("ground", "said"),
    [
        (open_lot(area=Polygon()), "the setbacks leave no usable area for trenches"),
        (
            Ground(box(0, 0, 9, 9), box(0, 0, 9, 9), (Entry("entry-1", Point(-5, 0)),)),
            "the header cannot reach the usable area from any entry point",
        ),
        (open_lot(area=box(0, 0, 5, 5)), "no trench of at least 39.4 ft fits"),
    ],
)
def test_where_no_trench_fits_the_layout_is_empty_and_says_why(ground, said):
    layout = lay_out_trenches(ground, OPTIONS, 100.0)
    assert layout.elements == ()
    assert layout.header is None
    assert layout.capacity_m == 0.0
    assert in_words(layout.obstacle) == said


def test_the_same_ground_gives_the_same_layout():
    first = lay_out_trenches(LOTS["C"], OPTIONS, 200.0)
    assert lay_out_trenches(LOTS["C"], OPTIONS, 200.0) == first


@pytest.mark.parametrize("required", [0.0, -5.0, math.nan, math.inf])
def test_a_length_required_that_is_not_positive_is_refused(required):
    with pytest.raises(GeometryError, match=r"length required is .* m; give a positive length"):
        lay_out_trenches(open_lot(), OPTIONS, required)


def test_options_that_make_no_sense_are_refused():
    with pytest.raises(GeometryError, match=r"spacing is 0\.0 m; give a positive distance"):
        lay_out_trenches(open_lot(), replace(OPTIONS, spacing_m=0.0), 50.0)
