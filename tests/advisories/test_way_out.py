"""A trench 4 ft deep or deeper needs a way out within 25 ft of travel: 29 CFR 1926.651(c)(2)."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from wording import in_words

from siteplan.findings.model import Finding
from siteplan.plan import lay_out, plan_site
from siteplan.sheet.tables.notes import notes
from siteplan.site.model import System
from siteplan.site.readers.site_file import read_site

FT = 0.3048
Tell = Callable[..., list[Finding]]


@pytest.fixture
def told(lot_text: str, write_site: Callable[..., Path]) -> Tell:
    def way_out(system: System, *, trench: str = "5 ft", header: str = "4 ft") -> list[Finding]:
        more = f'\n[horizontal]\ndepth = "{trench}"\n\n[header]\ndepth = "{header}"\n'
        trial = lay_out(read_site(write_site(lot_text + more)), system)
        return [one for one in trial.findings if one.code == "way-out"]

    return way_out


def test_loop_trenches_and_header_trench_are_named_with_their_depths(told: Tell) -> None:
    (note,) = told("horizontal", trench="6 ft", header="4 ft")
    assert note.severity == "note"
    assert note.rule == "29 CFR 1926.651(c)(2)"
    assert (note.measured_m, note.required_m) == (pytest.approx(6 * FT), pytest.approx(25 * FT))
    assert in_words(note) == (
        "Loop trenches 6 ft deep; header trench 4 ft deep: whoever works there must find a "
        "ladder, stair or ramp within 25 ft of travel along the trench (29 CFR 1926.651(c)(2))."
    )


@pytest.mark.parametrize(
    ("header", "deep"), [("4 ft", True), ("3.9 ft", False)]
)  # 4 ft is deep enough already: "4 feet (1.22 m) or more in depth"
def test_a_header_alone_counts_from_4_ft_on(told: Tell, header: str, deep: bool) -> None:
    codes = [one.values["trenches"] for one in told("vertical", header=header)]
    assert [[trench.code for trench in trenches] for trenches in codes] == (
        [["header-trench-so-deep"]] if deep else []
    )


def test_shallow_trenches_need_none(told: Tell) -> None:
    assert told("horizontal", trench="3.9 ft", header="3.5 ft") == []


def test_the_sheet_prints_it(lot_text: str, write_site: Callable[..., Path]) -> None:
    plan = plan_site(read_site(write_site(lot_text)), system="horizontal")
    assert [note for note in notes(plan.content()) if "29 CFR 1926.651(c)(2)" in note]
