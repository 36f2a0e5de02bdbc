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
