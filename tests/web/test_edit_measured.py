"""What the page shows of tapes and sides, and that nothing on it jumps; lots are invented."""

from __future__ import annotations

import datetime

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, drag, text_of
from test_edit_server import LOT

from siteplan.site.readers.site_file import site_from
from siteplan.web.tapes import tapes_told

DEED = (
    "Beginning at an iron pin, thence North 180 feet, thence East 130 feet, thence South 180 feet,"
    " thence West {west} feet to the place of beginning."
)
SKETCH = (
    LOT.replace("at = [15, 20]", 'at = { off = [["parcel:west", "15"], ["parcel:south", "20"]] }')
    + """
[[feature]]
id = "shed"
kind = "building"
walls = ["20", "R", "12", "R", "20"]
corner = { off = [["parcel:west", "10"], ["parcel:south", "120"]] }
direction = "north along parcel:west"
"""
)


def measured(shown):
    return shown.page.locator("#board .measure").all_text_contents()


@pytest.mark.parametrize("shown", [SKETCH], indirect=True)
def test_tapes_and_sides_of_what_is_chosen_stand_on_the_board(shown):
    page = shown.page
    page.click("#list button:has-text('well')")
    assert measured(shown) == ["15", "20"]
    assert page.locator("#board .tape").count() == 2
    page.click("#list button:has-text('shed')")
    assert sorted(measured(shown)) == ["10", "12", "12", "120", "20", "20"]
    page.click("#list button:has-text('property line')")
    assert sorted(measured(shown)) == ["120", "120", "160", "160"]
    # of an area that is being drawn they stand outside as well, whichever way one goes round it
    page.click("[data-tool=add]")
    page.select_option("#kind", "drainfield")
    low, high = shown.spot(0, 30 * FOOT)[1], shown.spot(0, 50 * FOOT)[1]
    for x, y in ((60, 30), (100, 30), (100, 50), (60, 50)):
        shown.tap(x * FOOT, y * FOOT)
    middles = [
        box["y"] + box["height"] / 2
        for box in (each.bounding_box() for each in page.locator("#board .measure").all())
    ]
    assert middles[0] > low
    assert middles[-1] < high


@pytest.mark.parametrize("shown", [SKETCH], indirect=True)
def test_what_goes_by_tapes_is_dragged_once_its_corner_goes_by_coordinates(shown):
    page = shown.page
    page.click("#list button:has-text('shed')")
    drag(shown, (16 * FOOT, 130 * FOOT), (30 * FOOT, 130 * FOOT))
    page.wait_for_selector("#hint:has-text('its tapes')")
    assert text_of(shown) == SKETCH
    page.click("#whole")
    page.click("#form button:has-text('Go by coordinates')")
    # 10 ft off the west line and 120 ft off the south line of a lot that begins at 0, 0
    shown.served.until(lambda: "corner = [10, 120]" in text_of(shown))
    page.wait_for_selector("#form p:has-text('drag it as a whole')")
    drag(shown, (16 * FOOT, 130 * FOOT), (26 * FOOT, 130 * FOOT))
    shown.served.until(lambda: "corner = [20" in text_of(shown))
    assert 'walls = ["20", "R", "12", "R", "20"]' in text_of(shown)


@pytest.mark.parametrize("shown", [""], indirect=True)
def test_a_deed_that_does_not_close_stays_to_be_mended(shown):
    page = shown.page
    page.get_by_label("Its text").fill(DEED.format(west=120))
    page.click("#form button:has-text('Draw the deed')")
    page.wait_for_selector("#faults:has-text('does not close')")
    # 130 ft to the east and 120 ft back: 10 ft are missing
    assert "10.00 ft are missing" in page.inner_text("#faults")
    text = page.get_by_label("Its text")
    assert text.input_value() == DEED.format(west=120)
    text.fill(DEED.format(west=130))
    page.click("#form button:has-text('Draw the deed')")
    # its closure is shown at once
    page.wait_for_selector("#form p:has-text('The deed has 4 calls, 620 ft in all')")
    page.click("[data-tool=parcel]")
    assert page.get_by_label("Its text").input_value() == DEED.format(west=130)


def test_bores_stand_on_the_board_by_the_names_of_the_tables(shown):
    shown.verdict("^FITS")
    page, plan = shown.page, shown.served.lot()["stages"]["plan"]
    named = {name for name, *_ in plan["names"]}
    texts = set(page.locator("#board text").all_text_contents())
    assert named <= texts
    in_table = {row["what"].split()[1] for row in plan["separations"] if row["what"][:5] == "bore "}
    assert in_table
    assert in_table <= named
    # one that is tapped says that it is dragged; beside it nothing is said
    name, spot, *_ = plan["names"][0]
    shown.tap(*spot)
    assert page.inner_text("#hint") == f"{name}: drag it to where it shall stand."
    shown.tap(60 * FOOT, 5 * FOOT)
    assert page.inner_text("#hint") == ""
    # while the lot is planned anew they name nothing that is known
    shown.tap(15 * FOOT, 20 * FOOT)
    drag(shown, (15 * FOOT, 20 * FOOT), (18 * FOOT, 26 * FOOT))
    page.wait_for_selector(".laid.old", state="attached")
    assert not named & set(page.locator("#board text").all_text_contents())
    shown.verdict("^FITS")
    assert "B1" in page.locator("#board text").all_text_contents()


def test_nothing_moves_on_the_screen_while_a_change_is_planned(shown):
    shown.verdict("^FITS")
    page, places = shown.page, []
    names = ("#undo", "#board", "[data-tool=add]", "[data-view=leave]")
    shown.tap(15 * FOOT, 20 * FOOT)
    page.keyboard.press("ArrowRight")
    shown.served.until(lambda: text_of(shown) != LOT)
    page.evaluate("document.getElementById('stop').hidden = false")
    for words in ("FITS", "It does not fit. " * 40):
        page.evaluate("words => { document.getElementById('verdict').textContent = words; }", words)
        places.append([page.locator(name).bounding_box() for name in names])
    assert places[0] == places[1]
    page.evaluate("document.getElementById('stop').hidden = true")
    assert page.locator("#undo").bounding_box() == places[0][0]
    # nor by what is told of a mistake
    page.click("[data-tool=house]")
    page.get_by_label("First corner, x").fill("20")
    page.get_by_label("and y").fill("100")
    page.get_by_label("Walls").fill("30 L 20 L 31 L 14")
    page.get_by_label("Walls").press("Enter")
    page.wait_for_selector("#notices:has-text('do not come back')")
    assert [page.locator(name).bounding_box() for name in names[1:]] == places[0][1:]


def test_a_drive_is_drawn_by_its_middle_and_its_sides_are_told_on_the_way(shown):
    page = shown.page
    page.click("[data-tool=add]")
    page.select_option("#kind", "driveway")
    assert page.get_by_label("Drawn").input_value() == "line"
    page.get_by_label("How wide").fill("12 ft")
    page.get_by_label("At the property line").select_option(label="it ends there")
    shown.tap(100 * FOOT, 0)
    page.mouse.move(*shown.spot(100 * FOOT, 40 * FOOT))
    page.wait_for_function("() => document.querySelector('#board .measure')?.textContent === '40'")
    assert page.locator("#board .spot").count() == 1
    shown.tap(100 * FOOT, 40 * FOOT)
    page.get_by_label("How wide").press("Enter")
    page.wait_for_selector("[data-id=driveway]", state="attached")
    assert "line = [[100, 0], [100, 40]]" in text_of(shown)


def test_an_area_is_gone_round_by_its_sides_along_a_property_line(shown):
    page = shown.page
    page.click("[data-tool=add]")
    page.select_option("#kind", "drainfield")
    page.get_by_label("Drawn").select_option("by its sides, as taped")
    assert page.get_by_label("Kind", exact=True).input_value() == "drainfield"
    page.get_by_label("First corner, x").fill("70")
    page.get_by_label("and y").fill("150")
    page.get_by_label("First wall leads").select_option("east, along the south property line")
    page.get_by_label("Walls").fill("40 L 20 L 40")
    page.get_by_label("Walls").press("Enter")
    page.wait_for_selector("[data-id=drainfield]", state="attached")
    assert 'direction = "east along parcel:south"' in text_of(shown)


def test_what_is_not_understood_is_told_beside_its_field(shown):
    page = shown.page
    page.click("summary:has-text('What is wanted')")
    given = page.locator("[data-path='exchanger.length.given']")
    given.fill("three hundred")
    given.press("Tab")
    row = page.locator(".field", has=given)
    row.locator("small.bad").wait_for()
    assert given.get_attribute("aria-invalid") == "true"
    given.fill("300 ft")
    given.press("Tab")
    row.locator("small.bad").wait_for(state="detached")
    assert given.get_attribute("aria-invalid") == "false"


def test_a_tape_leads_from_where_it_is_laid_to_what_it_places():
    site = site_from({
        "project": {"title": "A", "owner": "B", "date": datetime.date(2026, 1, 31), "units": "ft"},
        "geometry": {"parcel": [[0, 0], [130, 0], [130, 180], [0, 180]]},
        "feature": [
            {"id": "house", "kind": "building", "area": [[40, 30], [80, 30], [80, 58], [40, 58]]},
            {"id": "tank", "kind": "septic tank",
             "at": {"line": "house:east", "from": "north", "station": "6", "off": "12"}},
            {"id": "well", "kind": "potable well", "side": "north",
             "ties": [["house:NE", "50 ft"], ["house:NW", "30 ft"]]},
        ],
        "exchanger": {"capacity": "3 ton", "entry": [[80, 40]]},
    })  # fmt: skip
    says = {"tank": {"at": {"line": "house:east", "from": "north", "station": "6", "off": "12"}},
            "well": {"ties": [["house:NE", "50 ft"], ["house:NW", "30 ft"]]}}  # fmt: skip
    shapes = {feature.id: feature.shape for feature in site.features}

    def feet(name):
        return [
            [*[[round(axis / FOOT, 1) for axis in end] for end in ends], words]
            for *ends, words in tapes_told(says[name], shapes[name], site)
        ]

    # from the north end of the wall 6 ft along it, and 12 ft off it to the east
    assert feet("tank") == [[[80, 58], [80, 52], "6"], [[80, 52], [92, 52], "12"]]
    # sides of 30, 40 and 50 ft: square, so that the well stands above the north-west corner
    assert feet("well") == [[[80, 58], [40, 88], "50 ft"], [[40, 58], [40, 88], "30 ft"]]
    assert tapes_told({"at": [3, 4]}, shapes["house"], site) == []
