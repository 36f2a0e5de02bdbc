"""A header may cross a loop trench squarely, and end in the pit at its end; along it it may not."""

from __future__ import annotations

import math

import pytest
from shapely import LineString, Point

from siteplan.checks.header_in_trench import header_in_trench_findings
from siteplan.layout.elements import Trench
from siteplan.layout.model import Header, Layout
from siteplan.site.model import Entry

WIDTH = 0.6
TRENCH = Trench("T1", LineString([(0, 0), (40, 0)]), WIDTH, 1.5, 2)


def found(*points, trenches=(TRENCH,)):
    """Names of trenches in which a header over some points is dug, with the length of it."""
    header = Header((LineString(points),), Entry("E", Point(points[0])))
    layout = Layout("horizontal", trenches, header, 3.0, 40.0)
    return {one.subject: one.measured_m for one in header_in_trench_findings(layout)}


def across(angle):
    """Ends of a header of 20 m that crosses the middle of the trench at an angle [deg]."""
    x, y = 10 * math.cos(math.radians(angle)), 10 * math.sin(math.radians(angle))
    return (20 - x, -y), (20 + x, y)


@pytest.mark.parametrize("angle", [60, 61, 75, 90, 110, 120])
def test_a_header_crosses_squarely(angle):
    # 60 degrees and more, common practice, no source
    assert found(*across(angle)) == {}


@pytest.mark.parametrize("angle", [5, 20, 30, 45, 55, 125, 160])
def test_a_slanting_crossing_is_dug_in_the_trench(angle):
    # two trenches of one width that lie within half of it: a strip two widths wide, less rounding
    inside = 2 * WIDTH / math.sin(math.radians(angle))
    assert found(*across(angle)) == pytest.approx({"T1": inside}, rel=0.05)


def test_a_header_that_ends_at_a_trench_has_a_pit_there():
    assert found((-10, 0), (0, 0)) == {}
    assert found((-10, 0.5), (-0.5, 0), (0, 0)) == {}
    # 3 ft round the end; farther along it is dug where the pipe of the trench lies
    assert found((-10, 0), (0.9, 0)) == {}
    assert set(found((-10, 0), (0, 0), (6, 0))) == {"T1"}


def test_beside_a_trench_the_sides_of_both_keep_off_each_other():
    # each reaches half a width from its middle
    assert found((0, 0.61), (40, 0.61)) == {}
    assert found((0, 0.5), (40, 0.5)) == pytest.approx({"T1": 40.0}, rel=0.05)


def test_each_trench_is_told_by_itself():
    other = Trench("T2", LineString([(0, 5), (40, 5)]), WIDTH, 1.5, 2)
    assert set(found((10, -5), (10, 5), (30, 5), trenches=(TRENCH, other))) == {"T2"}
    assert set(found((5, 0), (30, 0), (30, 20), trenches=(TRENCH, other))) == {"T1"}


@pytest.mark.parametrize("end", [0, -1])
def test_a_bent_trench_is_joined_in_the_pit_at_either_end(end):
    bent = Trench("T1", LineString([(0, 0), (20, 0), (34, 14)]), WIDTH, 1.5, 2)
    x, y = bent.line.coords[end]
    # straight into the end from the side, and 2.8 ft along the trench within the pit of 3 ft
    before = bent.line.interpolate(2.8 * 0.3048 * (1 if end == 0 else -1))
    assert found((x - 6, y + 6), (x, y), (before.x, before.y), trenches=(bent,)) == {}
    # 12 ft along it lead out of the pit
    far = bent.line.interpolate(12 * 0.3048 * (1 if end == 0 else -1))
    assert list(found((x - 6, y + 6), (x, y), (far.x, far.y), trenches=(bent,))) == ["T1"]
