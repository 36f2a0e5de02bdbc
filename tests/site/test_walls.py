"""Places where pipes could come through the walls of a building."""

from __future__ import annotations

import datetime
from dataclasses import replace

import pytest
from shapely import Point, Polygon

from siteplan.site.model import Entry, Feature
from siteplan.site.readers.site_file import site_from
from siteplan.site.walls import place_on_wall, served_building, wall_entries_of

FT = 0.3048


def building(name: str, *corners: tuple[float, float]) -> Feature:
    return Feature(name, "building", Polygon([(x * FT, y * FT) for x, y in corners]))


HOUSE = building("house", (0, 0), (40, 0), (40, 30), (0, 30))


def test_each_long_wall_has_a_place_near_both_corners_and_in_its_middle() -> None:
    # 4 ft from each corner and halfway, common practice, no source: on four walls 12 places
    spots = {(round(e.point.x / FT, 6), round(e.point.y / FT, 6)) for e in wall_entries_of(HOUSE)}
    assert spots == {
        *((x, y) for x in (4, 20, 36) for y in (0, 30)),
        *((x, y) for x in (0, 40) for y in (4, 15, 26)),
    }


def test_a_short_wall_has_one_place_and_a_mere_jog_none() -> None:
    # walls of 10 ft have room for one place (16 ft for three), the jog of 3 ft for none
    shed = building("shed", (0, 0), (10, 0), (10, 7), (7, 7), (7, 10), (0, 10))
    labels = [entry.label for entry in wall_entries_of(shed)]
    assert len(labels) == 4
    assert {label.split()[0] for label in labels} == {"north", "east", "south", "west"}


@pytest.mark.parametrize(
    ("at", "faces", "corner", "along_ft"),
    [
        ((12, 30), "north", "west", 12),
        ((35, 30), "north", "east", 5),
        ((40, 3), "east", "south", 3),
        ((0, 28), "west", "north", 2),
    ],
)
def test_a_place_is_told_from_the_nearer_corner_of_its_wall(
    at: tuple[float, float], faces: str, corner: str, along_ft: float
) -> None:
    place = place_on_wall(HOUSE, Point(at[0] * FT, at[1] * FT))
    assert place is not None
    assert (place.faces, place.corner) == (faces, corner)
    assert place.along_m / FT == pytest.approx(along_ft)


def test_an_outline_drawn_the_other_way_round_has_the_same_walls() -> None:
    turned = building("house", (0, 0), (0, 30), (40, 30), (40, 0))
    place = place_on_wall(turned, Point(12 * FT, 30 * FT))
    assert place is not None
    assert place.faces == "north"


def test_the_building_served_is_the_one_at_the_entry_else_the_largest() -> None:
    shed = building("shed", (60, 0), (70, 0), (70, 10), (60, 10))
    assert served_building([shed, HOUSE]) is HOUSE
    assert served_building([shed, HOUSE], [Entry("E1", Point(60 * FT, 5 * FT))]) is shed
    assert served_building([]) is None


def test_a_larger_house_next_door_is_not_the_one_served() -> None:
    # the wall of the neighbour's barn, farther from the lot, is no place for the pipes to come in
    boxes = {"barn": (260, 20, 360, 120), "house": (60, 40, 100, 70)}
    features = [
        {"id": name, "kind": "building", "area": [[x0, y0], [x1, y0], [x1, y1], [x0, y1]]}
        for name, (x0, y0, x1, y1) in boxes.items()
    ]
    site = site_from(
        {
            "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
            "geometry": {"parcel": [[0, 0], [200, 0], [200, 200], [0, 200]]},
            "feature": features,
            "exchanger": {"capacity": "3 ton", "entry": "any wall"},
        }
    )
    house = next(each for each in site.features if each.id == "house")
    assert site.entries
    assert all(entry.point.distance(house.shape) < 0.01 for entry in site.entries)


@pytest.mark.parametrize(
    "label", ["barn", "POLE BARN", "Detached garage 2", "greenhouse", "PUMP HOUSE", "SHOP"]
)
def test_pipes_are_led_to_the_house_though_the_barn_is_larger(label: str) -> None:
    # a heat pump stands where people live: common practice, no source
    large = building("b", (0, 0), (60, 0), (60, 40), (0, 40))
    barn = replace(large, label=label)
    house = replace(building("h", (0, 100), (40, 100), (40, 130), (0, 130)), label="house")
    assert served_building([barn, house]) is house
    assert served_building([barn]) is barn
