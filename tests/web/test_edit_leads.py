"""What a message on the page wants done is done on the page, and a button leads there."""

from __future__ import annotations

import re
import tomllib
from importlib.resources import files
from string import Formatter

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, SLOW_MS, text_of
from test_edit_server import LOT

from siteplan.findings.entries import entry_of
from siteplan.web.document import changed_text
from siteplan.web.fields import on_page, places_in
from siteplan.web.leads import lead_to, leads_of

FILLED = {"system": "vertical", "machine": "excavator", "subject": "rig", "key": "owner"}
TRENCHES = LOT[: LOT.index("[exchanger]")] + """\
[exchanger]
system = "horizontal"
length = { given = "300 ft", by = "a designer" }
entry = [60, 60]
"""  # fmt: skip


def beside_a_file(template):
    """A sentence as it stands where the file is at hand, with values for what it leaves open."""
    said = ""
    for literal, name, spec, _ in Formatter().parse(template):
        said += literal
        if name == "file":
            said += beside_a_file(spec)
        elif name not in (None, "paper"):
            said += FILLED.get(name.rstrip("?"), "1 ft")
    return said


def sentences():
    for chapter in files("siteplan.findings.catalogue").iterdir():
        if chapter.name.endswith(".toml"):
            for code, entry in tomllib.loads(chapter.read_text(encoding="utf-8")).items():
                for key in ("says", "metric", "do"):
                    if chapter.name != "audit.toml" and key in entry:
                        yield code, beside_a_file(entry[key])


def test_every_place_of_the_file_that_a_sentence_names_is_reached_by_a_button():
    named = {
        (code, f"{table}.{key}" if key else table)
        for code, said in sentences()
        for _, _, table, keys in places_in(said)
        for key in ([key for _, key in keys] or [""])
    }
    assert len(named) > 100
    assert [each for each in named if lead_to(each[1]) is None] == []


def test_a_sentence_that_leads_somewhere_shows_no_line_of_the_file():
    for code, said in sentences():
        if leads_of(said):
            told = on_page(said)
            assert not re.search(r"\[[a-z_.]+\]|= \[|\bx, y\b", told), (code, told)


def test_where_no_words_name_a_place_the_code_of_the_finding_does():
    told = tomllib.loads(files("siteplan.web").joinpath("fields.toml").read_text(encoding="utf-8"))
    for code, places in told["codes"].items():
        assert entry_of(code).severity
        assert all(lead_to(place) for place in places)


def test_a_way_in_is_added_moved_and_taken_out_as_a_file_writes_it():
    def after(*ops):
        return tomllib.loads(changed_text(LOT, ops)).get("rig")

    first = {"op": "way in", "machine": "rig", "points": [[0.0, 40.0]]}
    second = {**first, "points": [[120.0, 50.0]]}
    anywhere = {"op": "set", "path": ["rig", "access"], "value": "anywhere"}
    assert after(first) == {"from": [0, 40]}
    # both cannot hold: the reader refuses a file that says both
    assert after(anywhere, first, second) == {"from": [[0, 40], [120, 50]]}
    moved = {"op": "points", "ref": "rig:1", "key": "at", "points": [[120.0, 60.0]]}
    assert after(first, second, moved) == {"from": [[0, 40], [120, 60]]}
    out = {"op": "delete", "ref": "rig:0"}
    assert after(first, second, out) == {"from": [[120, 50]]}
    assert after(first, out) is None


def test_an_entry_in_short_is_taken_out_as_a_whole():
    for written in ("[60, 60]", "[[60, 60]]"):
        text = TRENCHES.replace("[60, 60]", written)
        left = tomllib.loads(changed_text(text, [{"op": "delete", "ref": "short:0"}]))
        assert set(left["exchanger"]) == {"system", "length"}


def test_a_rule_of_ones_own_is_stated_and_taken_out():
    rule = {"from": "property line", "for": ["bore"], "distance": "25 ft", "source": "by-law 7"}
    text = changed_text(LOT, [{"op": "rule", "values": rule}])
    assert tomllib.loads(text)["rules"] == {"own": [rule]}
    assert changed_text(text, [{"op": "rule", "out": 0}]).strip() == LOT.strip()


def test_where_the_rig_comes_in_is_tapped_where_a_finding_asks_for_it(shown):
    page = shown.page
    asked = page.locator("#answer li:has-text('Rig access not checked')")
    asked.wait_for(state="attached", timeout=SLOW_MS)
    page.locator("#answer summary", has_text="Findings").click()
    asked.get_by_role("button", name="Where the rig comes in").click()
    # near the west line, and a hand's breadth off it
    shown.tap(1.5 * FOOT, 100 * FOOT)
    shown.served.until(lambda: "[rig]" in text_of(shown))
    (way,) = shown.served.lot()["ways"]
    assert way["at"] == pytest.approx([0, 100 * FOOT], abs=0.3)
    assert way["at"][0] == 0
    page.locator("#list button", has_text="way in, rig").click()
    assert page.get_by_label("point 1, north (ft)").input_value() == f"{way['at'][1] / FOOT:.5g}"


def test_by_keys_alone_a_machine_is_let_in_and_an_easement_drawn_along_a_side(shown):
    page, keys = shown.page, shown.page.keyboard
    page.focus("#board")
    keys.press("e")
    keys.type("the drill")
    for typed in ("60", "1"):
        keys.press("Tab")
        keys.type(typed)
    keys.press("Enter")
    # on the property line, wherever beside it it was typed
    shown.served.until(lambda: "from = [60, 0]" in text_of(shown))
    page.wait_for_function("() => document.activeElement.id === 'board'")
    page.click("#list button:has-text('way in, rig')")
    page.focus("#board")
    keys.press("ArrowRight")
    shown.served.until(lambda: "from = [61, 0]" in text_of(shown))
    keys.press("Delete")
    shown.served.until(lambda: "from" not in text_of(shown))
    page.click("[data-tool=add]")
    page.select_option("#kind", "easement")
    page.get_by_label("Drawn").select_option("area")
    page.click("summary:has-text('Along a property line')")
    page.get_by_label("Along the").select_option(label="east property line of 160 ft")
    page.get_by_label("How wide").last.fill("15")
    keys.press("Enter")
    shown.served.until(lambda: "easement" in text_of(shown))
    (strip,) = (each for each in shown.served.lot()["things"] if each["id"] == "easement")
    corners = {(round(x / FOOT), round(y / FOOT)) for x, y in strip["rings"][0]}
    assert corners == {(120, 0), (120, 160), (105, 160), (105, 0)}
