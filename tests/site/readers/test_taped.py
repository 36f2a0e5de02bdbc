"""Features placed as they are measured in a yard come to lie where they were measured."""

from __future__ import annotations

import datetime
import math
from typing import Any

import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity

from siteplan.errors import InputError
from siteplan.site.model import Feature, Site
from siteplan.site.readers.site_file import site_from

FT = 0.3048
LOT = [[0, 0], [200, 0], [200, 250], [0, 250]]
HOUSE = {"id": "house", "kind": "house", "area": [[60, 80], [110, 80], [110, 110], [60, 110]]}
STREET = {"id": "road", "kind": "street", "line": [[-50, -15], [250, -15]]}


def site_with(*features: dict[str, Any], parcel: Any = LOT, entry: Any = (80, 110)) -> Site:
    return site_from(
        {
            "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
            "geometry": {"parcel": parcel},
            "feature": list(features),
            "exchanger": {"capacity": "3 ton", "entry": [list(entry)]},
        }
    )


def placed(site: Site, name: str) -> Feature:
    return next(each for each in site.features if each.id == name)


def in_feet(site: Site, name: str) -> list[tuple[float, float]]:
    shape = placed(site, name).shape
    outline = shape.exterior if shape.area else shape
    return [(x / FT, y / FT) for x, y in shapely.get_coordinates(outline)]


def faults_of(*features: dict[str, Any]) -> str:
    with pytest.raises(InputError) as raised:
        site_with(*features)
    return "\n".join(map(str, raised.value.faults))


WELL = (140.0, 160.0)


def tape(x: float, y: float) -> str:
    """Distance from a place to the well, as a tape says it, to the eighth of an inch."""
    inches = math.dist((x, y), WELL) * 12
    return f"{int(inches // 12)} ft {round(inches % 12, 3)} in"


def test_a_well_by_two_ties_lies_where_it_was_measured() -> None:
    ties = [["house:NE", tape(110, 110)], ["parcel:SE", tape(200, 0)]]
    well = {"id": "w", "kind": "well", "ties": ties, "side": "north"}
    [spot] = in_feet(site_with(HOUSE, well), "w")
    assert spot == pytest.approx(WELL, abs=1e-3)


def test_two_ties_without_a_side_name_both_crossings() -> None:
    ties = [["house:NE", tape(110, 110)], ["house:NW", tape(60, 110)]]
    told = faults_of(HOUSE, {"id": "w", "kind": "well", "ties": ties})
    # mirrored in the north wall of the house, at y = 110
    assert "side: is not said, and the tapes cross twice: " in told
    assert "(140.0, 160.0)" in told
    assert "(140.0, 60.0)" in told


def test_three_ties_need_no_side_and_say_by_how_much_they_miss() -> None:
    spots = {"house:NE": (110, 110), "house:NW": (60, 110), "parcel:SE": (200, 0)}
    ties = [[name, tape(*spot)] for name, spot in spots.items()]
    [spot] = in_feet(site_with(HOUSE, {"id": "w", "kind": "well", "ties": ties}), "w")
    assert spot == pytest.approx(WELL, abs=1e-3)
    wrong = [*ties[:2], ["parcel:SE", "90 ft"]]
    assert "the ties do not meet: one is off by" in faults_of(
        HOUSE, {"id": "w", "kind": "well", "ties": wrong}
    )


@pytest.mark.parametrize(
    ("off", "spot"),
    [
        # inward off property lines, outward off the house of (60, 80) to (110, 110)
        ([["parcel:west", "12 ft"], ["parcel:south", "30 ft"]], (12, 30)),
        ([["parcel:north", 20], ["parcel:east", "15 ft"]], (185, 230)),
        ([["house:north", "15 ft"], ["parcel:west", "12 ft"]], (12, 125)),
        ([["road", "40 ft", "north"], ["house:east", 8]], (118, 25)),
    ],
)
def test_a_place_off_two_lines(off: list[list[Any]], spot: tuple[float, float]) -> None:
    site = site_with(HOUSE, STREET, {"id": "w", "kind": "well", "at": {"off": off}})
    [found] = in_feet(site, "w")
    assert found == pytest.approx(spot, abs=1e-6)


def test_off_two_lines_that_are_not_square_the_place_keeps_both_distances() -> None:
    corners = [[0, 0], [200, 0], [230, 250], [0, 250]]
    off = {"off": [["parcel:east", "20 ft"], ["parcel:south", "30 ft"]]}
    site = site_with(HOUSE, {"id": "w", "kind": "well", "at": off}, parcel=corners)
    [spot] = in_feet(site, "w")
    sides = [shapely.LineString(pair) for pair in (corners[1:3], corners[:2])]
    away = [shapely.Point(spot).distance(side) for side in sides]
    assert away == pytest.approx([20, 30], abs=1e-6)


def test_tapes_that_are_too_short_miss_each_other() -> None:
    ties = [["house:NE", "20 ft"], ["parcel:SE", "30 ft"]]
    # the two are hypot(90, 110) = 142.13 ft apart
    assert "the two tapes miss each other by 92.2 ft" in faults_of(
        HOUSE, {"id": "w", "kind": "well", "ties": ties}
    )


@pytest.mark.parametrize(
    ("offset", "spot"),
    [
        ({"line": "parcel:rear", "from": "west", "station": "40 ft", "off": "12 ft"}, (40, 238)),
        ({"line": "parcel:front", "from": "east", "station": 30, "off": 9}, (170, 9)),
        ({"line": "house:north", "from": "west", "station": "10 ft", "off": "15 ft"}, (70, 125)),
        ({"line": "house:south", "from": "east", "station": "10 ft", "off": "15 ft"}, (100, 65)),
        ({"line": "house:E", "from": "north", "off": "8 ft"}, (118, 110)),
        ({"line": "road", "from": "west", "station": 90, "off": 40, "side": "north"}, (40, 25)),
    ],
)
def test_a_place_along_and_off_a_line(offset: dict[str, Any], spot: tuple[float, float]) -> None:
    site = site_with(HOUSE, STREET, {"id": "w", "kind": "well", "offset": offset})
    assert in_feet(site, "w") == [pytest.approx(spot, abs=1e-6)]


def test_a_building_by_its_walls_and_what_is_tied_to_it_in_any_order() -> None:
    corner = {"line": "parcel:south", "from": "west", "station": "60 ft", "off": "80 ft"}
    walls = ["50 ft", "L", "30 ft", "L", "50 ft"]
    house = {"id": "house", "kind": "house", "corner": corner, "direction": "east", "walls": walls}
    tank = {"line": "house:west", "from": "south", "station": 5, "off": 10}
    # the well is tied to a tank that is measured from a house that is measured from the lot
    ties = [["tank", f"{math.dist((50, 85), WELL)} ft"], ["house:NE", tape(110, 110)]]
    well = {"id": "w", "kind": "well", "ties": ties, "side": "northwest"}
    site = site_with(well, {"id": "tank", "kind": "septic tank", "offset": tank}, house)
    drawn = shapely.box(60 * FT, 80 * FT, 110 * FT, 110 * FT)
    assert placed(site, "house").shape.symmetric_difference(drawn).area < 1e-6
    assert in_feet(site, "tank") == [pytest.approx((50, 85), abs=1e-6)]
    [spot] = in_feet(site, "w")
    assert math.dist(spot, (50, 85)) == pytest.approx(math.dist((50, 85), WELL), abs=1e-3)
    assert math.dist(spot, (110, 110)) == pytest.approx(math.dist((110, 110), WELL), abs=1e-3)


def test_an_area_by_taped_corners() -> None:
    def corner(station: float, off: float) -> dict[str, Any]:
        return {"line": "parcel:east", "from": "south", "station": station, "off": off}

    area = [corner(20, 10), corner(60, 10), corner(60, 40), [160, 20]]
    field = {"id": "f", "kind": "leach field", "area": area}
    site = site_with(field)
    drawn = shapely.box(160 * FT, 20 * FT, 190 * FT, 60 * FT)
    assert placed(site, "f").shape.symmetric_difference(drawn).area < 1e-6


@pytest.mark.parametrize(("direction", "turn"), [("east along parcel:south", "L"),
                                                 ("west along parcel:south", "R")])  # fmt: skip
def test_a_building_along_a_property_line_is_turned_with_the_lot(direction: str, turn: str) -> None:
    # a lot turned by 30 degrees to the left: its south side leads N 60 E
    lot = affinity.rotate(shapely.box(0, 0, 200, 250), 30, origin=(0, 0))
    corner = {"line": "parcel:south", "from": "west", "station": 60, "off": 80}
    if turn == "R":
        corner |= {"station": 110}
    walls = ["50 ft", turn, "30 ft", turn, "50 ft"]
    house = {"id": "h", "kind": "house", "corner": corner, "direction": direction, "walls": walls}
    points = [list(point) for point in lot.exterior.coords[:-1]]
    site = site_with(house, parcel=points, entry=list(lot.centroid.coords[0]))
    truth = affinity.rotate(shapely.box(60, 80, 110, 110), 30, origin=(0, 0))
    truth = affinity.scale(truth, FT, FT, origin=(0, 0))
    assert placed(site, "h").shape.symmetric_difference(truth).area < 1e-6


@settings(max_examples=several(10, 40))
@given(
    st.floats(0, 360), st.floats(15, 80), st.floats(15, 80),
    st.floats(5, 60), st.floats(5, 60),
)  # fmt: skip
def test_a_turned_building_by_walls_is_the_turned_rectangle(
    bearing: float, front: float, depth: float, x: float, y: float
) -> None:
    walls = [front, "R", depth, "R", front, "R", depth]
    house = {"id": "h", "kind": "house", "corner": [x + 90, y + 90], "direction": bearing,
             "walls": walls}  # fmt: skip
    shape = placed(site_with(house, parcel=[[-50, -50], [400, -50], [400, 400], [-50, 400]]), "h")
    # the same rectangle by another library's rotation: north is up, and a turn to the right goes
    # clockwise
    upright = shapely.box(x + 90, y + 90, x + 90 + depth, y + 90 + front)
    turned = affinity.rotate(upright, -bearing, origin=(x + 90, y + 90))
    truth = affinity.scale(turned, FT, FT, origin=(0, 0))
    assert shape.shape.symmetric_difference(truth).area < 1e-6


@pytest.mark.parametrize(
    ("feature", "message"),
    [
        ({"ties": [["house:NE", "9 ft"]]}, "are not two ties"),
        ({"ties": [["hose:NE", "9 ft"], ["parcel:SE", "9 ft"]]}, "there is no 'hose' here"),
        ({"ties": [["house:NNE", "9 ft"], ["parcel:SE", "9 ft"]]}, "'NNE' is no corner"),
        ({"ties": [["house:N", "9 ft"], ["parcel:SE", "9 ft"]]}, "two corners as far in the N"),
        ({"ties": [["house", "9 ft"], ["parcel:SE", "9 ft"]]}, "Say which corner: house:NE"),
        ({"ties": [["house:NE", "nine"], ["parcel:SE", "9 ft"]]}, "is not a length"),
        ({"offset": {"line": "house:up", "from": "west"}}, "'up' is no side"),
        ({"offset": {"line": "house:north", "from": "north"}}, "does not tell the ends"),
        ({"offset": {"line": "house:north"}}, "from: None is no direction"),
        ({"offset": {"line": "parcel:front", "from": "west"}}, "no street is drawn"),
        ({"offset": {"line": "w", "from": "west"}}, "is measured from what is measured from it"),
        ({"at": {"off": [["parcel:west", "9 ft"]]}}, "are not two lines with distances"),
        ({"at": {"off": [["parcel:west", 9], ["house:west", 9]]}}, "run nearly alike"),
        ({"at": {"off": [["w", 9], ["house:west", 9]]}}, "is measured from what is measured"),
        ({"at": [1, 2], "side": "north"}, "side: is given without ties"),
        ({"at": [1, 2], "ties": []}, "has at and ties"),
    ],
)
def test_what_cannot_be_placed_says_why(feature: dict[str, Any], message: str) -> None:
    assert message in faults_of(HOUSE, {"id": "w", "kind": "well", **feature})


ELL = [[0, 0], [300, 0], [300, 160], [140, 160], [140, 320], [0, 320]]


@pytest.mark.parametrize(
    ("at", "where"),
    [
        # off lines: as far in from each as is said, by subtraction from the corners above
        ({"off": [["parcel:north/east", "20 ft"], ["parcel:east/south", "50 ft"]]}, (250, 140)),
        ({"off": [["parcel:north/west", "20 ft"], ["parcel:E/N", "50 ft"]]}, (90, 300)),
        # 30, 40, 50 below the eastern corner of two that lie as far in the northeast, by Pythagoras
        (
            {
                "ties": [["parcel:NE/east", "50 ft"], ["parcel:SE", math.hypot(30, 120)]],
                "side": "west",
            },
            (270, 120),
        ),
        (
            {
                "ties": [["parcel:NE/north", "50 ft"], ["parcel:NW", math.hypot(100, 30)]],
                "side": "south",
            },
            (100, 290),
        ),
    ],
)
def test_on_an_l_the_side_and_the_corner_are_said_that_lie_farther_along(
    at: dict[str, Any], where: tuple[float, float]
) -> None:
    well = {"id": "w", "kind": "well", **(at if "ties" in at else {"at": at})}
    site = site_with({"id": "h", "kind": "house", "area": HOUSE["area"]}, well, parcel=ELL)
    assert in_feet(site, "w") == [pytest.approx(where)]


def test_which_of_two_sides_is_meant_is_asked_with_a_name_that_is_understood() -> None:
    for line, said in (("parcel:north", "parcel:north/east"), ("parcel:east", "parcel:east/north")):
        well = {"id": "w", "kind": "well", "at": {"off": [[line, "9 ft"], ["parcel:west", "9 ft"]]}}
        with pytest.raises(InputError, match=f"two sides that face.*Say which: {said}"):
            site_with(HOUSE, well, parcel=ELL)


def test_walls_that_do_not_close_say_by_how_much() -> None:
    walls = ["50 ft", "L", "30 ft", "L", "44 ft", "L", "30 ft"]
    house = {"id": "h", "kind": "house", "corner": [60, 80], "direction": "east", "walls": walls}
    assert "do not come back to the corner: 6.0 ft are missing" in faults_of(house)


@pytest.mark.parametrize(
    ("walls", "said"),
    [
        (
            ["50 ft", "30 ft", "50 ft"],
            'say no turn, right or left, between two walls. Write ["40 ft"',
        ),
        (["50 ft", "L", "left 30 ft"], "'left 30 ft' is not a length such as"),
    ],
)
def test_walls_without_turns_are_told_how_they_are_written(walls: list[str], said: str) -> None:
    house = {"id": "h", "kind": "house", "corner": [60, 80], "direction": "east", "walls": walls}
    told = faults_of(house)
    assert said in told
    assert ".." not in told.replace("...", "")


def test_a_turn_may_be_written_out() -> None:
    corner = {"corner": [60, 80], "direction": "east"}
    short, long = (
        site_with(
            {"id": "h", "kind": "house", **corner, "walls": ["50 ft", turn, "30 ft", turn, "50 ft"]}
        )
        for turn in ("L", "left")
    )
    assert short.features[0].shape.equals(long.features[0].shape)


def test_an_entry_is_taped_along_the_wall_from_a_corner() -> None:
    wall = {"line": "house:north", "from": "west", "station": "12 ft 6 in"}
    taped = {"id": "E7", "kind": "entry", "offset": wall}
    site = site_from(
        {
            "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
            "geometry": {"parcel": LOT},
            "feature": [HOUSE, taped],
            "exchanger": {"capacity": "3 ton"},
        }
    )
    # the house's northern wall begins at (60, 110) ft in the west
    assert [(each.id, each.point.x / FT, each.point.y / FT) for each in site.entries] == [
        ("E7", pytest.approx(72.5), pytest.approx(110.0))
    ]


def test_an_entry_table_is_taped_too_and_one_by_coordinates_stands_beside_it() -> None:
    taped = {"line": "house:north", "from": "west", "station": "12 ft 6 in"}
    site = site_from(
        {
            "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
            "geometry": {"parcel": LOT},
            "feature": [HOUSE],
            "entry": [{"id": "basement", "at": taped}, {"id": "east", "at": [110, 90]}],
            "exchanger": {"capacity": "3 ton"},
        }
    )
    # the house's northwest corner is at 60, 110
    places = {each.id: (each.point.x / FT, each.point.y / FT) for each in site.entries}
    assert places["basement"] == pytest.approx((72.5, 110.0))
    assert places["east"] == pytest.approx((110.0, 90.0))


def test_an_entry_taped_from_nothing_is_told_at_its_table() -> None:
    with pytest.raises(InputError, match=r"entry 'basement', at: there is no 'barn' here"):
        site_from(
            {
                "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
                "geometry": {"parcel": LOT},
                "entry": [{"id": "basement", "at": {"line": "barn:north", "from": "west"}}],
                "exchanger": {"capacity": "3 ton"},
            }
        )
