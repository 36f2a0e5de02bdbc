"""The well pair: far enough apart, on its own ground, with a short header."""

import math
from dataclasses import replace

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box
from wording import in_words

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Ground
from siteplan.layout.open_loop import WellWish, lay_out_wells
from siteplan.site.model import Entry, Feature
from siteplan.site.open_loop import OpenOptions

OPTIONS = OpenOptions(separation_m=15.0, diameter_m=0.15, depth_m=60.0)
LOT = box(-50, -50, 50, 50)


def ground(area, entry=(0, -10), passable=LOT):
    return Ground(area, passable, (Entry("E1", Point(entry)),))


def spots_of(layout):
    return [(well.x_m, well.y_m) for well in layout.elements]


def test_the_pair_keeps_its_separation_and_each_well_its_ground():
    supply, back = box(0, 0, 20, 10), box(5, -30, 40, 30).difference(box(0, -5, 30, 15))
    layout = lay_out_wells(ground(supply), OPTIONS, back)
    assert [well.id for well in layout.elements] == ["SUPPLY", "RETURN"]
    assert [well.role for well in layout.elements] == ["supply", "return"]
    one, other = spots_of(layout)
    assert math.dist(one, other) >= 15.0 - TOLERANCE
    assert supply.distance(Point(one)) <= TOLERANCE
    assert back.distance(Point(other)) <= TOLERANCE
    assert layout.obstacle is None
    assert layout.capacity_m == 0.0


def test_on_one_lawn_the_wells_stand_left_and_right_of_the_entry():
    # the entry lies on the lawn's edge: no header is shorter than the separation itself
    layout = lay_out_wells(ground(box(-30, -10, 30, 20)), OPTIONS, box(-30, -10, 30, 20))
    assert layout.header.length_m == pytest.approx(15.0, abs=0.05)


def test_a_header_never_shorter_than_the_wells_allow_is_found_close_to_the_best():
    # supply nearest at (0, 0), 10 m from the entry; the return strip begins 15 m farther north:
    # 10 + 15 = 25 m in one line
    layout = lay_out_wells(ground(box(-3, 0, 3, 2)), OPTIONS, box(-3, 15, 3, 20))
    assert layout.header.length_m == pytest.approx(25.0, abs=0.05)


def test_an_existing_well_is_the_supply_and_only_the_return_well_is_placed():
    known = Feature("well-1", "potable well", Point(12, 0))
    layout = lay_out_wells(ground(Polygon()), OPTIONS, box(-30, -5, 30, 20), known)
    supply, back = layout.elements
    assert (supply.existing, supply.x_m, supply.y_m) == ("well-1", 12.0, 0.0)
    assert math.dist((12, 0), (back.x_m, back.y_m)) >= 15.0 - TOLERANCE
    assert back.existing == ""


def test_the_separation_from_a_well_drawn_as_an_outline_is_kept_from_its_edge():
    known = Feature("well-1", "potable well", Point(12, 0).buffer(1.0))
    layout = lay_out_wells(ground(Polygon()), OPTIONS, box(-30, -5, 30, 20), known)
    back = layout.elements[1]
    assert known.shape.distance(Point(back.x_m, back.y_m)) >= 15.0 - 1e-2


def test_ground_too_small_for_the_separation_is_said_in_words():
    # diagonal of 6 m by 8 m: 10 m
    layout = lay_out_wells(ground(box(0, 0, 6, 8)), OPTIONS, box(0, 0, 6, 8))
    assert layout.elements == ()
    assert layout.header is None
    assert in_words(layout.obstacle) == (
        "the two wells can stand at most 32.8 ft apart; 49.2 ft are needed"
    )


@pytest.mark.parametrize(
    ("supply", "back", "thing"),
    [(Polygon(), LOT, "a supply well"), (LOT, Polygon(), "a return well")],
)
def test_no_available_area_is_said_in_words(supply, back, thing):
    layout = lay_out_wells(ground(supply), OPTIONS, back)
    assert in_words(layout.obstacle) == f"the setbacks leave no usable area for {thing}"


def test_ground_that_no_entry_reaches_is_not_used():
    layout = lay_out_wells(ground(box(80, 0, 99, 9)), OPTIONS, box(80, 0, 99, 9))
    assert layout.elements == ()
    assert (
        in_words(layout.obstacle) == "the header cannot reach the usable area from any entry point"
    )


def test_a_part_of_the_ground_beyond_reach_is_passed_over():
    area = MultiPolygon([box(0, 0, 20, 10), box(60, -10, 90, 0)])
    passable = MultiPolygon([LOT, box(55, -15, 95, 5)])
    layout = lay_out_wells(ground(area, passable=passable), OPTIONS, area)
    assert max(x for x, _ in spots_of(layout)) <= 20.0 + TOLERANCE


def test_the_header_goes_around_what_is_in_its_way():
    # straight north of the entry stands a house; ground lies behind it
    passable = LOT.difference(box(-20, -8, 20, 8))
    layout = lay_out_wells(ground(box(-20, 10, 20, 30), passable=passable), OPTIONS, LOT)
    assert all(passable.buffer(1e-5).covers(run) for run in layout.header.runs)


def test_the_same_ground_gives_the_same_pair():
    first = lay_out_wells(ground(box(0, 0, 30, 20)), OPTIONS, box(0, 0, 30, 20))
    assert first == lay_out_wells(ground(box(0, 0, 30, 20)), OPTIONS, box(0, 0, 30, 20))


def test_what_is_wished_comes_before_a_short_header():
    lot = box(-30, -10, 30, 20)
    layout = lay_out_wells(ground(lot), OPTIONS, lot, None, WellWish(40.0))
    assert math.dist(*spots_of(layout)) == pytest.approx(40.0, abs=0.2)
    # no more than is wished: a header along the wells and no longer
    assert layout.header.length_m < 45.0


def test_a_pair_lacks_what_it_stands_nearer_than_wished_and_nothing_beyond():
    # 3, 4, 5; down a flow the distance counts in full, beside it half, up it not at all
    steps = np.array([[3.0, 4.0], [30.0, 40.0]])
    assert WellWish(12.0).lacking_m(steps) == pytest.approx([7.0, 0.0])
    along = np.array([[5.0, 0.0], [0.0, 5.0], [-5.0, 0.0]])
    assert WellWish(12.0, (1.0, 0.0)).lacking_m(along) == pytest.approx([7.0, 9.5, 12.0])


@pytest.mark.parametrize("flow", [(0.0, 1.0), (0.0, -1.0), (1.0, 0.0), (-0.6, 0.8)])
def test_the_return_well_stands_down_the_flow_of_the_groundwater(flow):
    lot = box(-30, -30, 30, 30)
    layout = lay_out_wells(ground(lot, entry=(0, 0)), OPTIONS, lot, None, WellWish(20.0, flow))
    (x, y), (to_x, to_y) = spots_of(layout)
    down = (to_x - x) * flow[0] + (to_y - y) * flow[1]
    apart = math.dist((x, y), (to_x, to_y))
    assert down >= 0.95 * apart
    # a place beside the flow counts half as far as it is
    assert (down + apart) / 2 == pytest.approx(20.0, abs=0.1)


def test_a_wish_that_the_lot_cannot_grant_moves_the_wells_as_far_as_it_can():
    lot = box(0, 0, 30, 40)
    layout = lay_out_wells(ground(lot), OPTIONS, lot, None, WellWish(200.0))
    assert math.dist(*spots_of(layout)) == pytest.approx(50.0, abs=0.1)


def test_a_greatest_distance_is_kept_whatever_is_wished():
    lot = box(-100, -30, 100, 30)
    options = replace(OPTIONS, farthest_m=25.0)
    layout = lay_out_wells(ground(lot, passable=lot), options, lot, None, WellWish(80.0))
    assert math.dist(*spots_of(layout)) == pytest.approx(25.0, abs=0.05)


@settings(max_examples=several(6, 60))
@given(st.floats(20.0, 60.0), st.floats(0.0, 80.0), st.floats(0.0, 6.28), st.booleans())
def test_whatever_is_wished_the_wells_keep_their_distance_and_their_ground(
    side, wished, angle, flows
):
    supply, back = box(0, 0, side, 25), box(0, 10, side, 60)
    wish = WellWish(wished, (math.sin(angle), math.cos(angle)) if flows else None)
    layout = lay_out_wells(
        ground(supply, passable=box(-80, -80, 80, 80)), OPTIONS, back, None, wish
    )
    one, other = spots_of(layout)
    assert math.dist(one, other) >= 15.0 - TOLERANCE
    assert supply.distance(Point(one)) <= TOLERANCE
    assert back.distance(Point(other)) <= TOLERANCE
