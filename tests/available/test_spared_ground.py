"""Ground that a field keeps off where that takes little more."""

from __future__ import annotations

import pytest
from shapely import LineString, Point, box

from siteplan.available.spared import DRIVE_M, LINE_M, front_yard, spared_ground
from siteplan.site.model import Entry, Feature
from siteplan.site.walls import served_building

LOT = box(0, 0, 100, 100)
ROAD = Feature("road", "street", LineString([(-50, -5), (150, -5)]))
HOUSE = Feature("house", "building", box(40, 30, 60, 45))
SHED = Feature("shed", "building", box(80, 10, 84, 14))
DOOR = (Entry("E1", Point(50, 45)),)


def test_the_front_yard_reaches_from_the_street_to_the_house_over_all_the_lot() -> None:
    # the house stands 30 m behind the property line at the street, the shed before it counts for
    # nothing: 100 m by 30 m
    house = served_building([SHED, HOUSE], DOOR)
    yard = front_yard(LOT, (ROAD, HOUSE, SHED), house)
    assert yard.equals(box(0, 0, 100, 30))


def test_without_a_street_or_a_house_there_is_no_front_yard() -> None:
    assert front_yard(LOT, (HOUSE,), HOUSE).is_empty
    assert front_yard(LOT, (ROAD,), None).is_empty


def test_a_drive_and_lines_have_ground_beside_them() -> None:
    drive = Feature("drive", "driveway", box(10, 0, 14, 30))
    water = Feature("water", "water line", LineString([(50, 0), (50, 30)]))
    spared = {each.name: each.shape for each in spared_ground(LOT, (drive, water), None)}
    assert set(spared) == {"drive", "utilities"}
    reach = {name: shape.bounds[2] for name, shape in spared.items()}
    assert reach == pytest.approx({"drive": 14 + DRIVE_M, "utilities": 50 + LINE_M})
