"""The second opinion on a header pit: each fault is found by itself."""

from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pytest
from pipe_fields import FT, bores, exchanger
from shapely import LineString, affinity, box
from wording import in_words

from siteplan.checks.check import check_layout
from siteplan.checks.pit import pit_findings
from siteplan.checks.separations import bodies
from siteplan.layout.piping_model import Crossover
from siteplan.layout.pit import pit_around
from siteplan.site.model import Feature, Project, Site
from siteplan.units.systems import METRIC

DRIVE = Feature("drive", "driveway", box(-20, -30, 20, -25))
LINE = Feature("gas", "gas line", LineString([(-20, -27), (20, -27)]))


def told(pit, *features):
    layout = with_pit(pit)
    return {finding.code: finding for finding in pit_findings(site_of(features), layout)}


def with_pit(pit):
    """Four bores from y = 6 m on, their header from the entry at y = -34 m, and a pit."""
    layout = bores(4, lead=40.0)
    return replace(layout, header=replace(layout.header, pit=pit))


def site_of(features=()):
    project = Project("Field", "A. Owner", None)
    return Site(project, METRIC, box(-50, -50, 150, 150), tuple(features), (), exchanger())


def test_a_pit_with_room_has_no_finding():
    assert told(pit_around((0.0, -10.0), 0.3), DRIVE, LINE) == {}
    assert told(None, DRIVE) == {}


def test_a_pit_that_is_too_small_is_told():
    finding = told(pit_around((0.0, -10.0), 0.3, 14 * FT))["pit-too-small"]
    assert (finding.measured_m, finding.required_m) == pytest.approx((14 * FT, 15 * FT))


@pytest.mark.parametrize(("wide", "deep"), [(14, 20), (20, 14), (14, 14), (15, 20), (20, 15)])
@pytest.mark.parametrize("turn_deg", [0, 30, 90])
def test_the_shorter_side_of_a_pit_counts_however_it_lies(wide, deep, turn_deg):
    ring = affinity.rotate(box(-wide / 2 * FT, -10, wide / 2 * FT, -10 + deep * FT), turn_deg)
    found = told(SimpleNamespace(outline=ring))
    if min(wide, deep) < 15:
        assert found["pit-too-small"].measured_m == pytest.approx(14 * FT)
    else:
        assert "pit-too-small" not in found


def test_a_pit_off_the_header_is_told():
    # its west side at x = 10 m less half of 15 ft
    finding = told(pit_around((10.0, -10.0), 0.0))["pit-off-header"]
    assert finding.measured_m == pytest.approx(10.0 - 7.5 * FT)


def test_a_pit_too_near_a_bore_is_told():
    # north side at y = 5 m, the bore's edge at 6 - 0.075 m
    finding = told(pit_around((0.0, 5.0 - 7.5 * FT), 0.0))["pit-near-loop"]
    assert finding.measured_m == pytest.approx(6.0 - 0.075 - 5.0)
    assert "B1" in in_words(finding)


def test_a_pit_too_near_a_crossover_is_told():
    # its east side at 7.5 ft; a crossover 0.6 m wide 3.9 m and 3 m from its middle; 4 ft stay undug
    layout = with_pit(pit_around((0.0, -10.0), 0.0))
    crossed = {}
    for east in (3.9, 3.0):
        line = LineString([(east, -20.0), (east, 0.0)])
        crossover = Crossover("X1", line, ("T1", "T2"), 0.6, 1.5)
        found = pit_findings(site_of(), replace(layout, crossovers=(crossover,)))
        crossed[east] = [each for each in found if each.code == "pit-near-loop"]
    assert crossed[3.9] == []
    (finding,) = crossed[3.0]
    assert finding.measured_m == pytest.approx(3.0 - 0.3 - 7.5 * FT)
    assert "X1" in in_words(finding)


@pytest.mark.parametrize("feature", [DRIVE, LINE])
def test_a_pit_on_what_a_header_may_only_cross_is_told(feature):
    assert told(pit_around((0.0, -27.0), 0.0), feature).keys() == {"pit-on-feature"}


def test_a_pit_is_measured_like_the_header_and_has_to_lie_on_the_parcel():
    layout = with_pit(pit_around((0.0, -49.0), 0.0))
    assert [body.id for body in bodies(layout) if body.part == "header"] == ["header", "header pit"]
    found = {
        f.code: f for f in check_layout(site_of(), layout, (), 0.0) if f.subject == "header pit"
    }
    # 7.5 ft south of y = -49 m, the property line at -50 m
    assert found["outside-parcel"].measured_m == pytest.approx(7.5 * FT - 1.0)


def test_a_pit_far_from_the_origin_is_measured_as_it_is():
    # in state plane feet or metres a site lies millions of units from the origin
    pit = pit_around((662_545.0, 2_010_613.0), 0.3)
    far = np.array(pit.corners)
    sides = np.hypot(*(far - np.roll(far, 1, axis=0)).T)
    assert pit.sides_m == pytest.approx((sides.min(), sides.max()), abs=1e-8)
    assert "pit-too-small" not in told(pit)
