import math

import pytest
import shapely
import sheet_lots
from shapely import Polygon

from siteplan.layout.model import Bore, Layout
from siteplan.sheet.ties import tie_points, tie_targets
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
