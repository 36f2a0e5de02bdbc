"""Where a header crosses what must be marked: by geometry that a ruler shows."""

from __future__ import annotations

import math

import pytest
from shapely import LineString, MultiLineString, Point, box

from siteplan.layout.header.crossings import crossing_angle, crossings_of
from siteplan.site.model import Feature

DRIVE = Feature("drive", "driveway", box(4, -10, 7, 10))
GAS = Feature("gas", "gas line", LineString([(2, -10), (2, 10)]))


def spots(feature: Feature, *runs: list[tuple[float, float]]) -> list[tuple[float, float]]:
    found = crossings_of(MultiLineString([LineString(run) for run in runs]), (feature,))
    return [(each.x_m, each.y_m) for each in found]


def test_a_drive_is_crossed_halfway_through_and_a_line_where_it_lies() -> None:
    straight = [(0.0, 1.0), (10.0, 1.0)]
    assert spots(DRIVE, straight) == [(5.5, 1.0)]
    assert spots(GAS, straight) == [(2.0, 1.0)]


def test_who_crosses_twice_is_told_twice_from_left_to_right() -> None:
    there, back = [(10.0, 3.0), (0.0, 3.0)], [(0.0, 3.0), (0.0, -3.0), (10.0, -3.0)]
    assert spots(GAS, there, back) == [(2.0, -3.0), (2.0, 3.0)]


def test_runs_that_meet_on_a_drive_cross_it_once() -> None:
    tee = (5.0, 0.0)
    # 2 m of the first run lie on the drive, 1 m of the second: told halfway on the longer one
    assert spots(DRIVE, [(0.0, 0.0), tee], [tee, (10.0, 0.0)]) == [(6.0, 0.0)]


def test_a_drive_that_is_only_touched_is_not_crossed() -> None:
    assert spots(DRIVE, [(0.0, 10.0), (4.0, 10.0), (0.0, 14.0)]) == []


@pytest.mark.parametrize(("rise", "degrees"), [(0.0, 90.0), (1.0, 45.0), (math.sqrt(3), 30.0)])
def test_the_angle_is_that_between_pipe_and_line(rise: float, degrees: float) -> None:
    pipe = LineString([(0, -2 * rise), (4, 2 * rise)])
    assert crossing_angle(pipe, GAS.shape, Point(2, 0)) == pytest.approx(degrees)
    assert crossing_angle(pipe, DRIVE.shape, Point(2, 0)) is None


def test_where_the_pipe_turns_on_the_line_the_flatter_angle_counts() -> None:
    # square from the west, on to the north-east at 45 degrees
    pipe = LineString([(0, 0), (2, 0), (4, 2)])
    assert crossing_angle(pipe, GAS.shape, Point(2, 0)) == 45.0
