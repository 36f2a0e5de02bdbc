"""Bores that the plan has laid out, put elsewhere by hand on the page."""

from __future__ import annotations

import math
from dataclasses import replace
from datetime import date

import pytest
import tomlkit
from planned import unweighed
from shapely import LineString, box

pytest.importorskip("starlette", reason="the extra edit is not installed")

from browsed import FOOT, drag, text_of
from test_edit_server import LOT

from siteplan.errors import InputError
from siteplan.layout.elements import Trench, Well
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.site.model import Feature
from siteplan.site.readers.site_file import site_from
from siteplan.units.systems import UNIT_SYSTEMS
from siteplan.web.document import changed_text
from siteplan.web.hand import Known, is_laid, places_given
from siteplan.web.opinion import Opinion

FT = UNIT_SYSTEMS["ft"]
BORE = {"kind": "bore"}
VALUES = {**tomlkit.parse(LOT).unwrap(), "exchanger": {
    "system": "vertical", "length": {"given": "900 ft", "by": "a designer"}}}  # fmt: skip


@pytest.fixture(scope="module")
def opinion():
    """What is thought of three bores on the small lot, as the plan has laid them out."""
    plan = unweighed(site_from({**VALUES, "project": {
        **VALUES["project"], "date": date(2026, 3, 14)}}), "vertical")  # fmt: skip
    return Opinion.unpacked(Opinion.packed(plan.lot.site, plan.lot.rules, plan.drawn))


def test_a_bore_that_is_moved_leaves_the_others_where_they_are_and_the_rest_as_it_is(opinion):
    before = LOT + "\n[vertical]\ncount = 3   # the driller's wish\n"
    bores = opinion.layout.elements
    there = Known(VALUES, opinion.layout, FT)
    ops = places_given({**BORE, "id": "B2", "points": [[12.192, 36.576]]}, there)
    text = changed_text(before, ops)
    places = tomlkit.parse(text)["vertical"].unwrap()
    assert list(places) == ["places"]  # how many there are the places say
    # 12.192 m is 40 ft, 36.576 m 120 ft
    assert places["places"][1] == [40, 120]
    for number in (0, 2):
        own = (bores[number].x_m / FOOT, bores[number].y_m / FOOT)
        assert places["places"][number] == pytest.approx(own, abs=1e-6)
    assert text.startswith(LOT)
    # with half a foot of allowance for staking a hundredth of a foot loses no spacing
    (*_, put) = places_given({**BORE, "id": "B2", "points": []}, replace(there, allowance_m=0.15))
    assert all(round(axis, 2) == axis for place in put["value"] for axis in place)
    # the next one is moved among the places given, which are kept as they are typed
    typed = {"vertical": {"places": [[40, 120], [61.5, 120]]}}
    (*_, put) = places_given({**BORE, "id": "B1", "points": []}, Known(typed, None, FT))
    assert put["value"] == [[61.5, 120]]
    for op, values in (({"id": "B1", "points": []}, {"vertical": {"places": [[4, 5]]}}),
                       ({"id": "B9", "points": [[1, 1]]}, typed)):  # fmt: skip
        with pytest.raises(InputError):
            places_given({**BORE, **op}, Known(values, None, FT))


WELLS = (Well("SUPPLY", 3.048, 6.096, 0.15, 45.0, "supply"),
         Well("RETURN", 30.48, 6.096, 0.15, 45.0, "return"))  # fmt: skip


def test_trenches_coils_and_wells_are_moved_as_bores_are():
    # 30.48 m are 100 ft
    runs = (Trench("T1", LineString([(0, 0), (30.48, 0)]), 0.6, 1.5, 2),
            Trench("T2", LineString([(0, 3.048), (30.48, 3.048)]), 0.6, 1.5, 2))  # fmt: skip
    there = Known(
        {"exchanger": {"system": "vertical"}}, Layout("horizontal", runs, None, 3.0, 0.0), FT
    )
    moved = {"kind": "trench", "id": "T2", "points": [[0, 6.096], [30.48, 6.096]]}
    assert places_given(moved, there) == [
        {"op": "set", "path": ["horizontal", "runs"],
         "value": [[[0, 0], [100, 0]], [[0, 20], [100, 20]]]},
        {"op": "set", "path": ["exchanger", "system"], "value": "horizontal"},
    ]  # fmt: skip
    # who has placed wells as well asks about what is placed last
    both = Known({"open": {"places": {"supply": [1, 2], "return": [3, 4]}}}, there.layout, FT)
    assert places_given(moved, both)[-1]["value"] == "horizontal"
    new = {"kind": "coil", "id": "", "points": [[3.048, 6.096]]}
    given = Known({"pond": {"places": [[1, 2]]}}, None, FT)
    (put,) = places_given(new, given)
    assert put["value"] == [[1, 2], [10, 20]]
    wells = Known({}, Layout("open", WELLS, None, 15.0, 0.0), FT)
    (put,) = places_given({"kind": "well", "id": "RETURN", "points": [[30.48, 9.144]]}, wells)
    assert put["value"] == {"supply": [10, 20], "return": [100, 30]}
    # an existing well is the supply: the return well alone is placed
    known = replace(wells, values={"open": {"supply": "well-1"}})
    (put,) = places_given({"kind": "well", "id": "RETURN", "points": [[30.48, 9.144]]}, known)
    assert put["value"] == {"return": [100, 30]}
    for op in ({**moved, "id": "T7"}, {**new, "kind": "tank"}, {**new, "kind": "well"}):
        with pytest.raises(InputError):
            places_given(op, wells)
    assert [is_laid(name) for name in ("trench T1", "well RETURN", "well", "coil of cable")] == [
        True, True, False, False]  # fmt: skip


def test_a_well_or_an_outfall_is_placed_alone_and_given_back_alone():
    wells = Known({}, Layout("open", WELLS, None, 15.0, 0.0), FT)
    one = {"kind": "well", "id": "SUPPLY", "alone": True, "points": [[3.048, 0]]}
    (put,) = places_given(one, wells)
    assert put["value"] == {"supply": [10, 0]}  # 3.048 m are 10 ft
    both = replace(wells, values={"open": {"places": {"supply": [1, 2], "return": [3, 4]}}})
    for name, left in (("RETURN", {"supply": [1, 2]}), ("SUPPLY", {"return": [3, 4]})):
        (put,) = places_given({**one, "id": name, "points": []}, both)
        assert put["value"] == left
    with pytest.raises(InputError, match="Draw that first"):
        places_given({**one, "id": "OUTFALL"}, wells)
    # a brook 100 ft north of what is laid out, a pond of 50 ft in its middle
    brook = ("brook", LineString([(-30.48, 30.48), (60.96, 30.48)]))
    by_water = replace(both, waters=(brook, ("pond", box(0, 60.96, 15.24, 76.2))))
    for (x, y), into, where in (
        ((10.0, 29.0), "brook", (10.0, 30.48 - 0.75)),
        ((10.0, 30.48), "brook", (10.0, 30.48 - 0.75)),  # on its line: towards the wells
        ((10.0, 31.0), "brook", (10.0, 30.48 + 0.75)),
        ((10.0, 10.0), "brook", (10.0, 10.0)),  # far from any bank it stays, and the check tells
        ((1.0, 70.0), "pond", (-0.3, 70.0)),  # in the water: at the bank beside it
        ((-1.0, 70.0), "pond", (-0.3, 70.0)),
    ):
        op = {**one, "id": "OUTFALL", "points": [[x, y]]}
        water, put = places_given(op, by_water)
        assert (water["path"], water["value"]) == (["open", "outfall"], into)
        assert set(put["value"]) == {"supply", "outfall"}
        there = [axis * 0.3048 for axis in put["value"]["outfall"]]
        assert there == pytest.approx(where, abs=0.01)


def test_a_bore_that_is_dragged_is_told_at_once_what_it_comes_too_near_to(opinion):
    first, second = opinion.layout.elements[:2]
    there = [[second.x_m + 2.0, second.y_m]]
    told = opinion.of_moved({"bore B1": there})["broken"]
    assert any("B1" in each["what"] and "6.5" in each["what"] for each in told)
    # common practice: 50 ft from a potable well to a bore, which here stands 20 ft east of it
    told = opinion.of_moved({"bore B1": [[35 * FOOT, 20 * FOOT]]})
    assert any("bore B1 is 19.7 ft from well" in each["what"] for each in told["broken"])
    assert told["places"]
    # no other bore is wrong
    assert told["wrong"] == [[pytest.approx((35 * FOOT, 20 * FOOT), abs=1e-3)]]
    back = opinion.of_moved({"bore B1": [[first.x_m, first.y_m]]})
    assert back == {"broken": [], "places": [], "wrong": [], "overlaps": []}


def test_an_outfall_that_is_dragged_is_judged_where_it_comes_to_lie_when_let_go(opinion):
    x, y = opinion.layout.elements[0].x_m, opinion.layout.elements[0].y_m + 10.0
    brook = Feature("brook", "stream", LineString([(x - 5, y), (x + 5, y)]))
    outfall = Outfall("OUTFALL", x, y - 0.75, 0.1, into="brook")
    open_loop = replace(opinion.site.exchanger.open, outfall="brook")
    site = replace(
        opinion.site, features=(*opinion.site.features, brook),
        exchanger=replace(opinion.site.exchanger, open=open_loop),
    )  # fmt: skip
    wells = replace(opinion.layout, system="open", elements=(outfall,), header=None)
    known = replace(opinion, site=site, layout=wells)
    for off_m, kept in ((0.0, True), (0.3, True), (-0.3, True), (-6.0, False)):
        told = known.of_moved({"well OUTFALL": [[x, y + off_m]]})["broken"]
        assert (told == []) == kept, (off_m, told)


@pytest.mark.parametrize("shown", [LOT.replace("300 ft", "900 ft")], indirect=True)
def test_a_bore_is_dragged_turns_red_is_kept_there_and_given_back(shown):
    shown.verdict("^FITS")
    page, before = shown.page, text_of(shown)
    plan = shown.served.lot()["stages"]["plan"]
    spots = {name: spot for name, spot, *_ in plan["names"]}
    # the driller cannot stand there: five feet farther north, away from the others
    away = {name: [spot[0], spot[1] + 1.5] for name, spot in spots.items()}
    last = max(spots, key=lambda name: spots[name][1])
    drag(shown, spots[last], [15 * FOOT, 35 * FOOT], let_go=False)
    shown.verdict("Too near.*well")
    shown.shot("bore-too-near")
    page.keyboard.press("Escape")
    page.mouse.up()
    shown.verdict("^FITS")
    assert text_of(shown) == before
    drag(shown, spots[last], away[last])
    shown.served.until(lambda: "places" in text_of(shown))
    shown.verdict("^FITS")
    after = shown.served.lot()["stages"]["plan"]
    assert after["by_hand"]
    for name, spot, *_ in after["names"]:
        assert math.dist(spot, away[last] if name == last else spots[name]) < 0.15
    assert page.inner_text("#form h2") == f"bore {last}"
    assert "given by hand" in page.text_content("#answer")
    shown.shot("bore-by-hand")
    # by key: one unit to the east, and back to what the plan lays out
    page.focus("#board")
    typed = tomlkit.parse(text_of(shown))["vertical"]["places"].unwrap()
    page.keyboard.press("ArrowRight")
    at = int(last[1:]) - 1
    shown.served.until(
        lambda: tomlkit.parse(text_of(shown))["vertical"]["places"][at][0] == typed[at][0] + 1
    )
    page.click("#form button:has-text('Have the plan lay the bores out')")
    shown.served.until(lambda: text_of(shown).rstrip() == before.rstrip())
    page.click("#undo")
    shown.served.until(lambda: "places" in text_of(shown))
