"""Rows of what the site file asks for: of all coils the one nearest to the shore."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from even_pond import SHORE, site

from siteplan.checks.wishes import wished
from siteplan.layout.elements import Coil
from siteplan.layout.model import Layout
from siteplan.rules.ruleset import rules_of


def test_the_row_of_the_shore_names_the_coil_nearest_to_it() -> None:
    here = site()
    coils = tuple(
        Coil(f"C{number}", x, 60.0, 2.0, 100.0, 4.0, "pond")
        for number, x in enumerate((100.0, 82.0, 120.0), 1)
    )
    rows = wished(here, rules_of(here), Layout("pond", coils, None, 0.5, 0.0))
    # the middle of C2 is 22 m from the shore and its edge 1 m less
    (row,) = [row for row in rows if row.rule.subject == "shore"]
    assert row.element == "C2"
    assert row.provided_m == pytest.approx(82.0 - SHORE - 1.0)


def test_the_row_of_the_depth_names_the_coil_under_the_least_water() -> None:
    here = site()
    coils = tuple(
        Coil(f"C{number}", 100.0, 40.0 + 20.0 * number, 2.0, 100.0, deep_m, "pond")
        for number, deep_m in enumerate((4.0, 2.5, 3.0), 1)
    )
    rows = wished(here, rules_of(here), Layout("pond", coils, None, 0.5, 0.0))
    (row,) = [row for row in rows if row.rule.subject == "water depth"]
    assert (row.element, row.provided_m) == ("C2", pytest.approx(2.5))


def test_what_keeps_wells_apart_is_no_rule_about_coils() -> None:
    here = site()
    coils = tuple(Coil(f"C{n}", 100.0 + 9 * n, 60.0, 2.0, 100.0, 4.0, "pond") for n in range(2))
    # as far as the gap of 3 ft that the site file asks for, whatever the diameter of a well
    wells = SimpleNamespace(distance_m=0.9144 - here.exchanger.open.diameter_m)
    rules = SimpleNamespace(apart=lambda _: None, nearest_return=lambda: wells)
    layout = Layout("pond", coils, None, 0.5, 0.0)
    (row,) = [each for each in wished(here, rules, layout) if each.rule.subject == "coil"]  # type: ignore[arg-type]
    assert "asked for" in row.rule.source


@pytest.mark.parametrize(
    ("asked_m", "who"), [((), "asked for"), ((3.0,), "asked for"), ((3.0, 0.9144), "a rule asks")]
)
def test_the_row_of_the_gap_says_who_asks_for_it(asked_m: tuple[float, ...], who: str) -> None:
    here = site()
    coils = tuple(
        Coil(f"C{number}", x, 60.0, 2.0, 100.0, 4.0, "pond")
        for number, x in enumerate((100.0, 82.0, 120.0), 1)
    )
    # the gap of the site file is 3 ft; a rule that asks for as much is the one that asks
    least = min(asked_m, default=None)
    rules = SimpleNamespace(
        apart=lambda _: None if least is None else SimpleNamespace(distance_m=least),
        nearest_return=lambda: None,
    )
    layout = Layout("pond", coils, None, 0.5, 0.0)
    (row,) = [each for each in wished(here, rules, layout) if each.rule.subject == "coil"]  # type: ignore[arg-type]
    assert who in row.rule.source
    # centres 18 m apart, from edge to edge 1 m less on either side
    assert {row.element, row.feature} == {"C1", "C2"}
    assert row.provided_m == pytest.approx(16.0)


@pytest.mark.parametrize("noise_m", [0.0, 1e-9, -1e-9])
def test_of_pairs_as_near_but_for_rounding_the_first_has_the_row(noise_m: float) -> None:
    # a drawing read back tells places to the last digit or to the one before
    here = site()
    coils = tuple(
        Coil(f"C{number}", x, 60.0, 2.0, 100.0, 4.0, "pond")
        for number, x in enumerate((80.0, 90.0, 100.0 + noise_m), 1)
    )
    rows = wished(here, rules_of(here), Layout("pond", coils, None, 0.5, 0.0))
    (row,) = [row for row in rows if row.rule.subject == "coil"]
    assert (row.element, row.feature) == ("C1", "C2")
