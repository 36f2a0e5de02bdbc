"""Rows of what the site file asks for: of all coils the one nearest to the shore."""

from __future__ import annotations

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
