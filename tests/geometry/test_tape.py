"""Places by tape, beside circles of the plane and beside each other."""

from __future__ import annotations

import math

import numpy as np
import pytest

from siteplan.geometry.tape import along_and_off, best_place, crossings, miss

RANDOM = np.random.default_rng(18)
CASES = [tuple(map(float, RANDOM.uniform(-30, 30, 6))) for _ in range(40)]


@pytest.mark.parametrize("case", CASES)
def test_both_crossings_lie_as_far_from_either_point_as_the_tapes_are_long(case):
    first, second, place = case[:2], case[2:4], case[4:]
    lengths = math.dist(first, place), math.dist(second, place)
    found = crossings(first, lengths[0], second, lengths[1])
    assert len(found) == 2
    for at in found:
        assert math.dist(first, at) == pytest.approx(lengths[0], abs=1e-9)
        assert math.dist(second, at) == pytest.approx(lengths[1], abs=1e-9)
    assert min(math.dist(at, place) for at in found) < 1e-6
    # the cross product of the way and the step to a place is positive where it lies to the left
    way = np.subtract(second, first)
    sides = [float(np.linalg.det([way, np.subtract(at, first)])) for at in found]
    assert sides[0] > 0 > sides[1]
    assert miss(first, lengths[0], second, lengths[1]) == pytest.approx(0.0, abs=1e-9)


def test_tapes_that_are_just_long_enough_meet_in_one_place():
    assert crossings((0.0, 0.0), 4.0, (10.0, 0.0), 6.0) == [(4.0, 0.0)]


@pytest.mark.parametrize(
    ("lengths", "short"), [((3.0, 4.0), 3.0), ((16.0, 4.0), 2.0), ((4.0, 16.0), 2.0)]
)
def test_tapes_that_are_too_short_or_one_too_long_do_not_meet(lengths, short):
    # circles about (0, 0) and (10, 0): apart by 10 - 3 - 4; one inside the other by 16 - 10 - 4
    points = (0.0, 0.0), (10.0, 0.0)
    assert crossings(points[0], lengths[0], points[1], lengths[1]) == []
    assert miss(points[0], lengths[0], points[1], lengths[1]) == pytest.approx(short)


def test_nothing_crosses_about_one_and_the_same_point():
    assert crossings((2.0, 3.0), 5.0, (2.0, 3.0), 5.0) == []
    assert miss((2.0, 3.0), 5.0, (2.0, 3.0), 7.0) == 2.0


@pytest.mark.parametrize("case", CASES[:10])
def test_true_tapes_find_the_place_that_they_were_drawn_to(case):
    points = [case[:2], case[2:4], (40.0, -35.0), (-33.0, 38.0)]
    place, worst = best_place(points, [math.dist(point, case[4:]) for point in points])
    assert place == pytest.approx(case[4:], abs=1e-5)
    assert worst < 1e-5


def test_tapes_that_disagree_say_by_how_much():
    # from the corners of a square of 8 to its middle, one of them half too long
    corners = [(0.0, 0.0), (8.0, 0.0), (8.0, 8.0), (0.0, 8.0)]
    half = math.hypot(4.0, 4.0)
    (x, y), worst = best_place(corners, [half + 0.5, half, half, half])
    off = [math.dist(corner, (x, y)) - half for corner in corners]
    off[0] -= 0.5
    assert worst == pytest.approx(max(map(abs, off)))
    assert x == pytest.approx(y, abs=1e-6)
    # least squares: no place around it has a smaller sum
    for dx, dy in ((0.01, 0.0), (-0.01, 0.0), (0.0, 0.01), (0.0, -0.01)):
        other = [math.dist(corner, (x + dx, y + dy)) - half for corner in corners]
        other[0] -= 0.5
        assert math.fsum(v * v for v in other) > math.fsum(v * v for v in off)


def test_tapes_that_never_meet_still_have_a_best_place():
    (x, y), worst = best_place([(0.0, 0.0), (10.0, 0.0), (5.0, 0.0)], [4.0, 4.0, 0.0])
    assert (x, y) == pytest.approx((5.0, 0.0), abs=0.5)
    assert worst == pytest.approx(1.0, abs=0.5)


@pytest.mark.parametrize("case", CASES[:10])
def test_along_and_off_is_undone_by_the_dot_and_the_cross_product(case):
    start, end, (along, off) = case[:2], case[2:4], case[4:]
    step = np.subtract(along_and_off(start, end, along, off), start)
    way = np.subtract(end, start) / math.dist(start, end)
    assert float(way @ step) == pytest.approx(along, abs=1e-9)
    assert float(way[0] * step[1] - way[1] * step[0]) == pytest.approx(off, abs=1e-9)
