"""What a message on the page wants done is done on the page, and a button leads there."""

from __future__ import annotations

import re
import tomllib
from dataclasses import replace
from string import Formatter

import pytest

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, SLOW_MS, text_of
from test_edit_server import LOT

from siteplan.findings.entries import entries, entry_of
from siteplan.findings.model import Finding, reason
from siteplan.findings.places import places_of
from siteplan.findings.words import words_of
from siteplan.units.systems import US
from siteplan.web.document import changed_text
from siteplan.web.fields import on_page, places_in
from siteplan.web.leads import lead_to, leads_of

FILLED = {
    "system": "vertical", "machine": "excavator", "subject": "vertical", "missing": ("owner",),
}  # fmt: skip
OF = {"way-in-start": {"subject": "rig"}, "deep-trench": {"subject": "horizontal"}}
"""What some codes are about, if not a loop type."""
TRENCHES = LOT[: LOT.index("[exchanger]")] + """\
[exchanger]
system = "horizontal"
length = { given = "300 ft", by = "a designer" }
entry = [60, 60]
"""  # fmt: skip


def beside_a_file(template, values=FILLED):
    """A sentence as it stands where the file is at hand, with values for what it leaves open."""
    said = ""
    for literal, name, spec, _ in Formatter().parse(template):
        said += literal
        if name == "file":
            said += beside_a_file(spec, values)
        elif name not in (None, "paper"):
            said += str(values.get(name.rstrip("?"), "1 ft"))
    return said


def named_in(entry):
    """Places of the file that the sentences of an entry name."""
    for template in (entry.says, entry.metric, entry.figure, entry.basis, entry.do):
        values = FILLED | OF.get(entry.code, {})
        told = template if template is entry.do else beside_a_file(template, values)
        for _, _, table, keys in places_in(told):
            yield from [f"{table}.{key}" for _, key in keys] or [table]


def findings():
    """Everything that there is to say of a plan, each with a value for whatever names a place."""
    told = [each for each in entries().values() if each.chapter != "audit"]
    return {each.code: reason(each.code, **FILLED | OF.get(each.code, {})) for each in told}


def test_every_code_that_names_a_place_of_the_file_has_a_button_that_leads_there():
    named = {code: set(named_in(entry_of(code))) for code in findings()}
    assert sum(map(bool, named.values())) > 100
    for code, told in findings().items():
        there = places_of(told)
        # a thing that is to be drawn is a feature of the file, told by its kind
        there_too = {each.split()[0] for each in there} | {each.split(".")[0] for each in there}
        assert named[code] <= {*there, *there_too}, code
        assert [each for each in there if lead_to(each) is None] == [], code
        assert bool(leads_of(told)) == bool(there), code


def test_no_word_of_the_catalogue_leads_anywhere(monkeypatch):
    before = {code: leads_of(told) for code, told in findings().items()}
    assert sum(map(bool, before.values())) > 100
    reworded = {
        code: replace(entry, says="Something.", metric="", do="See [grout] material; draw a house.")
        for code, entry in entries().items()
    }
    monkeypatch.setattr("siteplan.findings.entries.entries", lambda: reworded)
    assert words_of(findings()["fluid-not-allowed"], US) == "Something."
    assert {code: leads_of(told) for code, told in findings().items()} == before


def test_a_finding_leads_where_the_reasons_that_complete_it_do():
    pipe, fluid = reason("thicker-pipe", ratio=9), reason("other-fluid", names=("water",))
    told = Finding("outside-parcel", values={"why": (pipe, fluid), "mend": pipe})
    assert places_of(told) == ("loop.dimension_ratio", "fluid.mixture")


def test_a_sentence_that_leads_somewhere_shows_no_line_of_the_file():
    for code, told in findings().items():
        for template in (entry_of(code).says, entry_of(code).metric) if leads_of(told) else ():
            said = on_page(beside_a_file(template))
            assert not re.search(r"\[[a-z_.]+\]|= \[|\bx, y\b", said), (code, said)


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
