"""The second opinion on groups of circuits: each fault is found by itself."""

from dataclasses import replace

import pytest
from pipe_fields import GPM, bores, exchanger
from shapely import box
from wording import in_words

from siteplan.checks.groups import group_findings
from siteplan.layout.piping.pipes import with_pipes
from siteplan.layout.piping_model import OwnPipes
from siteplan.site.model import Project, Site
from siteplan.units.systems import METRIC

WANTED = exchanger(circuits={"flow_m3s": 40 * GPM})


def told(layout, wanted=WANTED):
    project = Project("Field", "A. Owner", None)
    site = Site(project, METRIC, box(-50, -50, 150, 150), (), (), wanted)
    return {finding.code: finding for finding in group_findings(site, layout)}


def changed(change):
    """A field of 14 bores in two groups of seven, with its piping changed."""
    layout = with_pipes(bores(14), WANTED)
    return replace(layout, piping=change(layout.piping))


def test_a_field_divided_as_it_should_be_has_no_finding():
    assert told(changed(lambda piping: piping)) == {}
    assert told(with_pipes(bores(12), WANTED)) == {}
    assert told(with_pipes(bores(30), exchanger(header={"layout": "home run"}))) == {}


def test_a_field_without_pipes_or_circuits_has_no_groups_to_judge():
    layout = with_pipes(bores(14), WANTED)
    assert told(replace(layout, piping=None)) == {}
    undivided = changed(lambda piping: replace(piping, groups=()))
    assert told(replace(undivided, circuits=())) == {}


def test_a_field_that_is_not_divided_has_circuits_in_no_group():
    finding = told(changed(lambda piping: replace(piping, groups=())))["circuit-not-in-one-group"]
    assert "CIR-14 is in 0 groups" in in_words(finding)


@pytest.mark.parametrize(("name", "count"), [("CIR-1", 0), ("CIR-2", 2)])
def test_a_circuit_in_no_group_or_in_two_is_told(name, count):
    def change(piping):
        near, far = piping.groups
        wrong = tuple(c for c in near.circuits if c != name) if count == 0 else near.circuits
        more = far.circuits if count == 0 else (*far.circuits, name)
        return replace(piping, groups=(replace(near, circuits=wrong), replace(far, circuits=more)))

    found = told(changed(change))
    assert found.keys() == {"circuit-not-in-one-group"}
    assert found["circuit-not-in-one-group"].values["count"] == count


def test_groups_smaller_or_larger_than_common_are_told():
    def change(piping):
        near, far = piping.groups
        moved = (*near.circuits, *far.circuits[:6])
        one = replace(far, circuits=far.circuits[6:])
        return replace(piping, groups=(replace(near, circuits=moved), one))

    finding = told(changed(change))["group-size"]
    assert in_words(finding) == ("Group G2 has 1 circuits; 6 to 12 are common practice, no source.")


def test_pipes_at_the_entry_that_do_not_carry_the_flow_of_the_field_are_told():
    def change(piping):
        first, *others = piping.pieces
        pipes = tuple(pipe for pipe in first.pipes if pipe.group != "G2")
        return replace(piping, pieces=(replace(first, pipes=pipes), *others))

    assert told(changed(change)).keys() == {"group-flow"}


@pytest.mark.parametrize(("own", "codes"), [(True, set()), (False, {"group-flow"})])
def test_a_circuit_on_two_sides_of_the_entry_begins_there_by_pipe_of_its_own(own, codes):
    def change(piping):
        first, *others = piping.pieces
        each = piping.hydraulics.flow_m3s / 14
        less = tuple(
            replace(pipe, flow_m3s=pipe.flow_m3s - each) if pipe.group == "G1" else pipe
            for pipe in first.pipes
        )
        alone = (OwnPipes("CIR-1", "3/4 in", 2),) if own else ()
        return replace(piping, pieces=(replace(first, pipes=less, own=alone), *others))

    assert told(changed(change)).keys() == codes
