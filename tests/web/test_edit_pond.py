"""What is measured in a pond, drawn on the page."""

from __future__ import annotations

import pytest
import tomlkit

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, text_of
from test_edit_server import LOT

POND = LOT.replace("[120, 160],\n    [0, 160],", "[120, 460],\n    [0, 460],").replace(
    'system = "vertical"', 'system = "pond"'
).replace("[exchanger]", """[[feature]]
id = "pond"
kind = "pond"
area = [[15, 180], [105, 180], [105, 400], [15, 400]]
depth = "14 ft"

[exchanger]""")  # fmt: skip


@pytest.mark.parametrize("shown", [POND], indirect=True)
def test_contours_soundings_and_the_shore_entry_of_a_pond_are_drawn_moved_and_taken_out(shown):
    page = shown.page

    def rows():
        return tomlkit.parse(text_of(shown))["feature"].unwrap()

    page.click("[data-tool=add]")
    page.select_option("#kind", "depth contour")
    ring = [(30, 200), (90, 200), (90, 380), (30, 380)]
    for x, y in ring:
        shown.tap(x * FOOT, y * FOOT)
    page.click("#form button:has-text('Done')")
    # how deep it is has to be said first: without it no contour is understood
    assert "water depth" in page.inner_text("#hint")
    assert len(rows()) == 3
    page.get_by_label("Water depth").fill("9 ft")
    page.click("#form button:has-text('Done')")
    page.wait_for_selector("[data-id=contour]", state="attached")
    contour = rows()[-1]
    assert (contour["kind"], contour["depth"]) == ("depth contour", "9 ft")
    assert [[round(axis) for axis in point] for point in contour["area"]] == [list(p) for p in ring]
    for kind, place, depth in (("sounding", "60, 300", "12"), ("shore entry", "60, 180", "")):
        page.click("[data-tool=add]")
        page.select_option("#kind", kind)
        if depth:
            page.get_by_label("Water depth").fill(depth)
        page.get_by_label("Place (ft)").fill(place)
        page.click("#form button:has-text('Done')")
        page.wait_for_selector(f"[data-id='{kind}']", state="attached")
    shown.verdict("^FITS|DOES NOT")
    assert shown.served.lot()["faults"] == []
    shown.shot("pond-marks")
    # the shore entry goes where it is dragged, along the shore
    page.focus("#board")
    page.keyboard.press("ArrowRight")
    shown.served.until(lambda: rows()[-1]["at"] == [61, 180])
    page.keyboard.press("Delete")
    shown.served.until(lambda: rows()[-1]["kind"] == "sounding")


@pytest.mark.parametrize("shown", [LOT.replace('use = "x"', "").replace(
    'at = [15, 20]', 'at = [15, 20]\n\n[[feature]]\nid = "oak"\nkind = "tree"\nat = [100, 140]'
)], indirect=True)  # fmt: skip
def test_what_is_known_of_a_thing_is_asked_in_words_of_the_trade(shown):
    page = shown.page
    shown.tap(100 * FOOT, 140 * FOOT)
    page.click("summary:has-text('What is known of it')")
    names = page.locator("#form details label span, #form details .field label").all_inner_texts()
    assert "Crown, from edge to edge" in " ".join(names)
    assert not {"canopy", "lies", "clearance source"} & {name.strip() for name in names}
    page.get_by_label("Crown, from edge to edge").fill("30 ft")
    page.keyboard.press("Enter")
    shown.served.until(lambda: 'canopy = "30 ft"' in text_of(shown))
