"""Tables that a spreadsheet opens without computing what somebody wrote into a name."""

from __future__ import annotations

import csv

import pytest

from siteplan.export.csv_text import csv_text

# as listed under "CSV Injection" by OWASP
FORMULAS = ["=1+1", "@SUM(A1)", "+cmd|' /C calc'!A0", "-2+3", "\t=1", '=HYPERLINK("x","y")']


@pytest.mark.parametrize("cell", FORMULAS)
def test_no_cell_begins_as_a_formula_does(cell: str) -> None:
    ((shown, other),) = csv.reader([csv_text([(cell, "B1")]).rstrip("\n")])
    assert shown == f"'{cell}"
    assert other == "B1"


@pytest.mark.parametrize("cell", ["-12.5", "+3", "-1e-3", "12", "", "B-1", "a=b", "1 + 1"])
def test_numbers_and_names_stay_as_they_are(cell: str) -> None:
    assert csv_text([(cell, "x")]) == f"{cell},x\n"


def test_commas_and_quotes_are_read_back() -> None:
    rows = [['6" bore', "a, b", "two\nlines"]]
    assert list(csv.reader(csv_text(rows).splitlines(keepends=True))) == rows
