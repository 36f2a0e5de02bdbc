"""What each loop type that fits takes: the same figures as a package of that loop type alone."""

from __future__ import annotations

import math

import pytest
from drawn_once import compose_set
from planned import planned_once
from priced import priced_site, priced_values

from siteplan.comparison.compare import Taken
from siteplan.plan import SitePlan
from siteplan.quantities.take_off import take_off
from siteplan.report.comparison_words import comparison_heads, comparison_lines
from siteplan.report.verdict import verdict_words
from siteplan.sheet.tables.comparison import COMPARISON
from siteplan.site.readers.site_file import site_from

FT = 0.3048


@pytest.fixture(scope="module")
def plan() -> SitePlan:
    return planned_once(priced_site(prices=""))


def taken(plan: SitePlan, system: str) -> Taken:
    return next(each for each in plan.compared if each.system == system)


def test_every_loop_type_that_fits_is_compared_and_no_other(plan: SitePlan) -> None:
    assert [each.system for each in plan.compared] == ["horizontal", "vertical"]
    assert [each.drawn for each in plan.compared] == [True, False]


@pytest.mark.parametrize("system", ["horizontal", "vertical"])
def test_figures_are_those_of_a_plan_of_that_loop_type_alone(plan: SitePlan, system: str) -> None:
    alone = planned_once(plan.site, system=system)
    layout = alone.drawn.layout
    assert layout is not None
    assert layout.header is not None
    items = take_off(plan.site, layout)
    each = taken(plan, system)
    assert each.items == items
    assert each.amount("soil") == sum(item.amount for item in items if item.measure == "earth"
                                      and item.what != "sand")  # fmt: skip
    assert each.header_m == layout.header.length_m
    assert each.count == len(layout.elements)


def test_bores_open_the_width_of_the_rig_around_each() -> None:
    values = priced_values(prices="")
    values["rig"] = {"width": "8 ft", "access": "anywhere"}
    wide = planned_once(site_from(values), system="vertical")
    header = wide.compared[0].header_m
    bores = wide.compared[0].count
    opened = wide.compared[0].opened_m2
    # a disc of 8 ft around each bore, and a header trench 2 ft wide that begins in them
    most = bores * math.pi * (4 * FT) ** 2 + header * 2 * FT
    assert bores * math.pi * (4 * FT) ** 2 * 0.99 < opened < most


def test_each_crossing_that_must_be_marked_is_counted() -> None:
    values = priced_values(prices="")
    # a drive all across the lot between the house and what lies north of it
    values["feature"].append(
        {"id": "drive", "kind": "driveway", "area": [[0, 75], [200, 75], [200, 85], [0, 85]]}
    )
    # where somebody wants them: bores of the engine's choice would stay this side of the drive
    grid = {"rows": 1, "columns": 2, "corner": [70, 110], "along": "N 90 E"}
    values["vertical"]["grid"] = grid
    plan = planned_once(site_from(values), system="vertical")
    layout = plan.drawn.layout
    assert layout is not None
    assert layout.header is not None
    crossings = [crossing.kind for crossing in layout.header.crossings]
    assert crossings == ["driveway"]
    assert plan.compared[0].crossed == (("driveway", 1),)


def test_a_length_that_somebody_gave_hinges_on_his_word(plan: SitePlan) -> None:
    codes = [hinge.code for hinge in taken(plan, "vertical").hinges]
    assert codes[0] == "hinges-on-word"


def test_a_screening_length_is_named_first() -> None:
    lengths = '[exchanger]\nentry = [[80, 70]]\ncapacity = "2 ton"\n'
    screened = planned_once(priced_site(prices="", lengths=lengths))
    assert screened.compared[0].hinges[0].code == "hinges-on-screening"


def test_the_tightest_separation_has_the_least_to_spare(plan: SitePlan) -> None:
    row = taken(plan, "horizontal").tightest
    assert row is not None
    asked = [each for each in plan.drawn.separations if each.rule.says == "at least"]
    assert row.spare_m == min(each.spare_m for each in asked if each.rule.parts)


def test_the_verdict_names_every_loop_type_that_fits(plan: SitePlan) -> None:
    words = verdict_words(plan.trials, plan.drawn, plan.site.unit)
    assert words.startswith("FITS: horizontal (drawn), vertical. Horizontal: ")
    assert plan.content().verdict == words


def test_a_lot_whose_fluid_alone_is_wrong_has_room_and_the_first_loop_type_is_drawn() -> None:
    # propylene glycol of 20 % by volume freezes at -6.7 C (20 F): Lange's Handbook of Chemistry,
    # 15th edition, table 5.13; entering at 30 F it leaves some 5 F colder at 3 gpm a ton (common
    # practice, no source)
    values = priced_values(prices="")
    values["loads"] = {"heating": "36 MBH", "heating_hours": 2000}
    values["ground"] = {"temperature": "50 F", "soil": "heavy sand, 15 % water"}
    values["fluid"] = {"mixture": "propylene glycol 20 %", "coldest": "30 F"}
    plan = planned_once(site_from(values))
    assert not plan.fits
    words = verdict_words(plan.trials, plan.drawn, plan.site.unit)
    assert words.startswith("NOT YET: room for horizontal (drawn), vertical. Horizontal: propylene")
    # of whose room there is enough nothing else is to be changed
    assert {remedy.kind for remedy in plan.weighing.remedies} == {"fluid"}


def test_what_nobody_asked_for_is_not_named() -> None:
    alone = planned_once(priced_site(prices=""), system="vertical")
    assert verdict_words(alone.trials, alone.drawn, alone.site.unit).startswith("FITS: needs ")


def test_terminal_and_sheet_show_the_same_lines(plan: SitePlan) -> None:
    lines = comparison_lines(plan.compared, plan.site.unit)
    assert comparison_heads(plan.compared) == ("horizontal (drawn)", "vertical")
    sheets = compose_set(plan.content())
    marked = {
        (text.mark.row, text.mark.column): text.text
        for sheet in sheets
        for text in sheet.primitives
        if (text_mark := getattr(text, "mark", None)) is not None and text_mark.block == COMPARISON
    }
    for line in lines:
        if (line.name, "horizontal") in marked:
            assert marked[line.name, "horizontal"] == line.cells[0]
            assert marked[line.name, "vertical"] == line.cells[1]
    assert ("soil", "vertical") in marked


def test_a_plan_of_one_loop_type_has_no_comparison_on_its_sheet() -> None:
    alone = planned_once(priced_site(prices=""), system="vertical")
    items = [item for sheet in compose_set(alone.content()) for item in sheet.primitives]
    marks = [mark for item in items if (mark := getattr(item, "mark", None))]
    assert marks
    assert COMPARISON not in {mark.block for mark in marks}


def test_loop_types_that_only_their_fluid_stops_are_compared_too() -> None:
    values = priced_values(prices="")
    values["exchanger"].pop("capacity", None)
    values["exchanger"].pop("length", None)
    values |= {
        "loads": {"heating": "12 MBH", "heating_hours": 1700},
        "ground": {
            "temperature": "50 F", "swing": "18 F", "coldest_day": "5 February",
            "conductivity": "1.3 Btu/h.ft.F", "diffusivity": "0.9 ft2/day",
        },
        "fluid": {"mixture": "water", "coldest": "36 F"},
    }  # fmt: skip
    plan = planned_once(site_from(values))
    # plain water at 36 F leaves the heat pump below 32 F: room is there, and the fluid is wrong
    assert not plan.fits
    both = [(each.system, each.fits) for each in plan.compared]
    assert both == [("horizontal", False), ("vertical", False)]
    assert all(each.hinges[0].code == "hinges-on-fluid" for each in plan.compared)
