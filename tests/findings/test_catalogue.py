"""The catalogue and the code know the same codes, and the page of findings tells them all."""

from __future__ import annotations

import ast
import re

import pytest
from places import ROOT

from siteplan.findings.entries import entries
from siteplan.findings.page import page
from siteplan.findings.words import FORMS, SERIES, names_in

CODE = re.compile(r"[a-z]+(-[a-z]+)*")


def literals() -> set[str]:
    """Every text that stands in the code by itself, as codes do."""
    found = set()
    for path in (ROOT / "siteplan").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
    return found


def given_codes() -> set[str]:
    """Codes written where a reason or a finding is made."""
    found = set()
    for path in (ROOT / "siteplan").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            made = isinstance(node, ast.Call) and getattr(node.func, "id", "") in (
                "reason",
                "Finding",
            )
            if made and node.args and isinstance(node.args[0], ast.Constant):
                found.add(node.args[0].value)
    return found


def test_every_code_given_stands_in_the_catalogue() -> None:
    assert len(given_codes()) > 100
    assert given_codes() <= set(entries())


def test_every_code_of_the_catalogue_stands_in_the_code() -> None:
    assert set(entries()) <= literals()


@pytest.mark.parametrize("code", sorted(entries()))
def test_an_entry_is_whole(code: str) -> None:
    entry = entries()[code]
    assert CODE.fullmatch(code)
    assert bool(entry.do) == (entry.severity is not None)
    if entry.severity is not None:
        assert entry.says[-1] in ".?}"
        assert entry.do[-1] == "."
    if entry.metric:
        optional = {"printed", "clearance_m", "first_m", "second_m"}
        assert set(names_in(entry.metric)) ^ set(names_in(entry.says)) <= optional | {"margin_k"}


@pytest.mark.parametrize("code", sorted(entries()))
def test_a_sentence_asks_only_for_forms_that_there_are(code: str) -> None:
    for form in re.findall(
        r"\{(?!unit:)\w+\??:(\w+)", entries()[code].says + entries()[code].metric
    ):
        assert form in {*FORMS, *SERIES, "a"}


def test_the_page_of_findings_is_that_of_the_catalogue() -> None:
    assert (ROOT / "docs/findings.md").read_text(encoding="utf-8") == page()
