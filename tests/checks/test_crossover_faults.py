"""The second opinion on crossovers: each fault is found by itself."""

from dataclasses import replace

import pytest
from pipe_fields import exchanger, trenches
from shapely import LineString, box

from siteplan.checks.crossovers import crossover_findings
from siteplan.layout.piping_model import Crossover
from siteplan.site.model import Feature, Project, Site
from siteplan.units.systems import METRIC

LINES = {
    "crossover-gap": [(29, 3), (30, 6)],
    "crossover-crosses-trench": [(30, 3), (25, 6), (25, 9), (30, 12)],
    "crossover-crossing-forbidden": [(30, 3), (36, 3), (36, 12), (30, 12)],
}


def codes(line, names, *features):
    layout = replace(trenches([30.0] * 4, pipes=1))
    layout = replace(layout, crossovers=(Crossover("X1", LineString(line), names, 0.6, 1.5),))
    project = Project("Field", "A. Owner", None)
    site = Site(project, METRIC, box(-50, -50, 150, 150), features, (), exchanger())
    return {one.code for one in crossover_findings(site, layout)}


def test_a_sound_crossover_has_no_finding():
    assert codes([(30, 3), (30, 6)], ("T1", "T2")) == set()


@pytest.mark.parametrize("code", LINES)
def test_a_fault_of_a_crossover_is_an_error_of_its_own(code):
    names = ("T1", "T2") if code == "crossover-gap" else ("T1", "T4")
    house = Feature("house", "building", box(34, 2, 40, 14))
    assert codes(LINES[code], names, house) == {code}


def test_two_crossovers_at_one_end_share_its_pipe_and_may_cross():
    layout = trenches([30.0, 34.0, 30.0], pipes=1)
    # trenches end at (30, 3), (34, 6), (30, 9): the second crossover leads round behind the first
    first = Crossover("X1", LineString([(30, 3), (34, 6)]), ("T1", "T2"), 0.6, 1.5)
    second = Crossover("X2", LineString([(30, 9), (36, 9), (30, 3)]), ("T3", "T1"), 0.6, 1.5)
    layout = replace(layout, crossovers=(first, second))
    project = Project("Field", "A. Owner", None)
    site = Site(project, METRIC, box(-50, -50, 150, 150), (), (), exchanger())
    told = [(one.code, one.subject) for one in crossover_findings(site, layout)]
    assert ("crossover-shares-pipe", "X1") in told
    assert ("crossover-shares-pipe", "X2") in told


def test_crossovers_that_cross_are_told_both():
    layout = trenches([30.0] * 4, pipes=1)
    # ends at (30, 3), (30, 6), (30, 9), (30, 12): out to 40 m on one side, across on the other
    first = Crossover("X1", LineString([(30, 3), (40, 6), (30, 9)]), ("T1", "T3"), 0.6, 1.5)
    second = Crossover("X2", LineString([(30, 6), (40, 9), (30, 12)]), ("T2", "T4"), 0.6, 1.5)
    layout = replace(layout, crossovers=(first, second))
    project = Project("Field", "A. Owner", None)
    site = Site(project, METRIC, box(-50, -50, 150, 150), (), (), exchanger())
    told = [
        (one.subject, one.values["other"])
        for one in crossover_findings(site, layout)
        if one.code == "crossover-crosses-crossover"
    ]
    assert told == [("X1", "X2"), ("X2", "X1")]
