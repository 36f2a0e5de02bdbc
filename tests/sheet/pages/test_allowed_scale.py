"""A scale that rule books allow is chosen when the sheet is composed, with paper that holds it."""

from __future__ import annotations

from dataclasses import replace

import pytest
import sheet_lots
from campaign import thorough
from drawn_once import compose, compose_set
from wording import in_words

from siteplan.rule_books.loader import load_book
from siteplan.rule_books.model import Book, Bound
from siteplan.rule_books.when import Range
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.pages.allowed_scale import ScaleChoice, allowed_ratios, choose_scale
from siteplan.site.sheet_options import SheetOptions
from siteplan.units.systems import METRIC, US

# Anne Arundel County (MD): engineer's scale, 1 in = 10, 20 or 30 ft, of 12 in each
COUNTY = (120, 240, 360)
OPEN = SheetOptions("ANSI B", open_size=True)


def book(bound: Bound) -> Book:
    return Book("b", "Somewhere", "", "Code", "2026", "Verify.", (), bounds=(bound,))


def scaled(content: PlanContent, name: str) -> tuple[PlanContent, ScaleChoice]:
    choice = choose_scale(content, [load_book(name)])
    assert choice is not None
    return choice.applied(content), choice


def ratio_of(content: PlanContent) -> float:
    return round(compose(content).view.ratio)


def test_a_lot_too_wide_for_the_county_s_scales_gets_larger_paper() -> None:
    # the suburban lot needs a smaller scale on ANSI B than 1 in = 30 ft
    alone = sheet_lots.rural(sheet=OPEN)
    assert ratio_of(alone) > max(COUNTY)
    told, choice = scaled(alone, "anne-arundel-county-md")
    assert choice.sheet.size in ("ANSI D", "Arch D")
    assert ratio_of(told) in COUNTY
    assert [one.kept for one in told.conditions] == [True]
    assert choice.findings == ()


def test_paper_that_was_asked_for_is_kept_and_the_scale_told() -> None:
    fixed = sheet_lots.rural(sheet=SheetOptions("ANSI B"))
    told, choice = scaled(fixed, "anne-arundel-county-md")
    assert choice.sheet.size == "ANSI B"
    (finding,) = choice.findings
    assert (finding.code, finding.severity) == ("scale-not-allowed", "warning")
    assert "take larger paper ([sheet] size)" in in_words(finding)
    assert [one.kept for one in told.conditions] == [False]


def test_a_scale_asked_for_that_is_not_allowed_is_drawn_and_told() -> None:
    asked = sheet_lots.suburban(sheet=SheetOptions("ANSI B", 720, open_size=True), bores=2)
    told, choice = scaled(asked, "anne-arundel-county-md")
    assert ratio_of(told) == 720
    assert "Leave out [sheet] scale" in in_words(choice.findings[0])
    # 1 in = 60 ft is 1:720
    assert scaled(asked, "gotland-se")[1].findings == ()


@pytest.mark.parametrize("options", [OPEN, thorough(SheetOptions("A3"))])
def test_gotland_gets_a_plan_between_1_to_500_and_1_to_1000(options: SheetOptions) -> None:
    content = sheet_lots.suburban(sheet=options, bores=2)
    told, choice = scaled(content, "gotland-se")
    assert 500 <= ratio_of(told) <= 1000
    assert ratio_of(content) < 500
    assert choice.findings == ()


def test_ratios_of_the_unit_come_before_those_of_the_book() -> None:
    county = Bound("s", "scale", (), "p", "s", scales=COUNTY)
    gotland = Bound("s", "scale", (), "p", "s", ratios=Range(500, 1000))
    odd = Bound("s", "scale", (), "p", "s", ratios=Range(300, 330))
    # 1 in = 50 ft and 60 ft are 1:600 and 1:720
    assert allowed_ratios([gotland], US) == (600, 720)
    assert allowed_ratios([gotland], METRIC) == (500, 1000)
    assert allowed_ratios([county], METRIC) == COUNTY
    assert allowed_ratios([odd], METRIC) == (300, 330)
    assert allowed_ratios([county, gotland], US) == ()


def test_two_books_that_exclude_each_other_are_told() -> None:
    both = [load_book("anne-arundel-county-md"), load_book("gotland-se")]
    choice = choose_scale(sheet_lots.suburban(sheet=OPEN), both)
    assert choice is not None
    assert len(choice.findings) >= 1
    assert choice.sheet == OPEN


def test_books_that_do_not_speak_of_scale_leave_the_sheet_alone() -> None:
    assert choose_scale(sheet_lots.suburban(), [load_book("maine")]) is None


def test_parts_of_a_plan_keep_to_the_scales_that_are_allowed() -> None:
    content = sheet_lots.suburban(sheet=replace(OPEN, scales=(360, 480)))
    assert ratio_of(content) in (360, 480)


@pytest.mark.thorough
@pytest.mark.parametrize("sizes", [(), ("ANSI B", "ANSI A")])
def test_auto_takes_the_smallest_paper_with_the_largest_scale(sizes):
    options = SheetOptions(auto_size=True, sizes=sizes)
    choice = choose_scale(sheet_lots.suburban(sheet=options), ())
    among = sizes or US.drawing.papers
    ratios = {}
    for size in among:
        content = sheet_lots.suburban(sheet=SheetOptions(size))
        plan, *_ = compose_set(replace(content, site=replace(content.site, books=())))
        ratios[size] = plan.view.ratio
    largest = min(ratios.values())
    fitting = [size for size in ratios if ratios[size] == pytest.approx(largest)]
    assert choice.sheet.size == min(fitting, key=US.drawing.papers.index)
    assert not choice.sheet.auto_size
