"""What is said of a field whose circuits are divided, and of its wider header trench."""

import pytest
from pipe_fields import FT, GPM, bores, exchanger
from shapely import LineString, box
from wording import in_words

from siteplan.advisories.groups import group_remarks
from siteplan.advisories.pipes import pipe_remarks
from siteplan.layout.piping.pipes import with_pipes
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Feature, Project, Site
from siteplan.units.systems import US


def field(count, gpm, *features, **header):
    wanted = exchanger(circuits={"flow_m3s": gpm * GPM}, header=header)
    project = Project("Field", "A. Owner", None)
    site = Site(
        project, US, box(-50, -50, 150, 900), features, (), wanted, books=("common-practice",)
    )
    return site, with_pipes(bores(count), wanted)


def told(count, gpm, *features, **header):
    site, layout = field(count, gpm, *features, **header)
    return {finding.code: finding for finding in group_remarks(site, rules_of(site), layout)}


def test_a_divided_field_is_said_to_be_one_and_a_small_one_is_not():
    found = told(26, 60)
    assert "divided into 3 groups of 8 to 9" in in_words(found["circuits-in-groups"], US)
    even = told(24, 60)["circuits-in-groups"]
    assert "divided into 2 groups of 12, each with" in in_words(even, US)
    assert told(12, 60) == {}


def test_a_trench_with_many_large_pipes_is_dug_wider():
    # 48 bores: 4 groups of 12, each with pairs of 3 in pipe; at the entry 4 a side, 4 layers of one
    # column in 24 in, so a second column of 5.25 in and 6 in to the middle: 36 in
    found = told(48, 400, layout="direct return")
    wider = found["header-trench-wider"]
    assert wider.required_m == pytest.approx(3 * FT)
    assert wider.measured_m == pytest.approx(2 * FT)
    assert wider.values["pipes"] == 8
    assert wider.values["separation_m"] == pytest.approx(2 * FT)
    # so wide from the start, nothing is said
    assert "header-trench-wider" not in told(48, 400, layout="direct return", separation_m=2 * FT)


def test_a_line_that_the_wider_trench_comes_too_near_is_told():
    # 3 ft from the side of a trench 2 ft wide is 2.5 ft from one 3 ft wide
    gas = Feature("gas", "gas line", LineString([(4 * FT + 0.001, -40), (4 * FT + 0.001, 800)]))
    found = told(48, 400, gas, layout="direct return")["wide-header-near-line"]
    assert found.required_m == pytest.approx(3 * FT)
    assert found.measured_m == pytest.approx(2.5 * FT, abs=0.01)
    far = Feature("gas", "gas line", LineString([(5 * FT, -40), (5 * FT, 800)]))
    assert "wide-header-near-line" not in told(48, 400, far, layout="direct return")


def test_unequal_paths_of_a_divided_field_are_those_within_a_group():
    site, layout = field(26, 78, layout="direct return")
    (uneven,) = (f for f in pipe_remarks(site, layout) if f.code == "uneven-paths")
    shares = {
        group.id: 1 - group.easiest_drop_pa / group.drop.total for group in layout.piping.groups
    }
    assert uneven.values["share"] == pytest.approx(max(shares.values()))
    assert f"critical circuit of group {max(shares, key=shares.get)}" in in_words(uneven, US)
