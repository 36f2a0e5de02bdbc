"""The block of what people do before, at and after the work, and that five books are answered."""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest
from drawn_once import compose_set
from legible import plot_faults
from planned import in_full, unweighed

from siteplan.advisories.duties import duties_on
from siteplan.advisories.requirements import missing_on_the_plan
from siteplan.errors import RuleError
from siteplan.rule_books.loader import load_book, read_book
from siteplan.rules.ruleset import rules_of
from siteplan.sheet.model import Text
from siteplan.sheet.tables.before_and_after import before_and_after_block, duty_table
from siteplan.sheet.tables.checklist import checklist_block
from siteplan.sheet.tables.separations import separations_block
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

Read = Callable[..., Site]
DUTY = """\
id = "town"
title = "Town"
read_on = 2026-01-31
[[duty]]
of = "notice"
printed = "call the town"
due = "48 hours"
source = "s. 1"
"""


@pytest.fixture
def lot(lot_text: str, write_site: Callable[..., Path]) -> Read:
    def read(*books: str, more: str = "") -> Site:
        names = ", ".join(f'"{book}"' for book in books)
        return read_site(write_site(f"{lot_text}{more}\n[rules]\nbooks = [{names}]\n"))

    return read


def words(block: object) -> str:
    items = getattr(block, "items", None) or getattr(block, "primitives", ())
    said = " ".join(item.text for item in items if isinstance(item, Text))
    return said.replace("\u00a0", " ")


def test_duties_stand_in_the_order_in_which_they_are_done(lot: Read) -> None:
    site = lot("connecticut", "illinois", "maryland")
    asked = duties_on(site, [load_book(book) for book in site.books], "vertical")
    rows = duty_table(asked).rows
    assert [row[0] for row in rows] == ["BEFORE", "BEFORE", "AT THE WORK", "AFTER"]
    assert rows[0][1:3] == ("Permit: the work begins, or the permit is void", "1 year")
    # Connecticut 25-128-62: record as built within 60 days
    assert rows[-1][2] == "60 days"
    # a standing column well is none of a closed loop
    assert not any("standing column" in row[1] for row in rows)


@pytest.mark.parametrize(("depth", "asked"), [("400 ft", True), ("300 ft", False)])
def test_a_duty_may_turn_on_depth(lot: Read, depth: str, asked: bool) -> None:
    # Germany, BBergG s. 127: deeper than 100 m, 328 ft
    site = lot("germany-mining-law", more=f'[vertical]\ndepth = "{depth}"\n')
    found = duties_on(site, [load_book("germany-mining-law")], "vertical")
    assert bool(found) is asked


def test_a_lot_without_duties_has_no_block(lot: Read) -> None:
    content = unweighed(lot("maine"), "vertical").content()
    assert before_and_after_block(content, 110.0) is None


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"48 hours"', '"soon"', "due: 'soon' is not a time"),
        ('"notice"', '"notise"', "'notise' is not known; did you mean 'notice'?"),
        ("printed =", "print =", "printed: is missing"),
        ('source = "s. 1"', 'source = ""', "source: is empty"),
        ("due", 'stage = "later"\ndue', "'later' is not known"),
    ],
)
def test_a_faulty_duty_is_refused(old: str, new: str, message: str) -> None:
    with pytest.raises(RuleError) as caught:
        read_book(tomllib.loads(DUTY.replace(old, new)), "town.toml")
    assert message in "; ".join(map(str, caught.value.faults))


def test_each_thing_that_five_books_want_is_answered_on_a_sheet(lot: Read) -> None:
    books = (
        "tazewell-county-il", "district-of-columbia", "brookhaven-ny",
        "franklin-township-york-pa", "livingston-county-mi",
    )  # fmt: skip
    plan = unweighed(lot(*books), "vertical")
    content = in_full(plan.content())
    told = words(checklist_block(content, 110.0))
    for book in map(load_book, books):
        assert book.authority.upper() in told
        for shown in book.shown:
            # the lot is in feet; an assessor gives numbers to parcels (common practice, no source)
            said = shown.what.replace("neighbour", "neighbor").replace("parcel id", "parcel number")
            assert f"{said}: {shown.printed}".removesuffix(": ") in told
    assert "neighbour" not in told
    assert told.count("MISSING") >= 5  # the small lot has no easement, street, search radius ...
    sheets = compose_set(content)
    assert [plot_faults(sheet) for sheet in sheets] == [()] * len(sheets)
    text = " ".join(words(sheet) for sheet in sheets)
    assert "BEFORE AND AFTER" in text


def test_required_recommended_and_quoted_are_told_apart(lot: Read) -> None:
    # Rhineland-Palatinate reads as quoted, and its distance between bores is "as a rule"
    sheet = unweighed(lot("rhineland-palatinate-de"), "vertical")
    told = words(separations_block(sheet.content(), 110.0))
    assert "Leitfaden, p. 16, recommended, as quoted by a public page" in told
    assert "Leitfaden, p. 16, as quoted by a public page (plants up to 30 kW)" in told
    plain = words(separations_block(unweighed(lot("texas"), "vertical").content(), 110.0))
    assert "quoted" not in plain
    old = words(separations_block(unweighed(lot("minnesota"), "vertical").content(), 110.0))
    assert "4725.7050, SUPERSEDED from 2021-03-22" in old


def test_the_summary_has_the_duties_as_the_sheet_has_them(lot: Read) -> None:
    site = lot("connecticut", "illinois", "maryland")
    plan = in_full(unweighed(site, "vertical"))
    told = plan.summary()["before_and_after"]
    asked = duties_on(site, [load_book(book) for book in site.books], plan.drawn.system)
    assert [(row["what"], row["due"]) for row in told] == [
        (one.duty.printed, one.duty.due) for one in asked
    ]
    assert told
    # Connecticut 25-128-62: record as built within 60 days
    last = next(row for row in told if row["rule"].startswith("connecticut/"))
    assert {row["stage"] for row in told} <= {"before", "at the work", "after"}
    assert last["source"]


def test_a_radius_that_nobody_states_is_asked_for_once(lot: Read) -> None:
    site = lot("tazewell-county-il")
    book = load_book("tazewell-county-il")
    wanted = [shown.what for shown in book.shown]
    assert {"neighbour wells", "search radius"} <= set(wanted)
    found = list(missing_on_the_plan(site, rules_of(site)))
    asks = [each.subject for each in found if each.subject in ("neighbour wells", "search radius")]
    assert asks == ["neighbour wells"]
    said = words(checklist_block(unweighed(site, "vertical").content(), 170.0))
    assert said.count("looked for") == 1
    assert "as the neighbor wells; see there" in said
