"""Where a header leaves the water of a pond: pipe sinks there, and ground is dug."""

from __future__ import annotations

import math

import pytest
from shapely import MultiLineString, Point, box

from siteplan.layout.header.router import route_header
from siteplan.layout.model import Ground
from siteplan.site.model import Entry

POND = box(-50, 0, 50, 40)
LOT = box(-60, -40, 60, 45)


def dug(coils: list[tuple[float, float]], entered=POND) -> tuple[float, float]:
    """Length of trench, and of all, of the header from a house south of a pond to coils in it."""
    ground = Ground(POND, LOT, (Entry("E1", Point(0, -20)),), entered=entered)
    header = route_header(ground, [[place] for place in coils])
    assert header is not None
    runs = MultiLineString(list(header.runs))
    return runs.difference(POND).length, runs.length


def test_the_trench_is_shorter_than_straight_to_a_coil_far_along_the_shore() -> None:
    # straight: 56.6 m, half of it dug. A metre dug counts twice: the way bends towards the shore
    # as light does, and digs less (at the nearest shore it would be 20 m)
    trench, whole = dug([(40.0, 20.0)])
    straight = math.hypot(40, 40) / 2  # 28.3 m
    assert 20.0 <= trench < straight - 3.0
    assert whole < 20.0 + math.hypot(40, 20)


def test_straight_ahead_nothing_bends() -> None:
    trench, whole = dug([(0.0, 20.0)])
    assert trench == pytest.approx(20.0)
    assert whole == pytest.approx(40.0)


def test_without_a_pond_entered_the_way_is_the_shortest() -> None:
    _, whole = dug([(40.0, 20.0)], entered=None)
    assert whole == pytest.approx(math.hypot(40, 40))
