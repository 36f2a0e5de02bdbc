"""Corners from which stakes are taped: own ones, seen over the lot, under a fair angle."""

import math

import numpy as np
import pytest
import shapely
import sheet_lots
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon, box

from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.sheet.content.setting_out import setting_out
from siteplan.sheet.content.ties import tie_corners, tie_targets
from siteplan.site.model import Feature

EMPTY = Layout("vertical", (), None, 6.0, 0.0)


def corners_of(out):
    return {tie.name: tie.at for tie in out.marks}


def test_bores_behind_a_house_are_tied_to_corners_of_buildings_within_reach():
    content = sheet_lots.suburban()
    few = sheet_lots.replace(content.layout, elements=content.layout.elements[:4], header=None)
    out = setting_out(content.site, few)
    assert [(tie.name, tie.what) for tie in out.ties] == [
        ("A", "building corner"), ("B", "building corner"),
    ]  # fmt: skip
    # 150 ft
    assert max(tape.length_m for stake in out.stakes for tape in stake.tapes) <= 150 * sheet_lots.FT


def test_no_tie_line_runs_through_the_house():
    content = sheet_lots.suburban()
    house = content.site.of_kind("building")[0].shape.buffer(-0.1)
    out = setting_out(content.site, content.layout)
    places = corners_of(out)
    for element in content.layout.elements:
        (target,) = tie_targets(element)
        for tape in out.by_name[element.id].tapes:
            assert not shapely.LineString([places[tape.tie], target]).intersects(house)


def test_without_a_building_the_corners_of_the_parcel_serve():
    content = sheet_lots.suburban()
    features = tuple(one for one in content.site.features if one.kind != "building")
    site = sheet_lots.replace(content.site, features=features)
    ties = setting_out(site, content.layout).ties
    assert {tie.what for tie in ties} == {"property corner"}


def test_tapes_from_the_two_corners_meet_at_a_good_angle():
    site, layout = lot(box(0, 0, 12, 8), Bore("B1", 6.0, 14.0, 0.15, 90.0))
    ties = setting_out(site, layout).ties
    # from (0, 8) and (12, 8) to (6, 14): both tapes at 45 degrees to the wall, so 90 between them
    directions = [math.atan2(14.0 - tie.at[1], 6.0 - tie.at[0]) for tie in ties]
    assert math.degrees(abs(directions[0] - directions[1])) == pytest.approx(90.0)


def test_nothing_laid_out_needs_no_ties():
    assert setting_out(sheet_lots.suburban().site, EMPTY).ties == ()


def lot(house, *elements, more=(), parcel=None):
    site = sheet_lots.replace(
        sheet_lots.suburban().site,
        parcel=parcel or box(-40, -40, 60, 60),
        features=(Feature("house", "building", house), *more),
    )
    return site, Layout("vertical", elements, None, 6.0, 90.0)


def angle(places, point):
    """Angle between two tapes at a point [deg]."""
    first, other = (math.atan2(y - point[1], x - point[0]) for x, y in places)
    turn = math.degrees(abs(first - other)) % 360.0
    return min(turn, 360.0 - turn)


def ties_well(site, pair, point):
    """Whether both corners see a point over the lot, under 30 to 150 degrees."""
    house = site.of_kind("building")[0].shape.buffer(-0.1)
    ways = [shapely.LineString([at, point]) for at in pair]
    return (
        29.99 <= angle(pair, point) <= 150.01
        and not any(way.intersects(house) for way in ways)
        and all(site.parcel.buffer(0.1).covers(way) for way in ways)
    )


@settings(max_examples=several(15, 60), deadline=None)
@given(
    st.floats(4, 20),
    st.floats(4, 15),
    st.lists(st.tuples(st.floats(-35, 55), st.floats(-35, 55)), min_size=1, max_size=5),
)
def test_every_stake_is_tied_well_on_the_side_told_or_by_coordinates(width, depth, places):
    house = box(0, 0, width, depth)
    outside = [at for at in places if house.distance(shapely.Point(at)) > 1.0]
    bores = [Bore(f"B{k}", x, y, 0.15, 90.0) for k, (x, y) in enumerate(outside, 1)]
    site, layout = lot(house, *bores)
    out = setting_out(site, layout)
    corners = [corner.at for corner in tie_corners(site)]
    for bore in bores:
        point, stake = (bore.x_m, bore.y_m), out.by_name[bore.id]
        if not stake.tapes:
            pairs = [(a, b) for k, a in enumerate(corners) for b in corners[:k]]
            if stake.line:
                # a lot line serves where both tapes would not be within reach
                pairs = [pair for pair in pairs if max(math.dist(at, point) for at in pair) < 45.7]
            # a hair inside of what is allowed, so that rounding decides nothing
            assert not any(31 < angle(pair, point) < 149 and ties_well(site, pair, point)
                           for pair in pairs)  # fmt: skip
            continue
        pair = [corners_of(out)[tape.tie] for tape in stake.tapes]
        assert ties_well(site, pair, point)
        assert [tape.length_m for tape in stake.tapes] == [math.dist(at, point) for at in pair]
        assert on_side(*pair, stake.side, point)


def on_side(first, other, side, point):
    """Whether of a place and its mirror image in a line the place lies farther to a side."""
    way = np.subtract(other, first) / math.dist(first, other)
    to = np.subtract(point, first)
    mirrored = 2 * way * float(to @ way) - to
    east, north = {"N": (0, 1), "E": (1, 0), "S": (0, -1), "W": (-1, 0)}[side]
    return float((to - mirrored) @ np.array([east, north])) > 0


def test_a_pair_within_reach_is_taken_before_one_that_many_stakes_share():
    # B1 and B2 by the house, B3 far to the east by the corner of the lot: each has its own pair
    bores = (Bore("B1", 6.0, 16.0, 0.15, 90.0), Bore("B2", 8.0, 16.0, 0.15, 90.0),
             Bore("B3", 140.0, 20.0, 0.15, 90.0))  # fmt: skip
    site, layout = lot(box(0, 0, 12, 8), *bores, parcel=box(-20, -20, 160, 60))
    out = setting_out(site, layout)
    assert not any(tape.is_long for stake in out.stakes for tape in stake.tapes)


def test_a_corner_of_a_neighbours_building_ties_nothing():
    garage = Feature("garage", "building", box(62, 10, 70, 20))
    site, layout = lot(box(0, 0, 12, 8), Bore("B1", 55.0, 15.0, 0.15, 90.0), more=(garage,))
    own = {(0, 0), (12, 0), (12, 8), (0, 8), (-40, -40), (60, -40), (60, 60), (-40, 60)}
    assert {tie.at for tie in setting_out(site, layout).ties} <= own
    assert {corner.at for corner in tie_corners(site)} == own


def test_no_tape_leaves_a_lot_that_is_bent():
    # an L: from its arm in the north-west the corner at (60, -40) is seen over other ground only
    bent = Polygon([(-40, -40), (60, -40), (60, -20), (-10, -20), (-10, 60), (-40, 60)])
    site, layout = lot(box(-40, -40, -30, -35), Bore("B1", -20.0, 45.0, 0.15, 90.0), parcel=bent)
    out = setting_out(site, layout)
    for tape in out.by_name["B1"].tapes:
        assert bent.buffer(0.1).covers(
            shapely.LineString([corners_of(out)[tape.tie], (-20.0, 45.0)])
        )


def test_a_tape_over_a_pond_is_taken_only_where_no_other_is_and_says_so():
    bore = Bore("B1", 30.0, 4.0, 0.15, 90.0)
    pond = Feature("pond", "pond", box(14, -10, 24, 20))
    site, layout = lot(box(0, 0, 12, 8), bore, more=(pond,))
    # the corners of the lot in the east, (60, -40) and (60, 60), are on this side of the water
    stake = setting_out(site, layout).by_name["B1"]
    assert not any(tape.is_wet for tape in stake.tapes)
    ring = Feature("moat", "pond", box(20, -6, 40, 14).difference(box(22, -4, 38, 12)))
    site, layout = lot(box(0, 0, 12, 8), bore, more=(ring,))
    stake = setting_out(site, layout).by_name["B1"]
    assert all(tape.is_wet for tape in stake.tapes)


def test_a_stake_on_the_shore_is_taped_over_land_however_it_was_rounded():
    pond = Feature("pond", "pond", box(14, -50, 80, 80))
    for x in (13.9999, 14.0, 14.0001):
        site, layout = lot(box(0, 0, 12, 8), Bore("B1", x, 4.0, 0.15, 90.0), more=(pond,))
        stake = setting_out(site, layout).by_name["B1"]
        assert not any(tape.is_wet for tape in stake.tapes)


def test_a_stake_on_a_wall_is_taped_along_it_from_both_its_corners():
    bore = Bore("B1", 6.0, 8.0, 0.15, 90.0)
    stake = setting_out(*lot(box(0, 0, 12, 8), bore)).by_name["B1"]
    assert [tape.length_m for tape in stake.tapes] == [6.0, 6.0]
    assert stake.side == "WALL"
