"""Where the page has little room: what is drawn, typed and decided stands on one screen."""

from __future__ import annotations

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import SLOW_MS, Shown, begin_with
from test_edit_server import LOT

SIZES = {"phone": (390, 844), "phone turned": (844, 390), "tablet": (820, 1180)}
SEEN = ("#verdict", "#undo", "[data-view=leave]", "#board", "aside")


@pytest.fixture(params=SIZES)
def small(request, browser, home):
    """The page of a planned lot in a small window, by touch."""
    begin_with(home, LOT)
    width, height = SIZES[request.param]
    size = {"width": width, "height": height}
    one = Shown(browser, home, viewport=size, has_touch=True, is_mobile=True)
    one.verdict("^FITS")
    yield one, size
    assert one.trouble == []
    one.context.close()


def box(one, name):
    told = one.page.locator(name).bounding_box()
    return told["x"], told["y"], told["x"] + told["width"], told["y"] + told["height"]


def overlap(a, b):
    return min(a[2], b[2]) - max(a[0], b[0]) > 1 and min(a[3], b[3]) - max(a[1], b[1]) > 1


def test_board_fields_and_verdict_stand_on_one_screen(small):
    one, size = small
    boxes = [box(one, name) for name in SEEN]
    for at, (left, top, right, bottom) in enumerate(boxes):
        assert min(left, top) >= 0
        assert right <= size["width"] + 0.5
        assert bottom <= size["height"] + 0.5
        assert not any(overlap(boxes[at], other) for other in boxes[at + 1 :])
    # a finger is about 9 mm wide, of which 24 CSS pixels are the least of WCAG 2.2, 2.5.8
    for button in one.page.locator("#tools button, nav button, #history button").all():
        told = button.bounding_box()
        if told is not None:
            assert min(told["width"], told["height"]) >= 24


def test_what_is_told_of_a_mistake_lies_over_no_field(small):
    one, _ = small
    one.page.locator("[data-tool=house]").tap()
    one.page.get_by_label("First corner, x").fill("20")
    one.page.get_by_label("and y").fill("100")
    one.page.get_by_label("Walls").fill("30 L 20 L 31 L 14")
    one.page.get_by_role("button", name="Draw it").tap()
    one.page.wait_for_selector("#notices:has-text('do not come back')")
    told = box(one, "#notices")
    assert not overlap(told, box(one, "aside"))
    assert not overlap(told, box(one, "#verdict"))


def test_a_sheet_is_made_so_large_that_it_can_be_read(small):
    one, _ = small
    one.page.locator("[data-view=sheets]").tap()
    one.page.wait_for_selector("svg.sheet", timeout=SLOW_MS)
    sheet = one.page.locator("svg.sheet").first
    whole = sheet.bounding_box()["width"]
    one.page.locator("#sheets button").first.tap()
    # letters of 2.0 mm on a sheet 17 in wide are 11 pixels high where it is 150 rem wide
    assert sheet.bounding_box()["width"] >= max(2.4 * whole, 2000)
    one.page.locator("#sheets button").first.tap()
    assert sheet.bounding_box()["width"] == pytest.approx(whole)


def test_no_tool_runs_off_the_edge_of_an_upright_window(small):
    one, size = small
    if size["width"] > size["height"]:
        return
    for tool in one.page.locator("#tools button, #tools select").all():
        told = tool.bounding_box()
        assert told["x"] >= 0
        assert told["x"] + told["width"] <= size["width"] + 0.5
