"""Trenches led on at their square ends. Figures are worked by hand where they stand."""

import math
import random

import pytest
import shapely
from campaign import several
from shapely import LineString, Polygon, box

from siteplan.geometry.offset import keep_inside
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.trenches.ends import bound_with_ends, extended
from siteplan.layout.trenches.fit import fit_trenches, total_length, trench_bound


def lengths(lines):
    return [round(line.length, 3) for line in lines]


def test_a_row_ends_square_at_the_edge_of_the_ground():
    # 30 m of ground inset by 0.4 m at both ends: 29.2 m, led on to 30 m
    lines = [LineString([(0.4, y), (29.6, y)]) for y in (0.4, 3.4, 6.4, 9.6)]
    longer = extended(lines, box(0, 0, 30, 10), width_m=0.8, spacing_m=3.0)
    assert lengths(longer) == [30.0] * 4


def test_a_row_keeps_its_first_end_first():
    row = LineString([(0.5, 2.0), (9.5, 2.0)])
    [longer] = extended([row], box(0, 0, 10, 4), width_m=1.0, spacing_m=3.0)
    assert longer.coords[0] == pytest.approx((0.0, 2.0), abs=1e-5)
    assert longer.coords[-1] == pytest.approx((10.0, 2.0), abs=1e-5)


def test_against_a_slanted_edge_the_corner_of_the_end_decides():
    # Edge from (10, 0) to (14, 4), at 45 degrees: the lower corner (x, 1.5) meets it at x = 11.5;
    # inset by 0.5 the line at y = 2 ends 0.5 sqrt 2 before x = 12, at 11.293.
    ground = Polygon([(0, 0), (10, 0), (14, 4), (0, 4)])
    row = LineString([(0.5, 2.0), (12 - math.sqrt(0.5), 2.0)])
    [longer] = extended([row], ground, width_m=1.0, spacing_m=3.0)
    assert longer.coords[-1][0] == pytest.approx(11.5, abs=1e-5)


def test_two_pieces_of_one_row_keep_the_spacing_between_their_ends():
    # A gap of 3.5 m in the ground's 30 m: only 0.5 m of it may be used.
    pieces = [LineString([(0, 2), (13, 2)]), LineString([(16.5, 2), (30, 2)])]
    longer = extended(pieces, box(0, 0, 30, 4), width_m=2.0, spacing_m=3.0)
    assert longer[0].distance(longer[1]) == pytest.approx(3.0, abs=1e-3)
    assert longer[0].distance(longer[1]) >= 3.0 - TOLERANCE


def test_an_end_does_not_come_near_the_side_of_another_row():
    # The second line may go on 0.3 m until it is 3 m from the first.
    across, along = LineString([(10, 1), (10, 9)]), LineString([(0, 5), (6.7, 5)])
    longer = extended([across, along], box(-5, -5, 20, 20), width_m=1.0, spacing_m=3.0)
    assert longer[1].coords[-1][0] == pytest.approx(7.0, abs=1e-3)


@pytest.mark.parametrize("width", [0.4, 1.0, 3.0])
def test_no_line_passes_the_longest_length(width):
    # ground for a width more at both ends, and 0.7 m of it allowed
    row = LineString([(0.5, 2.0), (29.5, 2.0)])
    ground = box(0.5 - width, 0, 29.5 + width, 4)
    [longer] = extended([row], ground, width_m=width, spacing_m=3.0, longest_m=29.7)
    assert longer.length == pytest.approx(29.7)


def test_a_ring_stays_as_it_is():
    ring = LineString([(1, 1), (19, 1), (19, 9), (1, 9), (1, 1)])
    assert extended([ring], box(0, 0, 20, 10), width_m=1.0, spacing_m=3.0) == [ring]


def test_the_two_ends_of_an_opened_ring_keep_apart():
    opened = LineString([(8.6, 1), (1, 1), (1, 9), (19, 9), (19, 1), (11.6, 1)])
    [longer] = extended([opened], box(0, 0, 20, 10), width_m=1.0, spacing_m=3.0)
    first, last = shapely.Point(longer.coords[0]), shapely.Point(longer.coords[-1])
    assert first.distance(last) >= 3.0 - TOLERANCE


@pytest.mark.parametrize("shape", ["straight", "best"])
@pytest.mark.parametrize("seed", range(several(2, 60)))
def test_what_is_added_is_inside_apart_and_below_the_bound(seed, shape):
    r = random.Random(seed)
    lot = Polygon([(0, 0), (r.uniform(18, 30), 2), (r.uniform(18, 30), 20), (r.uniform(-4, 6), 18)])
    tree = shapely.Point(r.uniform(6, 14), r.uniform(6, 14)).buffer(r.uniform(1, 3))
    whole, width, spacing = lot.difference(tree), 0.9, 3.0
    area = keep_inside(whole, width / 2)
    lines = fit_trenches(area, spacing, shortest=4.0, longest=20.0, shape=shape)
    longer = extended(lines, whole, width_m=width, spacing_m=spacing, longest_m=20.0)
    opened = [Trench("T", line, width, 1.5, 2).footprint for line in longer]
    outside = shapely.union_all(opened).difference(whole.buffer(TOLERANCE))
    assert outside.area < (0.01 if shape == "best" else 1e-9)  # mitred chords of a bend
    for index, line in enumerate(longer):
        assert line.length <= 20.0 + TOLERANCE
        assert all(line.distance(one) >= spacing - TOLERANCE for one in longer[:index])
    bound = bound_with_ends(area, whole, width_m=width, spacing_m=spacing)
    least = 1.0 if shape == "straight" else 0.0
    assert total_length(lines) + least <= total_length(longer) <= bound


def test_the_bound_with_ends_is_never_below_that_of_the_inset_ground():
    whole = Polygon([(0, 0), (40, 0), (18, 22), (3, 15)])
    area = keep_inside(whole, 0.5)
    assert bound_with_ends(area, whole, width_m=1.0, spacing_m=3.0) >= trench_bound(area, 3.0)


def test_without_ground_for_a_centre_line_nothing_fits():
    nothing = shapely.MultiPolygon()
    assert bound_with_ends(nothing, box(0, 0, 9, 0.5), width_m=1.0, spacing_m=3.0) == 0.0
    assert extended([], nothing, width_m=1.0, spacing_m=3.0) == []


def test_a_line_that_ends_with_the_same_point_twice_is_led_on_like_any_other() -> None:
    twice = LineString([(0.5, 2.0), (20.0, 2.0), (20.0, 2.0)])
    (longer,) = extended([twice], shapely.box(0, 0, 30, 4), width_m=1.0, spacing_m=3.0)
    assert longer.coords[-1] == pytest.approx((21.0, 2.0))
