"""The frame of a lot itself: the same of a lot however it is turned, mirrored or moved."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon

from siteplan.layout.model import Ground
from siteplan.layout.own_frame import frame_of
from siteplan.site.model import Entry

LOT = Polygon([(0, 0), (55, 0), (55, 22), (30, 31), (0, 31)])
DOOR = (8.0, 5.0)


def moved(turn_deg, mirror, far):
    """A lot turned, mirrored and moved away, by the matrix of that."""
    turn = math.radians(turn_deg)
    matrix = np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])
    matrix = matrix @ np.diag([-1.0 if mirror else 1.0, 1.0])
    return lambda shape: shapely.transform(shape, lambda xy: xy @ matrix.T + np.array(far))


def ground(move):
    door = Entry("E", move(Point(DOOR)))
    area = move(LOT.buffer(-3, join_style="mitre"))
    return Ground(area, move(LOT), (door,), ())


MOVES = [
    moved(turn, mirror, far)
    for turn in (0.0, 31.0, 90.0, 200.0)
    for mirror in (False, True)
    for far in ((0.0, 0.0), (-70.0, 45.0))
]


@pytest.mark.parametrize("move", MOVES)
def test_a_lot_looks_the_same_in_its_own_frame_however_it_lies(move):
    first, other = ground(MOVES[0]), ground(move)
    one, two = frame_of(first).into(first.area), frame_of(other).into(other.area)
    places = [shapely.get_coordinates(shape) for shape in (one, two)]
    assert places[0] == pytest.approx(places[1], abs=1e-6)


@pytest.mark.parametrize("move", MOVES[:6])
def test_axes_are_at_right_angles_and_what_goes_in_comes_back(move):
    lot = ground(move)
    frame = frame_of(lot)
    axes = np.array(frame.axes)
    assert axes @ axes.T == pytest.approx(np.eye(2), abs=1e-9)
    spots = np.array([(3.0, 4.0), (50.0, -7.5), (-12.0, 80.0)])
    inside = shapely.get_coordinates(frame.into(shapely.MultiPoint(spots)))
    assert np.hypot(*np.diff(inside, axis=0).T) == pytest.approx(
        np.hypot(*np.diff(spots, axis=0).T)
    )
    assert frame.back(inside) == pytest.approx(spots, abs=1e-7)
    # a direction is turned and not moved
    way = np.subtract(inside[1], inside[0])
    assert frame.turned(tuple(spots[1] - spots[0])) == pytest.approx(tuple(way), abs=1e-6)


@pytest.mark.parametrize("move", MOVES[:8])
def test_the_door_is_the_origin_and_the_ground_lies_ahead_of_it(move):
    lot = ground(move)
    frame = frame_of(lot)
    assert shapely.get_coordinates(frame.into(lot.entries[0].point)) == pytest.approx(
        np.zeros((1, 2)), abs=1e-9
    )
    middle = frame.into(lot.area).centroid
    # worked by hand: the middle of the area less the door, along the sides of 55 and 31 m
    wanted = LOT.buffer(-3, join_style="mitre").centroid
    assert (middle.x, middle.y) == pytest.approx((wanted.x - 8.0, wanted.y - 5.0), abs=1e-6)


def test_two_doors_have_their_middle_for_an_origin():
    lot = Ground(LOT, LOT, (Entry("A", Point(10, 0)), Entry("B", Point(20, 4))), ())
    assert frame_of(lot).origin == (15.0, 2.0)
