import math
from itertools import combinations

import pytest
import shapely
import sheet_lots
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Polygon

from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.sheet.content.ties import TiePoint, tie_points, tie_targets, tie_words, weak_stakes
from siteplan.site.model import Feature


def test_bores_behind_a_house_are_tied_to_the_corners_of_its_rear_wall():
    content = sheet_lots.suburban()
    ties = tie_points(content.site, content.layout)
    assert [tie.name for tie in ties] == ["A", "B"]
    assert [tie.what for tie in ties] == ["building corner"] * 2
    # rear wall of the house: (72, 90) and (130, 92) ft
    corners = {tuple(round(value / sheet_lots.FT, 3) for value in tie.at) for tie in ties}
    assert corners == {(72.0, 90.0), (130.0, 92.0)}


def test_no_tie_line_runs_through_the_house():
    content = sheet_lots.suburban()
    house = content.site.of_kind("building")[0].shape.buffer(-0.1)
    for tie in tie_points(content.site, content.layout):
        for element in content.layout.elements:
            for target in tie_targets(element):
                assert not shapely.LineString([tie.at, target]).intersects(house)


def test_without_a_building_the_corners_of_the_parcel_serve():
    content = sheet_lots.suburban()
    features = tuple(one for one in content.site.features if one.kind != "building")
    site = sheet_lots.replace(content.site, features=features)
    ties = tie_points(site, content.layout)
    assert [tie.what for tie in ties] == ["property corner"] * 2


def test_tapes_from_the_two_corners_meet_at_a_good_angle():
    house = Polygon([(0, 0), (12, 0), (12, 8), (0, 8)])
    site = sheet_lots.replace(
        sheet_lots.suburban().site, features=(Feature("house", "building", house),)
    )
    bore = Bore("B1", 6.0, 14.0, 0.15, 90.0)
    ties = tie_points(site, Layout("vertical", (bore,), None, 6.0, 90.0))
    # from (0, 8) and (12, 8) to (6, 14): both tapes at 45 degrees to the wall, so 90 between them
    directions = [math.atan2(14.0 - tie.at[1], 6.0 - tie.at[0]) for tie in ties]
    assert math.degrees(abs(directions[0] - directions[1])) == pytest.approx(90.0)


def test_nothing_laid_out_needs_no_ties():
    assert tie_points(sheet_lots.suburban().site, Layout("vertical", (), None, 6.0, 0.0)) == ()


def lot(house, *elements):
    site = sheet_lots.replace(
        sheet_lots.suburban().site,
        parcel=shapely.box(-40, -40, 60, 60),
        features=(Feature("house", "building", house),),
    )
    return site, Layout("vertical", elements, None, 6.0, 90.0)


def angle(ties, point):
    """Angle between the two tapes at a point [deg]."""
    one, other = (math.atan2(tie.at[1] - point[1], tie.at[0] - point[0]) for tie in ties)
    turn = math.degrees(abs(one - other)) % 360.0
    return min(turn, 360.0 - turn)


def is_tied(site, ties, point):
    """Whether two of the points see a stake, and under an angle that makes a fair crossing."""
    house = site.of_kind("building")[0].shape.buffer(-0.1)
    return any(
        29.99 <= angle(pair, point) <= 150.01
        and not any(shapely.LineString([tie.at, point]).intersects(house) for tie in pair)
        for pair in combinations(ties, 2)
    )


@settings(max_examples=60, deadline=None)
@given(
    st.floats(4, 20),
    st.floats(4, 15),
    st.lists(st.tuples(st.floats(-35, 55), st.floats(-35, 55)), min_size=1, max_size=8),
)
def test_every_stake_is_tied_well_or_called_weak(width, depth, places):
    house = shapely.box(0, 0, width, depth)
    outside = [at for at in places if house.distance(shapely.Point(at)) > 1.0]
    bores = [Bore(f"B{k}", x, y, 0.15, 90.0) for k, (x, y) in enumerate(outside, 1)]
    site, layout = lot(house, *bores)
    ties = tie_points(site, layout)
    weak = weak_stakes(layout, ties)
    for bore in bores:
        assert is_tied(site, ties, (bore.x_m, bore.y_m)) == (bore.id not in weak)


def test_a_pair_that_ties_every_stake_is_taken_before_one_with_shorter_tapes():
    # A row along the rear wall (0, 8) to (12, 8) just behind it: from both rear corners the tapes
    # to (6, 9) cross at 2 x atan(6 / 1) = 161 degrees, too flat.
    site, layout = lot(shapely.box(0, 0, 12, 8), Bore("B1", 6.0, 9.0, 0.15, 90.0))
    ties = tie_points(site, layout)
    assert is_tied(site, ties, (6.0, 9.0))


def test_bores_on_both_sides_of_a_house_are_tied_from_three_points():
    bores = (Bore("B1", 6.0, 20.0, 0.15, 90.0), Bore("B2", 6.0, -12.0, 0.15, 90.0))
    site, layout = lot(shapely.box(0, 0, 12, 8), *bores)
    ties = tie_points(site, layout)
    assert all(is_tied(site, ties, (one.x_m, one.y_m)) for one in bores)


def test_a_stake_behind_the_house_is_named_as_weak():
    site, layout = lot(shapely.box(0, 0, 12, 8), Bore("B1", 6.0, -12.0, 0.15, 90.0))
    walls = site.of_kind("building")[0].shape.buffer(-0.05)
    ties = (TiePoint("A", (0, 8), "building corner", walls), TiePoint("B", (12, 8), "", walls))
    assert weak_stakes(layout, ties) == ("B1",)
    assert "at B1: stake by coordinates" in tie_words(layout, ties)
