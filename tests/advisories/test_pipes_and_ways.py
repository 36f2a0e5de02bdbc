"""What is said of pipes without a way back, and of what header and crossovers cross."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path

from pipe_fields import exchanger, tree_of, trenches
from shapely import LineString, box

from siteplan.advisories.crossovers import crossover_remarks
from siteplan.advisories.pipes import pipe_remarks
from siteplan.advisories.remarks import remarks_on
from siteplan.available.prepared import lot_of
from siteplan.demand.model import Required
from siteplan.findings.model import Finding, reason
from siteplan.layout.header.crossovers import join_far_ends
from siteplan.layout.model import Ground, Layout
from siteplan.layout.piping.pipes import with_pipes
from siteplan.layout.piping_model import LOOP_TRENCH, Crossing
from siteplan.plan import lay_out
from siteplan.site.model import Feature, Site
from siteplan.site.project import Project
from siteplan.site.readers.site_file import read_site
from siteplan.units.systems import METRIC

FIELD = box(-20, -20, 120, 120)


def subjects(findings: Sequence[Finding], code: str) -> list[str]:
    return [finding.subject for finding in findings if finding.code == code]


def piped(pipes: Sequence[int], passable: object = FIELD) -> tuple[Finding, ...]:
    """What is said of the pipes of trenches of 30 m with so many pipes in each."""
    layout = trenches([30.0] * len(pipes))
    pairs = zip(layout.elements, pipes, strict=True)
    layout = replace(layout, elements=tuple(replace(one, pipes=count) for one, count in pairs))
    ground = Ground(passable, passable, ())
    made = with_pipes(layout, exchanger(), ground=ground)
    return pipe_remarks(site_of_pipes(), made)


def site_of_pipes() -> Site:
    return Site(Project("Field", "A. Owner", None), METRIC, FIELD, (), (), exchanger())


def test_the_odd_one_of_three_single_pipes_is_told() -> None:
    # two of three come home through one another
    assert len(subjects(piped([1, 1, 1]), "pipe-left-over")) == 1


def test_two_single_pipes_with_a_wall_between_them_are_both_told() -> None:
    # trenches lie at 3, 6 and 9 m: the middle one is in circuits by itself, the outer two are cut
    # off from one another
    walled = FIELD.difference(box(-30, 7.0, 130, 8.0))
    assert subjects(piped([1, 2, 1], walled), "pipes-left-over") == ["T1", "T3"]


def crossed(layout: Layout, passable: object, *marked: Feature) -> tuple[Finding, ...]:
    ground = Ground(passable, passable, (), marked)
    joined = replace(layout, crossovers=join_far_ends(layout, tree_of(layout), ground))
    return tuple(crossover_remarks(site_of_pipes(), joined))


def test_a_line_that_a_crossover_crosses_is_told() -> None:
    line = Feature("water-1", "water line", LineString([(25, 4.5), (60, 4.5)]))
    told = crossed(trenches([30.0, 30.0], pipes=1), FIELD, line)
    assert subjects(told, "crossover-crossing") == ["water-1"]


def test_a_crossover_under_the_header_is_told() -> None:
    layout = trenches([30.0, 30.0], pipes=1)
    assert layout.header is not None
    run = LineString([(0, 4.5), (40, 4.5)])
    header = replace(layout.header, runs=(*layout.header.runs, run))
    told = crossed(replace(layout, header=header), box(-20, -20, 31, 20))
    assert subjects(told, "crossover-under-header") == ["X1"]


def test_a_trench_that_the_header_passes_over_is_told(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    lot = lot_of(read_site(write_site(lot_text)))
    layout = lay_out(lot.site, "horizontal").layout
    assert layout is not None
    assert layout.header is not None
    first = layout.elements[0]
    over = Crossing(first.id, LOOP_TRENCH, first.x_m, first.y_m)
    layout = replace(layout, header=replace(layout.header, crossings=(over,)))
    told = remarks_on(lot, layout, Required(0.0, "given", reason("length-not-known")), ())
    assert subjects(told, "header-over-trench") == [first.id]
