"""Conditions of rule books on the sheets: what is asked, what is there, whether it is kept."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from itertools import product
from pathlib import Path

import pytest
from campaign import thorough
from drawn_once import compose_set
from legible import plot_faults
from planned import in_full, unweighed

from siteplan.plan import SitePlan
from siteplan.rule_books.loader import load_book
from siteplan.sheet.content.content import PLAN, TABLES, PlanContent
from siteplan.sheet.model import Text
from siteplan.sheet.tables.checklist import checklist_block
from siteplan.sheet.tables.conditions import condition_table, conditions_block
from siteplan.sheet.tables.specification import specification_table
from siteplan.site.readers.site_file import read_site

Planned = Callable[..., SitePlan]


@pytest.fixture
def planned(lot_text: str, write_site: Callable[..., Path]) -> Planned:
    def built(book: str, tables: str = "") -> SitePlan:
        text = f'{lot_text}\n{tables}\n[rules]\nbooks = ["{book}"]\n'
        return unweighed(read_site(write_site(text)), "vertical")

    return built


def words(content: PlanContent, width: float = 110.0) -> str:
    block = conditions_block(content, width)
    texts = block.items if block is not None else ()
    return " ".join(item.text for item in texts if isinstance(item, Text)).replace("\u00a0", " ")


def test_a_row_says_what_is_asked_what_is_there_and_whether_it_is_kept(planned: Planned) -> None:
    plan = planned("minnesota", '[fluid]\nmixture = "methanol 20 %"\n')
    content = plan.content()
    rows = condition_table(content.conditions, plan.site.unit).rows
    assert [(row[0], row[4]) for row in rows] == [
        ("FLUID", "NO"), ("PIPE", "YES"), ("TEST PRESSURE", "YES"),
    ]  # fmt: skip
    assert rows[0][2].replace("\u00a0", " ") == "Methanol 20 %"
    assert rows[1][2] == "HDPE, dimension ratio 11, assumed"
    assert "[1] Minn. R., 4725.7050" in words(content)


def said_of(content: PlanContent) -> dict[str, str]:
    """What the specification asks, by what it is about, with who says so."""
    table, sources = specification_table(content)
    return {
        row[0]: f"{row[1]} {sources[int(row[2].strip('[]')) - 1]}".replace("\u00a0", " ")
        for row in table.rows
    }


def test_fluid_and_grout_are_specified_with_what_is_assumed(planned: Planned) -> None:
    content = planned("minnesota").content()
    said = said_of(content)
    assert "Propylene glycol 25 % by volume" in said["FLUID"]
    assert "mixture assumed" in said["FLUID"]
    assert "Bentonite and sand" in said["GROUT"]
    assert "grout assumed" in said["GROUT"]


def test_what_an_authority_wants_shown_is_answered_with_sheet_and_block(planned: Planned) -> None:
    # Minnesota's vertical heat exchanger application wants fluid and grout on the plan
    content = planned("minnesota").content()
    assert "not-shown" not in {finding.code for finding in content.findings}
    told = [
        item
        for item in checklist_block(replace(content, titles=(PLAN, TABLES)), 120.0).items
        if isinstance(item, Text) and item.mark is not None
    ]
    rows = {(item.mark.row, item.mark.column): item.text for item in told if item.mark}
    assert rows["minnesota/fluid and grout", "answer"] == "L2, specification"
    # each cell says something: a clerk reads an empty one as an answer that is missing
    assert all(text.strip() for text in rows.values())
    told_of = {key for key in rows if key[0].startswith("minnesota/")}
    wanted = {f"minnesota/{shown.what}" for shown in load_book("minnesota").shown}
    assert told_of == set(product(wanted, ("wanted", "answer")))
    assert "STATE OF MINNESOTA" in {item.text for item in told}
    sheets = compose_set(replace(content, site=in_full(planned("minnesota")).site))
    (sheet,) = (
        sheet.number
        for sheet in sheets
        for text in sheet.of_type(Text)
        if text.text == "SPECIFICATION" and text.mark and text.mark.column == "heading"
    )
    (answer,) = (
        text.text
        for each in sheets
        for text in each.of_type(Text)
        if text.mark
        and (text.mark.row, text.mark.column) == ("minnesota/fluid and grout", "answer")
    )
    assert answer == f"{sheet}, specification"


def test_the_test_pressure_of_a_book_is_specified(planned: Planned) -> None:
    said = said_of(planned("mission-hills-ks").content())["PRESSURE TEST"]
    # City of Mission Hills code 5-130.1(E)(1): 100 psi for at least 1 h
    assert "With water, 100 psi or more, held for 60 min" in said
    assert "City of Mission Hills, Kansas: City of Mission Hills code, 5-130.1(E)(1)" in said
    # the same figures where nobody asks one, and that is said
    assert "assumed" in said_of(planned("maine").content())["PRESSURE TEST"]


def test_a_site_without_conditions_has_no_such_block(planned: Planned) -> None:
    assert conditions_block(planned("texas").content(), 110.0) is None


@pytest.mark.parametrize("sheets", [thorough("one"), "full"])
@pytest.mark.parametrize("book", ["minnesota", "mission-hills-ks", "new-hampshire"])
def test_sheets_with_conditions_are_legible(planned: Planned, book: str, sheets: str) -> None:
    content = planned(book, f'[sheet]\nset = "{sheets}"\n').content()
    composed = compose_set(content)
    told = [text.text for sheet in composed for text in sheet.of_type(Text)]
    assert "CONDITIONS" in told
    assert [fault for sheet in composed for fault in plot_faults(sheet)] == []


def test_every_stake_is_tied_to_as_many_corners_as_a_book_asks(planned: Planned) -> None:
    # New Hampshire We 602.17: at least three permanent reference points
    content = planned("new-hampshire").content()
    corners = [tie for tie in content.tie_points if tie.what == "building corner"]
    assert len(corners) >= 3
    assert [tie.name for tie in content.tie_points][:3] == ["A", "B", "C"]
    assert len({tie.at for tie in content.tie_points}) == len(content.tie_points)
    table = [text.text for sheet in compose_set(content) for text in sheet.of_type(Text)]
    assert {"TAPE 1", "TAPE 2", "TAPE 3"} <= set(table)
    assert any(re.fullmatch(r"C \d[\d.]+['*~ m]*", text) for text in table)
    assert len(planned("maine").content().setting_out.by_name["B1"].tapes) == 2
