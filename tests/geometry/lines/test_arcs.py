"""Arcs found again in lines whose bends are drawn with chords."""

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, box

from siteplan.geometry.lines.arcs import Arc, Straight, arcs_of
from siteplan.layout.trenches.fit import fit_trenches


def chords(centre, radius, start_deg, turn_deg, count):
    """Points of an arc drawn with chords, from its start."""
    angles = np.radians(start_deg + turn_deg * np.arange(count + 1) / count)
    return [(centre[0] + radius * math.cos(a), centre[1] + radius * math.sin(a)) for a in angles]


def sampled(piece, count=60):
    """Points along a piece, reckoned from its own figures."""
    if isinstance(piece, Straight):
        ends = np.array([piece.start, piece.end])
        return [tuple(ends[0] + (ends[1] - ends[0]) * k / count) for k in range(count + 1)]
    x, y = piece.start[0] - piece.centre[0], piece.start[1] - piece.centre[1]
    start_deg = math.degrees(math.atan2(y, x))
    return chords(piece.centre, piece.radius_m, start_deg, piece.turn_deg, count)


def test_a_rounded_corner_is_an_arc_between_two_straights():
    # Quarter circle of 1.5 m about (10, 1.5), from (10, 0) to (11.5, 1.5): 1.5 x pi / 2 = 2.356 m.
    line = LineString([(0, 0), *chords((10, 1.5), 1.5, -90, 90, 12), (11.5, 9)])
    first, arc, last = arcs_of(line)
    assert first == Straight((0, 0), pytest.approx((10, 0)))
    assert (arc.start, arc.end) == (pytest.approx((10, 0)), pytest.approx((11.5, 1.5)))
    assert arc.centre == pytest.approx((10, 1.5), abs=1e-9)
    assert arc.turn_deg == pytest.approx(90.0)
    assert arc.length_m == pytest.approx(2.356, abs=5e-4)
    assert last.end == (11.5, 9)


def test_an_arc_to_the_right_turns_by_less_than_nothing():
    (arc,) = arcs_of(LineString(chords((0, 0), 2.0, 180, -120, 20)))
    assert arc.turn_deg == pytest.approx(-120.0)
    assert arc.radius_m == pytest.approx(2.0)


def test_an_arc_of_more_than_half_a_circle_keeps_its_centre():
    (arc,) = arcs_of(LineString(chords((5, 5), 3.0, 30, 250, 60)))
    assert arc.centre == pytest.approx((5, 5))
    assert arc.turn_deg == pytest.approx(250.0)


def test_a_full_circle_is_given_in_parts_that_add_up_to_it():
    pieces = arcs_of(LineString(chords((0, 0), 4.0, 0, 360, 90)))
    assert all(isinstance(piece, Arc) for piece in pieces)
    assert sum(piece.turn_deg for piece in pieces) == pytest.approx(360.0)


def test_a_plain_corner_stays_a_corner():
    line = LineString([(0, 0), (20, 0), (20, 10)])
    assert arcs_of(line) == (Straight((0, 0), (20, 0)), Straight((20, 0), (20, 10)))


def test_long_sides_that_turn_a_little_are_no_arc():
    # 10 m sides on a circle of 40 m: the middle of a chord lies 10^2 / (8 x 40) = 0.31 m inside.
    line = LineString(chords((0, 0), 40.0, 0, 57.3, 4))
    assert all(isinstance(piece, Straight) for piece in arcs_of(line))


@pytest.mark.parametrize(("x", "y"), [(0, 0), (-50, 0), (0, -50), (-50, -50), (50, 50)])
@pytest.mark.parametrize(("along", "up"), [(10, 0), (0, 10), (-10, -10)])
def test_points_a_little_off_a_straight_line_are_left_out(x, y, along, up):
    # 4 mm aside at the middle, wherever the line lies and wherever it leads
    middle = (x + along + 0.004 * (up != 0), y + up + 0.004 * (up == 0))
    line = LineString([(x, y), middle, (x + 2 * along, y + 2 * up)])
    assert arcs_of(line) == (Straight((x, y), (x + 2 * along, y + 2 * up)),)


def test_a_circle_wider_than_asked_for_stays_chords():
    line = LineString(chords((0, 0), 30.0, 0, 60, 90))
    assert isinstance(arcs_of(line)[0], Arc)
    assert all(isinstance(one, Straight) for one in arcs_of(line, most_radius_m=25.0))


def test_an_s_is_two_arcs_that_turn_against_each_other():
    there = chords((0, 2), 2.0, -90, 90, 16)
    back = chords((4, 2), 2.0, 180, -90, 16)
    one, other = arcs_of(LineString([*there, *back[1:]]))
    assert (one.turn_deg, other.turn_deg) == (pytest.approx(90), pytest.approx(-90))


def test_a_ring_of_a_trench_is_staked_by_eight_pieces():
    # 22.5 x 18.5 m with corners of 1.5 m: four sides and four bends; the ring begins within a bend.
    ring = fit_trenches(box(0, 0, 22.5, 18.5), 3.0, shortest=15.0, shape="best")[0]
    pieces = arcs_of(ring)
    assert len(ring.coords) > 60
    assert len(pieces) <= 10
    radii = [piece.radius_m for piece in pieces if isinstance(piece, Arc)]
    assert radii == pytest.approx([1.5] * 4, abs=0.01)


@settings(max_examples=several(15, 60), deadline=None)
@given(
    st.lists(
        st.tuples(st.floats(0.5, 12.0), st.floats(15.0, 150.0), st.booleans(), st.floats(1.0, 8.0)),
        min_size=1,
        max_size=4,
    )
)
def test_pieces_join_and_stay_within_a_hair_of_the_line(bends):
    points, heading = [(0.0, 0.0), (3.0, 0.0)], 0.0
    for radius, turn, left, straight in bends:
        side = 1 if left else -1
        x, y = points[-1]
        centre = (
            x - side * radius * math.sin(heading),
            y + side * radius * math.cos(heading),
        )
        start = math.degrees(heading) - side * 90
        count = math.ceil(math.radians(turn) / (2 * math.acos(1 - 0.004 / radius))) + 1
        points += chords(centre, radius, start, side * turn, count)[1:]
        heading += side * math.radians(turn)
        x, y = points[-1]
        points.append((x + straight * math.cos(heading), y + straight * math.sin(heading)))
    line = LineString(points)
    pieces = arcs_of(line)
    assert pieces[0].start == points[0]
    assert pieces[-1].end == points[-1]
    assert all(one.end == other.start for one, other in pairwise(pieces))
    spots = shapely.points([spot for piece in pieces for spot in sampled(piece)])
    assert shapely.distance(spots, line).max() <= 0.02
    assert len(pieces) <= 2 * len(bends) + 1 + sum(turn < 30 for _, turn, _, _ in bends) * 4
