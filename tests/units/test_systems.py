"""Unit systems: one record each, and nothing else in the package that knows them apart."""

from __future__ import annotations

import ast
from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from sources import nodes, trees

import siteplan
from siteplan.plan import plan_site
from siteplan.sheet.model import Text
from siteplan.sheet.pages.set import compose_set
from siteplan.sheet.style.formats import mark, short_mark
from siteplan.site.model import Site
from siteplan.site.options.choices import choices
from siteplan.site.readers.site_file import read_site
from siteplan.units.lengths import US_SURVEY_FOOT, format_length
from siteplan.units.systems import METRIC, UNIT_SYSTEMS, US

ROOT = Path(siteplan.__file__).parent
NAMES = {"ft", "m"}
SURVEY = replace(
    US, name="ftUS", metres=US_SURVEY_FOOT, stated="US survey feet (1200/3937 m)", sign=" ftUS"
)
"""A third system: the feet of old coordinate systems."""


def branches(tree: ast.Module) -> list[int]:
    """Lines that compare with the name of a unit system, or look something up by it."""
    found = []
    for node in nodes(tree):
        if isinstance(node, ast.Compare):
            parts = [node.left, *node.comparators]
            parts += [one for part in parts for one in getattr(part, "elts", ())]
        elif isinstance(node, ast.Dict):
            parts = [one for one in node.keys if one is not None]
        elif isinstance(node, ast.MatchValue):
            parts = [node.value]
        else:
            continue
        if any(isinstance(one, ast.Constant) and one.value in NAMES for one in parts):
            found.append(node.lineno)
    return sorted(found)


def test_the_search_finds_what_tells_units_apart() -> None:
    source = 'a = unit == "ft"\nb = {"ft": 1, "m": 2}[unit]\nc = unit in ("m", "cm")\nd = f("ft")\n'
    assert branches(ast.parse(source)) == [1, 2, 3]


def test_only_the_room_of_units_tells_systems_apart() -> None:
    # LENGTHS, which reads "12 ft", stands there as well
    told = {path.relative_to(ROOT).as_posix() for path, tree in trees() if branches(tree)}
    assert told == {"units/lengths.py"}


def test_no_table_of_the_package_has_unit_systems_for_keys() -> None:
    for path in ROOT.rglob("*.toml"):
        for line in path.read_text(encoding="utf-8").splitlines():
            assert line.partition("=")[0].strip() not in NAMES, f"{path.name}: {line}"


def test_a_length_is_printed_by_the_record() -> None:
    # 100 US survey feet are 100 x 1200/3937 = 30.48006 m; 2 parts in a million: 1000 m differ
    assert format_length(100 * US_SURVEY_FOOT, SURVEY, 2) == "100.00 ftUS"
    assert mark(100 * US_SURVEY_FOOT, SURVEY) == "100.0 ftUS"
    assert short_mark(12.5 * US_SURVEY_FOOT, SURVEY) == "12.5 ftUS"


@pytest.fixture
def surveyed(
    monkeypatch: pytest.MonkeyPatch, write_site: Callable[[str], Path], lot_text: str
) -> Iterator[Site]:
    """The small lot in US survey feet, read once there is a record of them."""
    wider = {**UNIT_SYSTEMS, SURVEY.name: SURVEY}
    for reader in ("readers.site_file", "options.choices"):
        monkeypatch.setattr(f"siteplan.site.{reader}.UNIT_SYSTEMS", wider)
    choices.cache_clear()
    assert 'units = "ft"' in lot_text
    yield read_site(write_site(lot_text.replace('units = "ft"', 'units = "ftUS"')))
    choices.cache_clear()


def test_a_third_system_takes_one_record(surveyed: Site) -> None:
    assert surveyed.unit is SURVEY
    plan = plan_site(surveyed)
    texts = [
        one.text
        for sheet in compose_set(plan.content())
        for one in sheet.primitives
        if isinstance(one, Text)
    ]
    # a sentence runs over several lines
    assert "US survey feet (1200/3937 m)" in " ".join(texts)
    assert "EAST ftUS" in texts
    assert any(text.endswith(" ftUS") for text in texts)
    assert not any("METRES" in text for text in texts)


def test_systems_are_told_by_their_name() -> None:
    assert str(US) == "ft"
    assert replace(METRIC, step_m=1.0) != METRIC
    assert hash(replace(METRIC)) == hash(METRIC)
