"""Conditions of rule books on the sheets: what is asked, what is there, whether it is kept."""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from legible import plot_faults
from planned import unweighed

from siteplan.plan import SitePlan
from siteplan.sheet.content.content import PLAN, TABLES, PlanContent
from siteplan.sheet.model import Text
from siteplan.sheet.pages.set import compose_set
from siteplan.sheet.tables.checklist import checklist_block
from siteplan.sheet.tables.conditions import condition_table, conditions_block
from siteplan.sheet.tables.notes import notes
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
    assert "minnesota: Minn. R., 4725.7050" in words(content)


def test_fluid_and_grout_are_printed_with_what_is_assumed(planned: Planned) -> None:
    content = planned("minnesota").content()
    said = words(content)
    assert "Fluid: propylene glycol 25 % (assumed)." in said
    assert "Grout: bentonite and sand (assumed)" in said
    # Minnesota's vertical heat exchanger application wants fluid and grout on the plan
    assert "vertical heat exchanger application" in said
    assert "not-shown" not in {finding.code for finding in content.findings}
    row = next(
        item.text
        for item in checklist_block(replace(content, titles=(PLAN, TABLES)), 120.0).items
        if isinstance(item, Text) and "conditions" in item.text
    )
    assert row == "L2, conditions"


def test_the_test_pressure_stands_among_the_notes(planned: Planned) -> None:
    said = " ".join(notes(planned("mission-hills-ks").content()))
    # City of Mission Hills code 5-130.1(E)(1): 100 psi for at least 1 h
    assert "Pressure-test the loop at 100 psi or more, for 60 min" in said
    assert "5-130.1(E)(1)" in said
    assert "Pressure-test the loop at" not in " ".join(notes(planned("maine").content()))


def test_a_site_without_conditions_has_no_such_block(planned: Planned) -> None:
    assert conditions_block(planned("texas").content(), 110.0) is None


@pytest.mark.parametrize("sheets", ["one", "full"])
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
