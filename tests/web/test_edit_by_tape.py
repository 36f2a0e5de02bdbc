"""The page of `siteplan edit`, as somebody meets it who comes with a tape sketch and no manual."""

from __future__ import annotations

import math
import tomllib

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, SLOW_MS, drag, text_of
from test_edit_server import LOT

TAPED = LOT[: LOT.index("[exchanger]")] + """\
[[feature]]
id = "shed"
kind = "building"
corner = [90, 100]
direction = "east"
walls = ["10 ft", "L", "8 ft", "L", "10 ft"]

""" + LOT[LOT.index("[exchanger]") :]  # fmt: skip


def want(one, path, value):
    """State something of what is wanted."""
    one.page.locator(f"[data-path='{path}']").select_option(value)
    one.served.until(lambda: f'"{value}"' in text_of(one))


def test_every_kind_of_trench_that_is_offered_is_understood(shown):
    # room for a wide pit
    shown.served.change({"op": "set", "path": ["horizontal", "spacing"], "value": "20 ft"})
    shown.page.click("summary:has-text('What is wanted')")
    offered = shown.page.locator("[data-path='horizontal.kind'] option").all_inner_texts()
    # what the trade calls a two-pipe trench is among them
    assert "two pipes side by side" in offered
    # kinds are compared by lengths calculated for each, and this lot's length is given
    for kind in (kind for kind in offered if kind not in ("", "choose")):
        want(shown, "horizontal.kind", kind)
        assert shown.served.lot()["faults"] == []


def test_what_is_missing_leads_to_where_it_is_typed(shown):
    shown.served.change({"op": "set", "path": ["exchanger", "length"], "value": None})
    page = shown.page
    page.wait_for_selector("text=Still missing")
    assert not page.locator("[data-path='exchanger.capacity']").is_visible()
    page.click("#faults button:has-text('What is wanted')")
    page.keyboard.type("2 ton")
    page.keyboard.press("Enter")
    shown.served.until(lambda: 'capacity = "2 ton"' in text_of(shown))
    page.wait_for_selector("text=Still missing", state="detached")


@pytest.mark.parametrize("shown", [TAPED], indirect=True)
def test_what_a_tape_placed_stays_on_the_board_while_a_word_is_wrong(shown):
    page = shown.page
    outline = page.locator(".thing[data-id=shed]")
    before = outline.inner_html()
    shown.served.change({"op": "say", "ref": "feature:1", "key": "casing", "value": "so deep"})
    page.wait_for_selector("text=so deep")
    assert shown.served.lot()["parts"] == []
    assert outline.inner_html() == before
    # its walls are told anew, and it is drawn by them: the word is another thing's
    row = next(each for each in shown.served.lot()["things"] if each["id"] == "shed")
    shown.served.change({"op": "place", "ref": row["ref"], "key": "walls",
                         "value": ["12 ft", "L", "8 ft", "L", "12 ft"]})  # fmt: skip
    now = next(each for each in shown.served.lot()["things"] if each["id"] == "shed")
    assert math.dist(*now["rings"][0][:2]) == pytest.approx(12 * FOOT, abs=2e-3)


@pytest.mark.parametrize("shown", [""], indirect=True)
def test_a_property_line_that_is_typed_is_seen_whole(shown):
    page = shown.page
    page.fill("#form textarea >> nth=0", "0, 0\n240, 0\n240, 170\n0, 170")
    page.click("#form button:has-text('Done')")
    page.wait_for_selector("[data-id=parcel]", state="attached")
    board = page.locator("#board").bounding_box()
    (west, south), (east, north) = shown.spot(0, 0), shown.spot(240 * FOOT, 170 * FOOT)
    left, right = west - board["x"], board["x"] + board["width"] - east
    above, below = north - board["y"], board["y"] + board["height"] - south
    assert min(left, right, above, below) > 0
    # in the middle, but for the hint that stands below; the board may still grow by a scroll bar
    # when its lists are filled
    hint = page.locator("#hint").bounding_box() or {"height": 30}
    assert abs(left - right) < 20
    assert abs(below - above - hint["height"]) < 20


def test_no_walls_are_drawn_that_nobody_typed(shown):
    page = shown.page
    page.click("[data-tool=house]")
    page.get_by_label("Kind", exact=True).select_option("septic tank")
    page.get_by_label("First corner, x").fill("90")
    page.get_by_label("and y").fill("100")
    page.click("#form button:has-text('Draw it')")
    page.wait_for_selector("#hint:has-text('how long the walls are')")
    assert text_of(shown) == LOT
    # from the south-west corner to the east and round to the left: it lies to the north
    page.get_by_label("Walls").fill("10 ft L 5 ft L 10 ft")
    page.click("#form button:has-text('Draw it')")
    page.wait_for_selector("[data-id=tank]", state="attached")
    tank = next(each for each in shown.served.lot()["things"] if each["id"] == "tank")
    ys = [y for _, y in tank["rings"][0]]
    assert min(ys) == pytest.approx(100 * FOOT)
    assert max(ys) == pytest.approx(105 * FOOT)
    # the numbers it was drawn by stand beside it and are typed over
    page.get_by_label("First corner").fill("90, 110")
    page.get_by_label("First corner").press("Enter")
    shown.served.until(lambda: "corner = [90, 110]" in text_of(shown))
    assert 'walls = ["10 ft", "L", "5 ft", "L", "10 ft"]' in text_of(shown)
    tank = next(each for each in shown.served.lot()["things"] if each["id"] == "tank")
    assert min(y for _, y in tank["rings"][0]) == pytest.approx(110 * FOOT)


def test_an_entry_tapped_on_a_wall_is_called_by_that_wall(shown):
    page = shown.page
    page.click("[data-tool=entry]")
    # the house stands from (40, 30) to (80, 60) ft
    shown.tap(70 * FOOT, 60 * FOOT)
    page.wait_for_selector("[data-id='entry north wall']", state="attached")
    assert 'id = "north wall"' in text_of(shown)
    page.click("[data-tool=entry]")
    shown.tap(80 * FOOT, 45 * FOOT)
    page.wait_for_selector("[data-id='entry east wall']", state="attached")


def test_a_driveway_is_asked_for_its_width(shown):
    page = shown.page
    page.click("[data-tool=add]")
    page.select_option("#kind", "driveway")
    page.get_by_label("Drawn").select_option("line")
    page.fill("#form textarea", "110, 0\n110, 45")
    page.click("#form button:has-text('Done')")
    page.wait_for_selector("#hint:has-text('how wide')")
    assert text_of(shown) == LOT
    page.get_by_label("How wide").fill("12 ft")
    page.click("#form button:has-text('Done')")
    page.wait_for_selector("[data-id=driveway]", state="attached")
    shown.served.until(lambda: 'width = "12 ft"' in text_of(shown))
    # an underground line has no width that is asked for twice: a point has none at all
    page.click("[data-tool=add]")
    page.select_option("#kind", "tree")
    assert page.get_by_label("How wide").count() == 0
    # drawn to the property line, it goes on over it: at a fence nobody drives in
    began, *_ = tomllib.loads(text_of(shown))["feature"][-1]["line"]
    assert began == pytest.approx([110, -2 / FOOT], abs=0.01)
    # it lies on the board as a strip, 6 ft to either side of its middle
    drive = next(each for each in shown.served.lot()["things"] if each["id"] == "driveway")
    wide = [x for item in drive["drawn"] if "area" in item for x, _ in item["area"][0]]
    assert (min(wide), max(wide)) == pytest.approx((104 * FOOT, 116 * FOOT), abs=0.001)


def test_ground_for_a_coil_in_a_pond_is_told_where_there_is_a_pond_alone(shown):
    told = "() => document.getElementById('answer').textContent.includes('Ground left')"
    shown.served.change({"op": "set", "path": ["exchanger", "length"], "value": None})
    shown.page.wait_for_function(told, timeout=SLOW_MS)
    assert "coil" not in shown.page.inner_text("#answer")
    area = [[84, 90], [116, 90], [116, 130], [84, 130]]
    pond = {"id": "pond", "kind": "pond", "depth": "10 ft", "area": area}
    shown.served.change({"op": "add", "list": "feature", "values": pond})
    shown.page.wait_for_function(told.replace("Ground left", "coil: "), timeout=SLOW_MS)


@pytest.mark.parametrize("shown", [TAPED], indirect=True)
def test_a_shed_that_goes_by_its_walls_is_dragged_as_a_whole(shown):
    page = shown.page
    inside = [95 * FOOT, 104 * FOOT]
    shown.tap(*inside)
    page.wait_for_selector(".thing.chosen[data-id=shed]", state="attached")
    drag(shown, inside, [inside[0] - 20 * FOOT, inside[1] + 10 * FOOT])
    shown.served.until(lambda: "corner = [90, 100]" not in text_of(shown))
    # its walls stay as they were measured
    assert 'walls = ["10 ft", "L", "8 ft", "L", "10 ft"]' in text_of(shown)
    shed = next(each for each in shown.served.lot()["things"] if each["id"] == "shed")
    xs, ys = zip(*shed["rings"][0], strict=True)
    assert (min(xs), min(ys)) == pytest.approx((70 * FOOT, 110 * FOOT), abs=0.4)
    assert (max(xs) - min(xs), max(ys) - min(ys)) == pytest.approx((10 * FOOT, 8 * FOOT), abs=0.002)
    page.focus("#board")
    corner = text_of(shown)
    page.keyboard.press("ArrowUp")
    shown.served.until(lambda: text_of(shown) != corner)
    shed = next(each for each in shown.served.lot()["things"] if each["id"] == "shed")
    assert min(y for _, y in shed["rings"][0]) == pytest.approx(min(ys) + FOOT, abs=0.002)


def test_what_is_placed_by_tapes_may_go_by_coordinates_again(shown):
    off = {"off": [["parcel:west", "18 ft"], ["parcel:south", "25 ft"]]}
    shown.served.change({"op": "place", "ref": "feature:1", "key": "at", "value": off})
    page = shown.page
    page.click("#list button:has-text('well')")
    page.click("button:has-text('Go by coordinates instead')")
    shown.served.until(lambda: "at = [18, 25]" in text_of(shown))
    assert "off" not in text_of(shown)


@pytest.mark.parametrize(
    ("typed", "east_ft", "north_ft"),
    [
        ("40 L 28 L 40", 40, 28),
        ("40 x 28", 40, 28),
        ("42' 6\" l 28' l 42' 6\"", 42.5, 28),
        ("42'-6\" × 28 1/2 ft", 42.5, 28.5),
    ],
)
def test_walls_typed_without_units_are_lengths_and_not_turns(shown, typed, east_ft, north_ft):
    # by the tape: two lengths with a square corner between, whatever unit is written beside them
    page = shown.page
    page.click("[data-tool=house]")
    page.get_by_label("Name").fill("shed")
    page.click("summary:has-text('as it is measured')")
    page.get_by_label("off line 1").fill("20 ft")
    page.get_by_label("off line 2").fill("100 ft")
    page.get_by_label("Walls").fill(typed)
    page.click("#form button:has-text('Draw it')")
    page.wait_for_selector("[data-id=shed]", state="attached")
    shed = next(each for each in shown.served.lot()["things"] if each["id"] == "shed")
    xs, ys = zip(*shed["rings"][0], strict=True)
    assert [min(xs), min(ys)] == pytest.approx([20 * FOOT, 100 * FOOT], abs=0.001)
    assert max(xs) - min(xs) == pytest.approx(east_ft * FOOT, abs=0.001)
    assert max(ys) - min(ys) == pytest.approx(north_ft * FOOT, abs=0.001)


def test_a_house_whose_walls_do_not_meet_is_told_and_not_put_into_the_file(shown):
    page = shown.page
    page.click("[data-tool=house]")
    page.get_by_label("Name").fill("shed")
    page.get_by_label("First corner, x").fill("20")
    page.get_by_label("and y").fill("100")
    page.get_by_label("Walls").fill("40 ft L 28 ft L 30 ft R 10 ft")
    page.click("#form button:has-text('Draw it')")
    page.wait_for_selector("#notices:has-text('shed, walls: do not come back')")
    assert text_of(shown) == LOT
    # what was typed is still there to be mended
    page.get_by_label("Walls").fill("40 ft L 28 ft L 40 ft")
    page.click("#form button:has-text('Draw it')")
    page.wait_for_selector("[data-id=shed]", state="attached")


def test_what_tapes_are_laid_from_is_told_in_words(shown):
    page = shown.page
    page.click("[data-tool=add]")
    words = page.locator("#form .measures option").all_text_contents()
    assert {"west property line", "north wall of house", "NE corner of house"} <= set(words)
    assert not [each for each in words if ":" in each or "parcel" in each]
