"""Where a long body gets to: its width exactly, its length and turning within a raster cell."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box
from shapely.affinity import rotate
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.ways.driving import Reach, reach_of
from siteplan.geometry.ways.poses import HEADINGS, Vehicle, directions_of
from siteplan.geometry.ways.raster import Raster, rastered

TRUCK = Vehicle(2.4, 7.6, 7.6)
STREET = box(0, -12, 40, 0)
GOAL = (20.0, 50.0)


def yard(*houses: BaseGeometry) -> Reach:
    free = box(0, -12, 40, 60).difference(shapely.union_all(houses))
    return reach_of(free, STREET, TRUCK)


def test_the_first_of_several_poses_at_a_place_leads_there() -> None:
    reach = yard()
    numbers = {}
    for number, cell in enumerate(reach.cells.tolist()):
        numbers.setdefault(cell, []).append(number)
    several = [found for found in numbers.values() if len(found) > 1][:5]
    assert several
    for found in several:
        x, y = (float(value) for value in reach.poses[found[0]][:2])
        assert reach.steps_to(x, y) == found[0]
    # beyond all of the yard no pose stands
    assert reach.steps_to(20.0, 59.9) is None


def test_an_open_yard_is_reached_up_to_half_the_width_from_its_edge() -> None:
    area = yard().area
    assert box(1.3, 0, 38.7, 58.7).difference(area).area < 1.0  # corners need a turn
    assert area.within(box(1.2, -12, 38.8, 58.8).buffer(1e-6))


@pytest.mark.parametrize(("gap", "passes"), [(2.3, False), (2.39, False), (3.0, True), (4.0, True)])
@pytest.mark.parametrize("turn", [0.0, 17.0])
def test_a_gap_beside_the_house_is_passed_where_it_is_wide_enough(
    gap: float, passes: bool, turn: float
) -> None:
    free = box(0, -12, 40, 60).difference(box(gap, 15, 39, 30))
    origin = Point(0, 0)
    street = rotate(STREET, turn, origin=origin)
    reach = reach_of(rotate(free, turn, origin=origin), street, TRUCK)
    goal = rotate(Point(GOAL), turn, origin=origin)
    assert reach.area.contains(goal) == passes
    assert (reach.way_to(goal.x, goal.y) is not None) == passes


def test_a_way_in_keeps_half_the_width_from_everything() -> None:
    house = box(3.4, 15, 36, 30)
    way = yard(house).way_to(*GOAL)
    assert way is not None
    assert way.buffer(1.2 - 1e-6).within(box(0, -13.5, 40, 60).difference(house))
    assert way.coords[-1] == GOAL
    assert STREET.covers(Point(way.coords[0]))


def corner(width: float) -> BaseGeometry:
    """A corridor that runs north and turns east at a right angle."""
    return shapely.union_all(
        [box(-width, -30, 0, width), box(-width, 0, 30, width), box(-width, -40, 0, -30)]
    )


@pytest.mark.parametrize(
    ("width", "turning", "passes"),
    [
        # A rectangle w x L passes a right angle between corridors of width W only where
        # L <= 2 (sqrt(2) W - w): at 4.0 m, 2 (5.657 - 2.4) = 6.5 m < 7.6 m, however it steers.
        (3.0, 0.0, False),
        (4.0, 0.0, False),
        (4.0, 7.6, False),
        # On one arc of 7.6 m: inner radius 7.6 - 1.2 = 6.4 m, outer corner at
        # hypot(7.6 + 1.2, 7.6) = 11.63 m; with the centre 6.4 / sqrt(2) = 4.53 m beside and below
        # the inner corner it needs 11.63 - 4.53 = 7.1 m.
        (7.8, 7.6, True),
        # 2 (7.07 - 2.4) = 9.3 m > 7.6 m
        (5.5, 0.0, True),
    ],
)
def test_a_right_angle_is_passed_as_its_geometry_allows(
    width: float, turning: float, passes: bool
) -> None:
    reach = reach_of(corner(width), box(-width, -40, 0, -30), Vehicle(2.4, 7.6, turning))
    assert reach.area.contains(Point(25, width / 2)) == passes


def test_what_the_length_forbids_the_width_alone_would_allow() -> None:
    reach = reach_of(corner(3.0), box(-3, -40, 0, -30), TRUCK)
    assert reach.clear.contains(Point(25, 1.5))
    assert not reach.area.intersects(box(5, 0, 30, 3))


def test_bodies_on_the_poses_found_lie_on_free_ground() -> None:
    house = rotate(box(4, 15, 36.5, 30), 4)
    reach = yard(house)
    free = box(0, -12, 40, 60).difference(house)
    # one move takes the middle of the rear along the body or an arc: both ends give its direction
    later = np.flatnonzero(reach.before >= 0)[:: max(1, len(reach.before) // 400)]
    steps = reach.poses[later] - reach.poses[reach.before[later]]
    assert np.hypot(steps[:, 0], steps[:, 1]).max() < 2.0
    rears = shapely.points(reach.poses)
    assert bool(shapely.contains_xy(free, reach.poses[:, 0], reach.poses[:, 1]).all())
    assert float(shapely.distance(rears, house).min()) > 0.3


def test_the_same_ground_gives_the_same_way() -> None:
    first, second = (yard(box(4, 15, 36, 30)).way_to(*GOAL) for _ in range(2))
    assert first is not None
    assert second is not None
    assert first.equals_exact(second, 0.0)


def test_no_gate_wide_enough_reaches_nothing() -> None:
    free = shapely.union_all([box(0, 0, 30, 30), box(10, -10, 12, 0)])
    reach = reach_of(free, box(10, -10, 12, 0), TRUCK)
    assert reach.area.is_empty
    assert reach.way_to(15, 15) is None


def test_long_edges_stand_among_the_directions() -> None:
    angles = directions_of(rotate(box(0, 0, 30, 20), 13.3))
    assert len(angles) == HEADINGS
    for wanted in (13.3, 103.3, 193.3, 283.3):
        apart = (np.degrees(angles) - wanted + 180) % 360 - 180
        assert np.abs(apart).min() < 1e-6
    gaps = np.diff(np.sort(angles % math.tau))
    assert gaps.min() > 0.4 * math.tau / HEADINGS


def test_a_raster_agrees_with_a_point_in_polygon_test() -> None:
    ring = [(0, 0), (9.7, 1.1), (13.2, 8.8), (6.1, 5.2), (2.2, 11.9)]
    shape = Polygon(ring).difference(box(4, 3, 5.1, 4.4))
    raster = Raster.over(shape, 0.23, 10_000)
    spots = raster.middles()
    expected = shapely.contains_xy(shape, spots[:, 0], spots[:, 1])
    assert (rastered(shape, raster) == expected).all()
    cells = np.flatnonzero(rastered(shape, raster))
    assert raster.area_of(cells).area == pytest.approx(len(cells) * 0.23**2)


def test_a_raster_is_no_finer_than_allowed() -> None:
    raster = Raster.over(LineString([(0, 0), (100, 100)]), 0.1, 400)
    assert raster.size == pytest.approx(5.0)
    assert raster.holds(np.array([[0.0, 0.0], [100.0, 100.0], [-0.1, 5.0]])).tolist() == [
        True, True, False,
    ]  # fmt: skip


def test_no_way_leads_to_where_the_body_begins() -> None:
    reach = yard()
    x, y = reach.poses[np.flatnonzero(reach.before < 0)[0]]
    assert reach.way_to(float(x), float(y)) is None


@pytest.mark.parametrize("shift", [0.0, 0.03, 0.06, 0.09])
def test_a_body_starts_where_its_width_has_room(shift: float) -> None:
    """The raster errs within a cell; the ground that the width leaves is exact."""
    yard = shapely.box(0, 0, 25, 20)
    street = shapely.Polygon([(0, -9), (25, -9 + 4 * shift), (25, 0), (0, 0)])
    reach = reach_of(shapely.union(yard, street), street, Vehicle(1.83, 4.57, 0.0))
    starts = shapely.points(reach.poses[reach.before < 0])
    assert len(starts) > 0
    assert shapely.covers(reach.clear.buffer(1e-9), starts).all()
