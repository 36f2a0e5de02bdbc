"""What somebody who never saw the page tries first, in a browser."""

from __future__ import annotations

import pytest
import shapely

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, SLOW_MS, drag, text_of
from test_edit_server import LOT

TAPED = LOT.replace("at = [15, 20]", 'at = {off = [["parcel:west", "15"], ["parcel:south", "20"]]}')
"""The same lot, its well off two property lines."""


@pytest.mark.parametrize("shown", [TAPED], indirect=True)
def test_a_well_held_by_its_tapes_says_so_when_dragged_and_the_board_stays(shown):
    shown.verdict("^FITS")
    well, corner = [15 * FOOT, 20 * FOOT], shown.spot(0, 0)
    drag(shown, well, [20, 30])
    assert "It lies where its tapes say" in shown.page.inner_text("#hint")
    assert shown.spot(0, 0) == corner
    assert shown.page.get_by_label("off line 1").input_value() == "15"
    assert text_of(shown) == TAPED
    # elsewhere the board moves under the hand
    drag(shown, [130 * FOOT + 4, 30], [130 * FOOT + 8, 30])
    assert shown.spot(0, 0) != corner


def test_what_is_closed_is_chosen_nowhere_and_a_drag_leaves_no_figures_behind(shown):
    shown.verdict("^FITS")
    page = shown.page
    drag(shown, [15 * FOOT, 20 * FOOT], [16 * FOOT, 24 * FOOT])
    assert page.locator("#list [aria-pressed=true]").all_inner_texts() == ["well"]
    assert page.inner_text("#hint") == ""
    page.get_by_role("button", name="Close").click()
    assert page.locator("#list [aria-pressed=true]").count() == 0
    shown.served.until(lambda: text_of(shown) != LOT)


@pytest.mark.parametrize("typed", ["abc", "", "1e999", "12 ft 99 in", "NaN"])
def test_no_place_is_asked_about_that_is_no_place(shown, typed):
    page = shown.page
    for tool, button in (("why", "Ask"), ("entry", "Add the entry")):
        page.click(f"[data-tool={tool}]")
        page.fill("#form input >> nth=0", typed)
        page.fill("#form input >> nth=1", "5")
        page.get_by_role("button", name=button).click()
        assert page.inner_text("#hint") == "Write x and y as numbers."
    assert page.locator(".spot").count() == 0
    assert text_of(shown) == LOT


@pytest.mark.parametrize("typed", ["-5", "40", "999999999"])
def test_one_wall_alone_is_told_in_the_words_of_a_tape(shown, typed):
    page = shown.page
    page.click("[data-tool=house]")
    shown.tap(10, 10)
    page.get_by_label("Walls").fill(typed)
    page.get_by_role("button", name="Draw it").click()
    assert "which way they turn, such as 40 ft L 28 ft L 40 ft" in page.inner_text("#hint")
    assert text_of(shown) == LOT


def test_what_is_typed_for_the_next_variant_stays_while_the_first_is_planned(shown):
    page = shown.page
    shown.verdict("^FITS")
    page.click("[data-view=variants]")
    page.get_by_label("to", exact=True).fill("25 ft")
    keep = page.get_by_role("button", name="Keep beside")
    keep.click()
    page.wait_for_selector(".variant:not(.now)")
    page.get_by_label("Name").fill("deeper")
    page.get_by_label("change").select_option("deepest bore")
    beside = keep.bounding_box()
    page.get_by_label("to", exact=True).fill("500 ft")
    page.wait_for_selector(".variant:not(.now) svg.picture", timeout=SLOW_MS)
    assert page.get_by_label("change").input_value() == "deepest bore"
    assert page.get_by_label("to", exact=True).input_value() == "500 ft"
    # a list in the place of a field moves no button away
    page.get_by_label("change").select_option("loop type")
    assert keep.bounding_box() == beside
    page.get_by_label("change").select_option("deepest bore")
    page.get_by_label("to", exact=True).fill("500 ft")
    keep.click()
    page.wait_for_selector(".variant h2:has-text('deeper')")


@pytest.mark.parametrize("shown", [""], indirect=True)
def test_a_sketch_of_bearings_line_by_line_is_drawn(shown):
    page = shown.page
    assert page.is_hidden("#part")
    sketch = "N 89 E 205\nN 2 W 213\nS 89 W 203\nS 1 30 E 213"
    page.get_by_label("Its text").fill(sketch)
    page.get_by_role("button", name="Draw the deed").click()
    page.wait_for_selector("text=The deed has 4 calls, 834 ft in all")
    assert page.is_visible("#part")


def test_an_area_leads_to_where_its_sides_are_typed(shown):
    page = shown.page
    page.click("[data-tool=add]")
    page.select_option("#kind", "drainfield")
    page.get_by_role("button", name="By its sides").click()
    assert page.get_by_label("Kind", exact=True).input_value() == "drainfield"
    assert page.get_by_label("Walls").is_visible()
    # a reserve area is not called area on the board
    page.get_by_label("Kind", exact=True).select_option("reserve area")
    assert page.get_by_label("Name", exact=True).input_value() == "reserve area"


def test_keys_serve_after_a_tool_was_clicked(shown):
    page = shown.page
    page.click("[data-tool=why]")
    page.keyboard.press("Escape")
    assert page.get_attribute("[data-tool=move]", "aria-pressed") == "true"
    page.click("#whole")
    page.keyboard.press("h")
    page.keyboard.press("Tab")
    page.keyboard.type("60")
    assert page.get_by_label("First corner, x").input_value() == "60"
    # a button that has the focus is still pressed by its own key
    page.focus("[data-tool=add]")
    page.keyboard.press("Space")
    assert page.get_attribute("[data-tool=add]", "aria-pressed") == "true"


def test_the_street_passes_the_side_that_the_house_is_nearest_to(shown):
    page = shown.page
    page.click("[data-tool=add]")
    page.select_option("#kind", "street")
    # in its box a kind stands alone, with what else it is called under it
    assert page.locator("#kind option:checked").inner_text() == "street"
    assert page.locator("small:has-text('also: ')").is_visible()
    offered = page.get_by_label("Passes the")
    ring, house = page.evaluate(
        """async () => {
            const lot = await (await import("/page/server.js")).load();
            const house = lot.things.find(({ kind }) => kind === "building");
            return [lot.parcel.rings[0], house.rings[0]];
        }"""
    )
    sides = [shapely.LineString(ring[at : at + 2]) for at in range(len(ring) - 1)]
    far = [side.distance(shapely.Polygon(house)) for side in sides]
    assert far[int(offered.input_value()) - 1] == min(far)


def test_what_if_begins_with_the_lot_as_it_is(shown):
    page = shown.page
    shown.verdict("^FITS")
    page.click("[data-view=variants]")
    page.wait_for_selector(".now h2:has-text('The lot as it is')")
    assert page.locator(".now svg.picture path").count() > 0
    assert "FITS" in page.locator(".now .good").inner_text()


@pytest.mark.parametrize("shown", [""], indirect=True)
def test_nothing_is_stopped_that_is_not_being_planned(shown):
    page = shown.page
    page.get_by_label("Corners (ft)").fill("0, 0\n180, 0\n180, 242\n0, 242")
    page.locator("#form").get_by_role("button", name="Done").click()
    shown.verdict("^Not yet to be planned")
    assert page.is_hidden("#stop")


def test_no_red_line_crosses_out_a_name(shown):
    page = shown.page
    shown.verdict("^FITS")
    # a red line along the very names, as where what is dragged lies beside a row of them
    names, crossed = page.evaluate(
        """async () => {
            const { Drawing } = await import("/page/drawing.js");
            const board = { watchers: [], seen: (p) => p, size: [800, 600], scale: 1, defs: null };
            const drawing = new Drawing(board, {});
            const made = [100, 200, 300].map((x) => drawing.name("T1", [x, 100]));
            drawing.lines = [[[0, 100], [800, 100]]];
            drawing.sized();
            const crossed = made.filter((each) => Math.abs(each.getAttribute("y") - 104) < 8);
            return [made.length, crossed.length];
        }"""
    )
    assert (names, crossed) == (3, 0)


def test_the_board_says_where_north_is_and_no_two_lengths_run_together(shown):
    page = shown.page
    arrow = page.locator("#board .north").bounding_box()
    scale = page.locator("#board > * .scale, #board .scale").first.bounding_box()
    assert arrow["y"] + arrow["height"] <= scale["y"] + 1
    words = page.evaluate(
        """async () => {
            const { sides } = await import("/page/measured.js");
            const board = { seen: ([x, y]) => [2 * x, -2 * y] };
            const lot = { unit: { metres: 1, decimals: 0, name: "m" } };
            const walls = [[0, 0], [62, 0], [62, 24], [48, 24], [48, 32], [0, 32]];
            return sides({ board, lot }, walls, true).map((each) => each.textContent);
        }"""
    )
    # of the step, whose two lengths would stand on one another, that of the longer wall
    assert [float(each) for each in words] == [62, 24, 14, 48, 32]
