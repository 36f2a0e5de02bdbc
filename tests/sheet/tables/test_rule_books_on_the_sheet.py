"""What a clerk reads of the books on a sheet: which they are, what is checked, what is assumed."""

from __future__ import annotations

import sys
from collections.abc import Callable
from pathlib import Path

import pytest
from planned import unweighed

from siteplan.comparison.hinges import hinges_of
from siteplan.findings.words import words_of
from siteplan.plan import SitePlan, plan_site
from siteplan.sheet.model import Text
from siteplan.sheet.tables.before_and_after import before_and_after_block
from siteplan.sheet.tables.conditions import condition_table
from siteplan.sheet.tables.notes import notes
from siteplan.sheet.tables.rule_books import rule_books_block
from siteplan.site.readers.site_file import read_site
from siteplan.units.systems import METRIC, US

HEAD = (
    'id = "town"\ntitle = "Town: loops"\nauthority = "Town of T"\ndocument = "Town code"\n'
    "read_on = 2026-01-31\n"
)
TEST = (
    '[[bound]]\nof = "test pressure"\nprinted = "100 psi for 1 hour"\nminutes = 60\n'
    'source = "s. 1"\n'
)
FLUID = '[[bound]]\nof = "fluid"\nprinted = "water only"\nnames = ["water"]\nsource = "s. 2"\n'
WELLS = (
    '[[rule]]\nfrom = "potable well"\nfor = "bore"\ndistance = "90 ft"\nwhen = { use = "public" }\n'
    'source = "s. 3"\n'
)
BAN = '[[rule]]\nfrom = "street"\nfor = "bore"\nsays = "not allowed"\nsource = "s. 4"\n'
WELL = '[[feature]]\nid = "w1"\nkind = "potable well"\nat = [30, 200]\n'
Planned = Callable[..., SitePlan]


@pytest.fixture
def planned(lot_text: str, write_site: Callable[..., Path]) -> Planned:
    def built(*books: str, rows: str = "", more: str = "") -> SitePlan:
        names = ", ".join(f'"{book}"' for book in books)
        lot = lot_text.replace("[exchanger]\n", '[exchanger]\nsystem = "vertical"\n')
        path = write_site(f"{lot}\n{more}\n[rules]\nbooks = [{names}]\n")
        (path.parent / "town.toml").write_text(HEAD + rows, encoding="utf-8")
        site = read_site(path)
        # a book beside the site file is found there alone
        return plan_site(site) if rows else unweighed(site, "vertical")

    return built


def words(block: object) -> str:
    items = getattr(block, "items", ())
    said = " ".join(item.text for item in items if isinstance(item, Text))
    return said.replace("\u00a0", " ")


def told(plan: SitePlan, code: str) -> list[str]:
    return [words_of(each, plan.site.unit) for each in plan.content().findings if each.code == code]


def test_books_are_listed_with_authority_document_and_day(planned: Planned) -> None:
    said = words(rule_books_block(planned("delaware").content(), 110.0))
    assert "State of Delaware, 7 Del. Admin. Code; read 2026." in said
    # it has no duty, and no block of them stands on the sheets
    assert "None of them has rows on permits, notices" in said
    said = words(rule_books_block(planned("nebraska").content(), 110.0))
    # 178 NAC 12 was superseded on 28 June 2026: the rows of public wells are of it
    assert "2 rows SUPERSEDED from 2026-06-28" in said
    assert "None of them" not in said
    assert rule_books_block(planned().content(), 110.0) is None


def test_a_book_without_its_authority_is_listed_and_says_so(
    planned: Planned, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.modules[__name__], "HEAD", HEAD.replace('authority = "Town of T"', ""))
    said = words(rule_books_block(planned("town.toml", rows=BAN).content(), 110.0))
    assert "Town: loops. AUTHORITY NOT STATED, Town code" in said


def test_a_variance_that_nobody_asks_is_no_duty(planned: Planned) -> None:
    # 134 NAC ch. 4 s. 012.01: a lesser distance needs one; a plan keeps every distance
    said = words(before_and_after_block(planned("nebraska").content(), 110.0))
    assert "water well" in said
    assert "variance" not in said


@pytest.mark.parametrize(
    ("least", "asked"),
    [("75 psi", "100 psi for 1 hour (checked: 75 psi; see the source)"), ("100 psi", "")],
)
def test_a_figure_that_is_checked_and_not_printed_is_shown(
    planned: Planned, least: str, asked: str
) -> None:
    plan = planned("town.toml", rows=f'{TEST}least = "{least}"\n')
    ((_, printed, here, _, kept),) = condition_table(plan.content().conditions, US).rows
    assert printed == (asked or "100 psi for 1 hour")
    # what nobody states is specified as asked, and the row has the figure
    assert here.replace("\u00a0", " ") == f"{least}, as specified"
    assert kept == "YES"


def test_a_test_by_the_operating_pressure_alone_has_no_figure(planned: Planned) -> None:
    rows = TEST.replace("100 psi", "1.5 x operating") + "operating = 1.5\n"
    (row,) = condition_table(planned("town.toml", rows=rows).content().conditions, US).rows
    assert row[2].replace("\u00a0", " ") == "As asked, see specification"


def test_a_use_that_is_assumed_is_shown_as_assumed(planned: Planned) -> None:
    plan = planned("town.toml", rows=WELLS, more=WELL)
    # the small lot has a well of its own, which states no use either
    first, said = told(plan, "use-assumed")
    assert "is taken as private" in first
    assert said.startswith("The use of w1 is not stated: it is taken as private.")
    assert "90 ft (public; Town code, s. 3)" in said
    assert any("W1 is not stated" in note for note in notes(plan.content()))
    (hinge,) = (each for each in hinges_of(plan.lot, plan.drawn) if each.code == "hinges-on-use")
    assert words_of(hinge, plan.site.unit) == "private use of well, w1 (assumed)"
    stated = planned("town.toml", rows=WELLS, more=f'{WELL}use = "private"\n')
    assert told(stated, "use-assumed") == [first]


def test_what_a_book_bans_it_does_not_leave_open(planned: Planned) -> None:
    street = '[[feature]]\nid = "st"\nkind = "street"\nline = [[-30, -30], [230, -30]]\n'
    said = " ".join(told(planned("town.toml", rows=BAN, more=street), "common-practice"))
    bore = said.partition("For the bore")[2].partition("For the header")[0]
    assert "property line" in bore
    assert "street" not in bore


def test_where_the_fluid_alone_is_refused_the_verdict_begins_with_it(planned: Planned) -> None:
    more = '[fluid]\nmixture = "methanol 20 %"\n'
    plan = planned("town.toml", rows=FLUID, more=more)
    verdict = plan.content().verdict
    assert verdict.startswith("NOT YET: methanol 20 % is not allowed")
    assert "; the layout alone would fit: " in verdict


def test_a_layer_on_a_metric_sheet_is_no_less_than_on_the_other() -> None:
    # 18 in are 45.72 cm, 3 in 7.62 cm
    assert [METRIC.layer.text(inches * 0.0254) for inches in (18, 3, 6)] == [
        "46 cm",
        "8 cm",
        "16 cm",
    ]
    assert METRIC.layer.text(0.45) == "45 cm"
    assert US.layer.text(18 * 0.0254) == "18 in"
