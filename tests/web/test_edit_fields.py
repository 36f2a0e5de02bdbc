"""What is typed and chosen on the page, and its messages, by somebody who never sees the file."""

from __future__ import annotations

import re

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, text_of
from served import Served
from test_edit_server import LOT, folder_with

HEAT = """
[loads]
heating = "36 MBH"
"""
CALCULATED = LOT.replace('length = { given = "300 ft", by = "a designer" }', "") + HEAT
OPEN = LOT.replace('system = "vertical"', 'system = "choose"')


@pytest.mark.parametrize(
    ("text", "named"),
    [
        (CALCULATED, "Heating hours a year: is missing."),
        (LOT + '[ground]\nsoil = "mud"\n', "Soil or rock: 'mud' is not known"),
        (LOT + '[rules]\nbooks = ["main"]\n', "Rule books: 'main' is not a book"),
        (LOT + '[vertical]\nspacing = "1 in"\n', "vertical: diameter: is not less"),
        (LOT.replace(', by = "a designer"', ""), "Loop length given by whom: is missing."),
        (LOT.replace("length =", "# length ="), "Say how much heat is wanted"),
        (LOT.replace("parcel = [", "x = ["), "Draw the property line"),
    ],
)
def test_messages_name_the_fields_of_the_page_and_no_place_of_the_file(tmp_path, text, named):
    served = Served(folder_with(tmp_path, text) / "site.toml")
    try:
        lot, stages = served.lot(), served.planned()
    finally:
        served.stop()
    told = [f"{each['where']}: {each['what']} {each['mend']}" for each in lot["faults"]]
    assert any(named in each for each in told), told
    for each in [*told, *lot["granted"], *stages.get("faults", [])]:
        assert not re.search(r"site\.toml|\[[a-z_.]+\]|Add a line", each), each


@pytest.mark.parametrize("shown", [CALCULATED], indirect=True)
def test_a_figure_that_is_missing_leads_to_its_field(shown):
    page = shown.page
    row = page.locator("#faults li:has-text('Heating hours a year')")
    row.get_by_role("button", name="Fill it in").click()
    assert page.evaluate("document.activeElement.dataset.path") == "loads.heating_hours"
    page.keyboard.type("2000")
    page.keyboard.press("Enter")
    shown.served.until(lambda: "heating_hours = 2000" in text_of(shown))


def test_rule_books_are_chosen_by_their_titles_and_left_out_again(shown):
    page = shown.page
    page.click("summary:has-text('What is wanted')")
    books = page.get_by_label("Rule books")
    books.locator("option", has_text="Maine").first.wait_for(state="attached")
    books.select_option("maine")
    shown.served.until(lambda: 'books = ["maine"]' in text_of(shown))
    page.wait_for_selector("#settings button[aria-label='Leave out maine']")
    books.select_option("irc-m2105")
    shown.served.until(lambda: 'books = ["maine", "irc-m2105"]' in text_of(shown))
    page.click("#settings button[aria-label='Leave out maine']")
    shown.served.until(lambda: 'books = ["irc-m2105"]' in text_of(shown))


def test_a_rule_book_beside_the_site_file_is_offered_as_well(shown):
    book = """
id = "our-town"
title = "Our town"
read_on = 2026-01-31
document = "By-law 7"
[[rule]]
from = "property line"
for = ["bore"]
distance = "25 ft"
source = "By-law 7, section 2"
"""
    (shown.served.folder / "our-town.toml").write_text(book)
    page = shown.page
    page.click("summary:has-text('What is wanted')")
    page.locator("option[value='our-town.toml']").wait_for(state="attached")
    page.get_by_label("Rule books").select_option("our-town.toml")
    shown.served.until(lambda: 'books = ["our-town.toml"]' in text_of(shown))
    part = next(each for each in shown.served.lot()["parts"] if each["part"] == "bore")
    assert part["line"][0] > 25 * FOOT
    (shown.served.folder / "our-town.toml").unlink()


def test_the_use_of_a_well_is_chosen_from_those_that_rules_know(shown):
    page = shown.page
    page.click("#list button:has-text('well')")
    page.click("summary:has-text('What is known of it')")
    assert "private dug" in page.get_by_label("Use").locator("option").all_inner_texts()
    page.get_by_label("Use").select_option("public")
    shown.served.until(lambda: 'use = "public"' in text_of(shown))


def test_whatever_else_a_site_file_may_say_is_stated_by_its_name(shown):
    page = shown.page
    page.click("summary:has-text('What is wanted')")
    page.click("summary:has-text('Anything else')")
    page.get_by_label("What", exact=True).fill("rig: width")
    page.get_by_label("is", exact=True).fill("6 ft")
    page.click("#more button:has-text('State it')")
    shown.served.until(lambda: 'width = "6 ft"' in text_of(shown))
    # from now on it has a field like all others
    field = page.locator("[data-path='rig.width']")
    field.wait_for()
    field.fill("7 ft")
    field.press("Enter")
    shown.served.until(lambda: 'width = "7 ft"' in text_of(shown))


def test_a_well_is_placed_off_two_lot_lines_and_the_numbers_are_typed_over(shown):
    page = shown.page
    page.click("#list button:has-text('well')")
    page.click("summary:has-text('Off two lines')")
    for label, value in (("Line 1", "parcel:west"), ("Line 2", "parcel:south")):
        page.get_by_label(label, exact=True).select_option(value)
    page.get_by_label("off line 1").fill("18 ft 6 in")
    page.get_by_label("off line 2").fill("25 ft")
    page.click("button:has-text('Place off these lines')")
    shown.served.until(lambda: "off = [" in text_of(shown))

    def place():
        well = next(each for each in shown.served.lot()["things"] if each["id"] == "well")
        return [value / FOOT for value in well["rings"][0][0]]

    assert place() == pytest.approx([18.5, 25], abs=0.01)
    page.wait_for_function(
        "() => [...document.querySelectorAll('#form input')].some((i) => i.value === '18 ft 6 in')"
    )
    page.get_by_label("off line 2").fill("30 ft")
    page.click("button:has-text('Place off these lines')")
    shown.served.until(lambda: '"30 ft"' in text_of(shown))
    assert place() == pytest.approx([18.5, 30], abs=0.01)


def test_a_tank_is_drawn_where_it_was_measured_before_it_is_anywhere_else(shown):
    page = shown.page
    page.click("[data-tool=add]")
    page.select_option("#kind", "fuel tank")
    page.get_by_label("Drawn").select_option("at")
    page.click("summary:has-text('By two tapes')")
    page.get_by_label("Tape 1 from").select_option("house:NE")
    page.get_by_label("length of tape 1").fill("50 ft")
    page.get_by_label("Tape 2 from").select_option("house:NW")
    page.get_by_label("length of tape 2").fill("30 ft")
    page.get_by_label("They meet to the").select_option("north")
    page.click("button:has-text('Place by these tapes')")
    page.wait_for_selector("[data-id=tank]", state="attached")
    tank = next(each for each in shown.served.lot()["things"] if each["id"] == "tank")
    # a right triangle of 30, 40 and 50 ft over the north wall, which is 40 ft long
    assert tank["rings"][0][0] == pytest.approx([40 * FOOT, 90 * FOOT], abs=0.001)


@pytest.mark.parametrize("shown", [OPEN], indirect=True)
def test_every_loop_type_wanted_is_told_before_the_full_plan(shown):
    shown.verdict("^FITS|^DOES NOT FIT")
    session = shown.served.server.config.app.app.state.session
    # as it is before the full plan: ground, and the loop types that are not drawn
    trials = session.stages["plan"]["trials"]
    others = [{**each, "drawn": False} for each in trials if not each["drawn"]]
    session.stages = {"area": session.stages["area"], "others": others}
    shown.page.reload()
    shown.page.wait_for_selector("body[data-ready=yes]")
    assert shown.page.inner_text("#answer h2") == "So far"
    rows = shown.page.locator("#answer tbody tr").all_inner_texts()
    assert len(rows) == len(trials)
    for each in others:
        assert any(each["system"] in row and each["why"] in row for row in rows)
    # nothing says FITS but the full plan
    assert "FITS" not in shown.page.inner_text("#verdict")


@pytest.mark.parametrize("shown", [LOT], indirect=True)
def test_the_ground_is_shown_while_figures_are_still_missing(shown):
    page = shown.page
    drive = {"id": "drive", "kind": "driveway", "width": "12 ft", "line": [[110, 0], [110, 45]]}
    shown.served.change(
        {"op": "add", "list": "feature", "values": drive},
        {"op": "set", "path": ["exchanger", "length"], "value": None},
        {"op": "set", "path": ["loads", "heating"], "value": "36 MBH"},
    )
    page.wait_for_selector("#faults li:has-text('Heating hours a year')")
    assert page.locator("#board .free").is_visible()
    lot = shown.served.lot()
    assert {each["part"] for each in lot["parts"]} >= {"bore", "trench"}
    (strip,) = (each for each in lot["things"] if each["id"] == "drive")
    assert any("area" in item for item in strip["drawn"])
    # the lot bears its title meanwhile
    assert page.inner_text("#title") == "Loop"


def test_how_large_the_lot_is_on_the_screen_is_seen_and_where_the_pointer_is(shown):
    page = shown.page
    bar = page.locator("#board .scale")
    told = float(page.locator("#over text", has_text=" ft").first.text_content().split()[0])
    wide = float(re.search(r"h([\d.]+)", bar.get_attribute("d"))[1])
    (x0, _), (x1, _) = shown.spot(0, 0), shown.spot(told * FOOT, 0)
    assert wide == pytest.approx(x1 - x0, rel=1e-3)
    page.mouse.move(*shown.spot(60 * FOOT, 100 * FOOT))
    east, north = (float(each) for each in re.findall(r"[\d.]+", page.inner_text("#place"))[:2])
    assert (east, north) == pytest.approx((60, 100), abs=0.5)


def test_lines_are_called_by_what_runs_in_them(shown):
    page = shown.page
    page.click("[data-tool=add]")
    page.select_option("#kind", "sewer line")
    assert page.get_by_label("Name").input_value() == "sewer"
    page.select_option("#kind", "septic tank")
    assert page.get_by_label("Name").input_value() == "tank"


@pytest.mark.parametrize("shown", [""], indirect=True)
def test_a_lot_is_drawn_from_nothing_by_keys_alone(shown):
    keys = shown.page.keyboard

    def typed(text):
        keys.insert_text(text)
        keys.press("Tab")

    def until_on(words):
        """Tab on to a button or field by its name."""
        for _ in range(40):
            name = shown.page.evaluate(
                "() => { const e = document.activeElement;"
                " return e.labels?.[0]?.textContent || e.textContent; }"
            )
            if name == words:
                return
            keys.press("Tab")
        raise AssertionError(words)

    shown.page.focus("#board")
    keys.press("p")
    typed("0, 0\n130, 0\n130, 180\n0, 180")
    keys.press("Enter")
    shown.served.until(lambda: "parcel = [[0, 0]" in text_of(shown))
    # the board has the focus again: the next letter is for it
    shown.page.wait_for_function("() => document.activeElement.id === 'board'")
    keys.press("h")
    until_on("First corner, x (ft)")
    typed("45")
    typed("30")
    until_on("Walls")
    typed("40 ft L 28 ft L 40 ft")
    until_on("Draw it")
    keys.press("Enter")
    shown.served.until(lambda: "walls = " in text_of(shown))
    shown.page.wait_for_function("() => document.activeElement.id === 'board'")
    keys.press("a")
    # off the west line, which stands there already, and the north one, chosen by its letters
    until_on("off line 1")
    typed("20 ft")
    until_on("Line 2")
    keys.type("north p")
    until_on("off line 2")
    typed("25 ft")
    until_on("Place off these lines")
    keys.press("Enter")
    shown.page.wait_for_selector("[data-id=well]", state="attached")
    well = next(each for each in shown.served.lot()["things"] if each["id"] == "well")
    assert well["rings"][0][0] == pytest.approx([20 * FOOT, 155 * FOOT], abs=0.001)
    shown.page.wait_for_function("() => document.activeElement.id === 'board'")
    keys.press("Control+z")
    shown.page.wait_for_selector("[data-id=well]", state="detached")


@pytest.mark.parametrize("book", ["../town.toml", "/etc/town.toml", "sub/town.toml", "no-book"])
def test_no_rule_book_is_read_from_elsewhere(tmp_path, book):
    served = Served(folder_with(tmp_path) / "site.toml")
    try:
        op = {"op": "set", "path": ["rules", "books"], "value": [book]}
        asked = {"digest": served.lot()["digest"], "ops": [op]}
        status, told = served.ask("/do/change", asked)
    finally:
        served.stop()
    assert status == 409
    assert b"is no rule book" in told
    assert (tmp_path / "lot" / "site.toml").read_text() == LOT
