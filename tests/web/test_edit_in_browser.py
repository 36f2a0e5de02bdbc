"""The page of `siteplan edit` in a real browser; skipped without Chromium or Playwright."""

from __future__ import annotations

import io
import re
import zipfile
from pathlib import Path

import pypdf
import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, SHOTS, SLOW_MS, Shown, begin_with, drag, text_of
from test_edit_server import LOT


@pytest.mark.parametrize("shown", [""], indirect=True)
def test_a_lot_is_drawn_from_nothing_to_a_written_package(shown):
    page = shown.page
    page.wait_for_selector("text=Still missing")
    assert page.inner_text("#verdict") == "Begin with the property line."
    assert page.is_hidden("#stop")
    page.fill("#form textarea >> nth=0", "0, 0\n130, 0\n130, 180\n0, 180")
    page.click("#form button:has-text('Done')")
    page.wait_for_selector("[data-id=parcel]", state="attached")
    page.click("#whole")
    page.click("[data-tool=house]")
    shown.tap(45 * FOOT, 30 * FOOT)
    page.get_by_label("First wall leads").select_option("north")
    page.get_by_label("Walls").fill("28 ft R 40 ft R 28 ft")
    page.get_by_role("button", name="Draw it").click()
    shown.shot("house")
    page.wait_for_selector("[data-id=house]", state="attached")
    page.click("[data-tool=add]")
    page.select_option("#kind", "potable well")
    shown.tap(15 * FOOT, 20 * FOOT)
    page.wait_for_selector("[data-id=well]", state="attached")
    page.click("[data-tool=add]")
    page.select_option("#kind", "driveway")
    page.get_by_label("Drawn").select_option("line")
    page.get_by_label("How wide").fill("12 ft")
    for x, y in ((110, 0), (110, 45)):
        shown.tap(x * FOOT, y * FOOT)
    page.click("#form button:has-text('Done')")
    page.wait_for_selector("[data-id=driveway]", state="attached")
    page.click("summary:has-text('What is wanted')")
    for path, value in (
        ("project.owner", "B. Drawer"), ("exchanger.system", "vertical"),
        ("exchanger.length.given", "300 ft"), ("exchanger.length.by", "a designer"),
    ):  # fmt: skip
        field = page.locator(f"[data-path='{path}']")
        if path == "exchanger.system":
            field.select_option(value)
        else:
            field.fill(value)
            field.press("Enter")
        page.wait_for_function(
            "([path, value]) => document.querySelector(`[data-path='${path}']`).value === value",
            arg=[path, value],
        )
        shown.served.until(lambda value=value: value in text_of(shown))
    shown.verdict("^FITS")
    shown.shot("from-nothing")
    page.click("[data-view=leave]")
    with page.expect_download(timeout=SLOW_MS) as download:
        page.click("[data-take=package]")
    packed = zipfile.ZipFile(io.BytesIO(Path(download.value.path()).read_bytes()))
    # byte for byte what `siteplan plan` writes: tests/web/test_edit_server.py looks at that
    names = packed.namelist()
    assert {"plan.pdf", "plan.dxf", "package.sha256"} <= set(names)
    assert packed.testzip() is None


def test_a_well_dragged_into_the_field_turns_red_what_it_is_too_near_to_and_the_plan_follows(shown):
    shown.verdict("^FITS")
    laid = shown.served.lot()["stages"]["plan"]["laid"]
    bore = next(item for item in laid if item.get("symbol") == "bore")["at"]
    well = [15 * FOOT, 20 * FOOT]
    shown.tap(*well)
    drag(shown, well, [bore[0] + 2, bore[1]], let_go=False)
    shown.verdict("Too near.*well")
    # a bore has a ring, and what keeps its distance has none
    assert 1 <= shown.page.locator("circle.broken").count() < len(laid)
    assert shown.page.locator(".laid.red").count() == 0
    # where the well was is seen faintly: its place is where the mouse is
    assert shown.page.locator(".thing.moving[data-id=well]").count() == 1
    shown.shot("too-near")
    shown.page.mouse.up()
    shown.verdict("^FITS|^DOES NOT FIT|^NO")
    assert shown.page.locator(".laid.red, .laid.old, .broken, .moving").count() == 0
    after = shown.served.lot()["stages"]["plan"]["laid"]
    assert after != laid
    assert "at = [15, 20]" not in text_of(shown)
    shown.page.keyboard.press("Control+z")
    shown.served.until(lambda: text_of(shown) == LOT)
    shown.verdict("^FITS")


def test_the_available_ground_follows_the_thing_while_it_is_dragged(shown):
    well = [15 * FOOT, 20 * FOOT]
    shown.verdict("^FITS")
    shown.tap(*well)
    before = shown.page.locator("#free path").evaluate_all("all => all.map(one => one.outerHTML)")
    drag(shown, well, [20, 30], let_go=False)
    now = shown.page.locator("#free path").evaluate_all("all => all.map(one => one.outerHTML)")
    assert sum(a != b for a, b in zip(before, now, strict=True)) == 1
    # 50 ft from a potable well and the staking allowance: what the plan itself keeps, as a stroke
    part = next(each for each in shown.served.lot()["parts"] if each["part"] == "bore")
    moved = next(b for a, b in zip(before, now, strict=True) if a != b)
    width = float(re.search(r'stroke-width="([\d.]+)"', moved)[1])
    assert width == pytest.approx(2 * part["things"]["well"][0])
    shown.page.mouse.up()
    # saved before the next test begins with the same lot, or it would be changed there
    shown.served.until(lambda: text_of(shown) != LOT)


def test_a_drag_is_given_up_by_escape(shown):
    shown.verdict("^FITS")
    well, plan = [15 * FOOT, 20 * FOOT], shown.served.lot()["stages"]["plan"]
    shown.tap(*well)
    (x, y) = plan["names"][0][1]
    drag(shown, well, [x + 2, y], let_go=False)
    shown.verdict("Too near")
    assert shown.page.locator(".broken").count() > 0
    shown.page.keyboard.press("Escape")
    shown.verdict("^FITS")
    shown.page.mouse.move(*shown.spot(5, 5))
    shown.page.mouse.up()
    assert shown.page.locator(".moving, .sketch, .broken, .laid.red").count() == 0
    assert shown.page.get_by_label("point 1, east").input_value() == "15"
    assert text_of(shown) == LOT


def test_everything_can_be_done_with_keys_alone(shown):
    page = shown.page
    page.focus("#board")
    page.keyboard.press("a")
    page.keyboard.type("tree")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.press("Tab")
    page.keyboard.type("100, 140")
    page.keyboard.press("Tab")
    page.keyboard.press("Enter")
    page.wait_for_selector("[data-id=tree]", state="attached")
    page.focus("#board")
    page.keyboard.press("ArrowRight")
    shown.served.until(lambda: "[101, 140]" in text_of(shown))
    page.keyboard.press("Shift+ArrowDown")
    shown.served.until(lambda: "[101, 130]" in text_of(shown))
    page.keyboard.press("Delete")
    shown.served.until(lambda: "tree" not in text_of(shown))
    page.keyboard.press("Control+z")
    shown.served.until(lambda: "[101, 130]" in text_of(shown))
    # a tool is left from within its fields, too
    page.keyboard.press("w")
    assert page.evaluate("document.activeElement.tagName") == "INPUT"
    page.keyboard.press("Escape")
    assert page.get_attribute("[data-tool=move]", "aria-pressed") == "true"
    assert page.evaluate("document.activeElement.id") == "board"


def asked_for(sent):
    """What the page asked the server to do, of all its requests."""
    return [url.rsplit("/", 1)[1] for url in sent if "/do/" in url]


def test_a_key_that_is_held_takes_every_step_without_lagging_behind(shown):
    page, sent, before = shown.page, [], shown.served.lot()["undo"]
    page.on("request", lambda asked: sent.append(asked.url))
    page.click("#list button:has-text('well')")
    page.focus("#board")
    for _ in range(40):
        page.keyboard.press("ArrowRight")
    shown.served.until(lambda: "at = [55, 20]" in text_of(shown))
    # the last step comes after what was taken back, and goes together with nothing before that
    for key in ("ArrowUp", "Control+z", "ArrowUp"):
        page.keyboard.press(key)
    while asked_for(sent)[-3:] != ["change", "undo", "change"]:
        page.wait_for_timeout(20)  # the browser is heard only while it is waited for
    shown.served.until(lambda: "[55, 21]" in text_of(shown))
    assert asked_for(sent).count("change") < 30
    for _ in range(shown.served.lot()["undo"] - before):
        page.keyboard.press("Control+z")
    shown.served.until(lambda: text_of(shown) == LOT)


def test_a_thing_is_placed_by_two_tapes_and_the_numbers_stay(shown):
    page = shown.page
    page.click("#list button:has-text('well')")
    page.click("summary:has-text('By two tapes')")
    page.get_by_label("Tape 1 from").select_option("house:NE")
    page.get_by_label("length of tape 1").fill("50 ft")
    page.get_by_label("Tape 2 from").select_option("house:NW")
    page.get_by_label("length of tape 2").fill("30 ft")
    page.get_by_label("They meet to the").select_option("north")
    page.get_by_role("button", name="Place by these tapes").click()
    shown.served.until(lambda: "ties" in text_of(shown))
    # right triangle of 30, 40, 50 ft over the north wall, which is 40 ft long: at (40, 90) ft
    well = next(each for each in shown.served.lot()["things"] if each["id"] == "well")
    assert well["rings"][0][0] == pytest.approx([40 * FOOT, 90 * FOOT], abs=0.001)
    page.wait_for_selector("text=Placed by a tape")
    assert page.get_by_label("Tape 1 from").input_value() == "house:NE"


PHONE = {"viewport": {"width": 390, "height": 760}, "has_touch": True, "is_mobile": True,
         "color_scheme": "dark"}  # fmt: skip


def test_the_page_serves_on_a_phone_by_finger(browser, home):
    begin_with(home, LOT)
    one = Shown(browser, home, **PHONE)
    try:
        one.verdict("^FITS")
        wide = one.page.evaluate("document.documentElement.scrollWidth")
        assert wide <= 390
        one.page.touchscreen.tap(*one.spot(15 * FOOT, 20 * FOOT))
        one.page.wait_for_selector(".thing.chosen[data-id=well]", state="attached")
        one.shot("phone")
        one.finger([15 * FOOT, 20 * FOOT], [15 * FOOT, 30 * FOOT])
        one.served.until(lambda: "at = [15, 20]" not in text_of(one))
        assert one.trouble == []
    finally:
        one.context.close()


def many_trees(count: int) -> str:
    """A lot of 2,000 by 2,000 ft with rows of trees along its south."""
    rows = [
        f'[[feature]]\nid = "t{n}"\nkind = "tree"\nat = [{10 + n % 50 * 39}, {5 + n // 50 * 9}]\n'
        for n in range(count)
    ]
    text = LOT
    for small, large in (
        ("[120, 0], ", "[2000, 0], "), ("[120, 160]", "[2000, 2000]"), ("[0, 160]", "[0, 2000]"),
        ("[15, 20]", "[1200, 1200]"),
        ("[[40, 30], [80, 30], [80, 60], [40, 60]]",
         "[[900, 900], [940, 900], [940, 930], [900, 930]]"),
    ):  # fmt: skip
        text = text.replace(small, large)
    # nothing says how long the loop is: shown and moved, not planned
    text = text.replace('length = { given = "300 ft", by = "a designer" }', "")
    return text.replace("[exchanger]", "\n".join(rows) + "\n[exchanger]")


@pytest.mark.parametrize("shown", [many_trees(2000)], indirect=True)
def test_a_lot_of_two_thousand_things_is_shown_and_moved(shown):
    assert shown.page.locator(".thing").count() >= 2002
    well = [1200 * FOOT, 1200 * FOOT]
    shown.tap(*well)
    drag(shown, well, [1100 * FOOT, 1300 * FOOT])
    shown.served.until(lambda: "at = [1200, 1200]" not in text_of(shown))
    # to come nearer has the browser lay out the page a few times, not once for each name
    asked = shown.page.evaluate(
        """() => {
            const own = Element.prototype.getBoundingClientRect;
            let count = 0;
            Element.prototype.getBoundingClientRect = function () {
                count++;
                return own.call(this);
            };
            document.getElementById("nearer").click();
            Element.prototype.getBoundingClientRect = own;
            return count;
        }"""
    )
    assert asked < 10


def test_plan_and_comparison_print_on_one_sheet(shown):
    shown.verdict("^FITS")
    printed = shown.page.pdf(prefer_css_page_size=True)
    pages = pypdf.PdfReader(io.BytesIO(printed)).pages
    assert len(pages) == 1
    text = pages[0].extract_text()
    assert "FITS" in text
    assert "Loop types" in text
    assert "Take along" not in text
    if SHOTS:
        Path(SHOTS, "print.pdf").write_bytes(printed)


COLD = LOT.replace(
    'length = { given = "300 ft", by = "a designer" }',
    """
[loads]
heating = "24 MBH"
heating_hours = 2000

[ground]
temperature = "42 F"
soil = "limestone"

[fluid]
mixture = "propylene glycol 15 %"
""",
)


@pytest.mark.parametrize("shown", [COLD], indirect=True)
def test_a_remedy_is_tried_by_a_click_and_sheets_and_variants_are_shown(shown):
    page = shown.page
    page.wait_for_selector(".remedy", timeout=SLOW_MS)
    shown.shot("remedy")
    page.locator(".remedy").first.click()
    shown.served.until(lambda: 'mixture = "propylene glycol 25 %"' in text_of(shown))
    shown.verdict("^FITS")
    page.click("[data-view=sheets]")
    page.wait_for_selector("svg.sheet", timeout=SLOW_MS)
    shown.shot("sheets")
    page.click("[data-view=variants]")
    page.get_by_label("change").select_option("entry")
    page.get_by_label("to", exact=True).select_option(
        label="house, north wall of 40 ft, in its middle"
    )
    page.get_by_role("button", name="Keep beside").click()
    page.wait_for_selector(".variant:not(.now) svg.picture", timeout=SLOW_MS)
    shown.shot("variants")
    page.get_by_role("button", name="Take this one").click()
    # the middle of the wall from (40, 60) to (80, 60)
    shown.served.until(lambda: "at = [60, 60]" in text_of(shown))
