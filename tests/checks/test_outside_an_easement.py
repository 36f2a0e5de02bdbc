"""A rule that asks for a distance or for ground outside of the easement: rows by hand."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pipe_fields import exchanger
from shapely import LineString, Point, box

from siteplan.checks.separations import separations
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Entry, Feature, Project, Site
from siteplan.units.systems import METRIC

SEWER = Feature("S", "sewer line", LineString([(0, 20), (60, 20)]))
STRIP = box(-1, 17, 61, 22)
ASKS = Rule("r", "sewer line", ("bore",), 3.0, "3 m", "county", "s", unless_outside="easement")


def provided(y, *easements, sewer=SEWER, rule=ASKS):
    """What the table of separations says of a bore 0.2 m wide from the sewer; None: no row."""
    things = [Feature(f"E{k}", "easement", shape) for k, shape in enumerate(easements)]
    site = Site(
        Project("Lot", "A. Owner", None), METRIC, box(0, 0, 60, 80), (sewer, *things),
        (Entry("E", Point(5, 5)),), exchanger(),
    )  # fmt: skip
    layout = Layout("vertical", (Bore("B1", 30.0, y, 0.2, 60.0),), None, 6.0, 0.0)
    rows = separations(site, layout, RuleSet((rule,), ()))
    found = [row.provided_m for row in rows if row.rule is rule]
    return found[0] if found else None


@pytest.mark.parametrize(
    ("y", "outside"),
    # the easement ends at 22 m, the bore reaches 0.1 m
    [(21.0, False), (22.05, False), (22.1, True), (22.5, True), (40.0, True), (16.5, True)],
)
def test_a_bore_outside_of_the_easement_keeps_no_distance_from_the_line_in_it(y, outside):
    found = provided(y, STRIP)
    assert found == (None if outside else pytest.approx(abs(y - 20) - 0.1))


def test_a_rule_without_that_way_out_asks_for_its_distance_everywhere():
    assert provided(22.5, STRIP, rule=replace(ASKS, unless_outside="")) == pytest.approx(2.4)


def test_a_line_that_is_not_wholly_in_easements_is_kept_off_all_around():
    assert provided(22.5) == pytest.approx(2.4)
    assert provided(22.5, box(-1, 60, 61, 65)) == pytest.approx(2.4)
    assert provided(22.5, box(-1, 17, 29, 22)) == pytest.approx(2.4)
    assert provided(22.5, LineString([(0, 20), (60, 20)])) == pytest.approx(2.4)


def test_of_two_easements_that_hold_the_line_together_the_bore_lies_outside_of_both():
    west, east = box(-1, 17, 30, 22), box(30, 17, 61, 23)
    assert provided(22.6, west, east) == pytest.approx(2.5)
    assert provided(23.2, west, east) is None
    # one elsewhere is not about this line
    assert provided(23.2, west, east, box(-1, 23, 61, 30)) is None
