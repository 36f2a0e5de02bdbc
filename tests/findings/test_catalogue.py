"""The catalogue and the code know the same codes, and the page of findings tells them all."""

from __future__ import annotations

import ast
import re
from functools import cache
from string import Formatter

from places import ROOT
from sources import nodes, trees

from siteplan.findings.entries import entries
from siteplan.findings.page import page
from siteplan.findings.words import FILE, FORMS, NAMES, OPTIONAL, PAPER, SERIES, SHEET

CODE = re.compile(r"[a-z]+(-[a-z]+)*")


def literals() -> set[str]:
    """Every text that stands in the code by itself, as codes do."""
    found = set()
    for _, tree in trees():
        for node in nodes(tree):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                found.add(node.value)
    return found


def names_in(template: str) -> set[str]:
    """Names of the values that a sentence has places for, without the sign of the optional."""
    named = (name for _, name, _, _ in Formatter().parse(template))
    return {
        name.removesuffix(OPTIONAL) for name in named if name and name not in (SHEET, FILE, PAPER)
    }


@cache
def given_codes() -> set[str]:
    """Codes written where a reason or a finding is made."""
    found = set()
    for _, tree in trees():
        for node in nodes(tree):
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


def test_every_entry_is_whole() -> None:
    for code, entry in entries().items():
        assert CODE.fullmatch(code)
        assert bool(entry.do) == (entry.severity is not None), code
        if entry.severity is not None:
            assert entry.says[-1] in ".?}", code
            assert entry.do[-1] == ".", code
        if entry.metric:
            optional = {"printed", "clearance_m", "first_m", "second_m"}
            # pressures stand in the units of each system beside one another
            optional |= {"pressure_psi", "pressure_kpa", "borne_psi", "borne_kpa", "margin_k"}
            assert names_in(entry.metric) ^ names_in(entry.says) <= optional, code


def test_a_sentence_asks_only_for_forms_that_there_are() -> None:
    for code, entry in entries().items():
        for form in re.findall(
            r"\{(?!unit:|file:|paper:)\w+\??:([\w-]+)", entry.says + entry.metric
        ):
            assert form in {*FORMS, *SERIES, *NAMES}, code


def places(code: str) -> set[str]:
    """Values that the sentences of a code cannot do without."""
    found = set()
    for template in (entries()[code].says, entries()[code].metric):
        for name in re.findall(r"\{(\w+\??)", template):
            if not name.endswith("?") and name not in (SHEET, FILE, PAPER):
                found.add(name)
    return found


def calls() -> list[tuple[str, int, str, set[str]]]:
    """File, line, code and names of values of each reason and finding whose values are plain."""
    found = []
    for path, tree in trees():
        for node in nodes(tree):
            if not isinstance(node, ast.Call) or not node.args:
                continue
            name, first = getattr(node.func, "id", ""), node.args[0]
            if name not in ("reason", "Finding") or not isinstance(first, ast.Constant):
                continue
            names = {word.arg for word in node.keywords if word.arg is not None}
            plain = all(word.arg is not None for word in node.keywords)
            if name == "Finding":
                names |= set(("subject", "measured_m", "required_m", "rule")[: len(node.args) - 1])
                given = [word.value for word in node.keywords if word.arg == "values"]
                for values in (*given, *node.args[5:]):
                    plain = plain and isinstance(values, ast.Dict)
                    names |= {key.value for key in getattr(values, "keys", ()) if key is not None}
            if plain:
                found.append((path.name, node.lineno, first.value, names))
    return found


def test_every_reason_brings_what_its_sentence_needs() -> None:
    assert len(calls()) > 150
    for file, line, code, names in calls():
        assert places(code) <= names, f"{file}:{line} {code} lacks {places(code) - names}"


def test_the_page_of_findings_is_that_of_the_catalogue() -> None:
    assert (ROOT / "docs/findings.md").read_text(encoding="utf-8") == page()
