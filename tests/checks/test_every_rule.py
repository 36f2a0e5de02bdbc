"""Every rule of common practice, broken by one foot, is caught with its name; kept, it is not."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import LineString, Point, box

from siteplan.checks.check import check_layout
from siteplan.checks.separations import separations
from siteplan.layout.elements import Bore, Coil, Element, Trench, Well
from siteplan.layout.model import Header, Layout
from siteplan.rule_books.loader import load_book
from siteplan.rule_books.model import PROPERTY_LINE, Part, Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Entry, Feature, Site
from siteplan.site.readers.site_file import read_site
from siteplan.vocabulary.kinds import kinds

FT = 0.3048
EAST = 100.0  # the thing kept off lies east of this easting, all along the lot [m]
CASES = [
    (rule, part)
    for rule in load_book("common-practice").rules
    for part in rule.parts
    if rule.distance_m > 0
]


def element(part: Part, x: float) -> Element | None:
    """One element whose east edge lies at an easting; None for the header."""
    size = 0.5 * FT
    if part == "bore":
        return Bore("X", x - size / 2, 50.0, size, 80.0)
    if part == "coil":
        return Coil("X", x - 1.0, 50.0, 2.0, 90.0, 3.0, "")
    if part == "trench":
        return Trench("X", LineString([(x - 20.0, 50.0), (x, 50.0)]), 0.6, 1.5, 2)
    if part == "header":
        return None
    role = "supply" if part == "supply well" else "return"
    return Well("X", x - size / 2, 50.0, size, 30.0, role)  # type: ignore[arg-type]


def layout(part: Part, x: float) -> Layout:
    entry = Entry("E", Point(x - 30.0, 50.0))
    one = element(part, x)
    end = (x, 50.0) if one is None else (x - 25.0, 50.0)
    header = Header((LineString([entry.point.coords[0], end]),), entry)
    return Layout("vertical", () if one is None else (one,), header, 6.0, 0.0)


def named(site: Site, rule: Rule, part: Part, distance: float) -> set[str]:
    """Rules that the check says are broken with the part at a distance from the thing [m]."""
    if rule.subject == PROPERTY_LINE:
        site = dataclasses.replace(site, parcel=box(-400, -400, EAST, 500), features=())
    else:
        shapes = {
            "point": Point(EAST, 50.0),
            "line": LineString([(EAST, 0.0), (EAST, 100.0)]),
            "polygon": box(EAST, 0.0, EAST + 20, 100.0),
        }
        shape = shapes[kinds()[rule.subject].shapes[0]]
        feature = Feature("thing", rule.subject, shape, use=rule.when.use)
        site = dataclasses.replace(site, parcel=box(-400, -400, 500, 500), features=(feature,))
    book = RuleSet((rule,), ())
    laid = layout(part, EAST - distance)
    findings = check_layout(site, laid, separations(site, laid, book), 0.0)
    return {
        finding.rule for finding in findings if finding.code in ("separation", "runs-alongside")
    }


@pytest.mark.parametrize(("rule", "part"), CASES, ids=lambda case: getattr(case, "id", case))
def test_a_rule_broken_by_a_foot_is_caught_by_name(
    rule: Rule, part: Part, lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(lot_text))
    assert named(site, rule, part, rule.distance_m) == set()
    assert named(site, rule, part, rule.distance_m - FT) == {f"common-practice/{rule.id}"}
