"""Lines made of straights and arcs, drawn in chords and found again."""

from __future__ import annotations

import math
from itertools import pairwise

import numpy as np
import pytest
import shapely
from shapely import LineString

from siteplan.geometry.lines.arcs import Arc, Straight, arcs_of


def drawn(pieces, turn_deg=0.0):
    """Points of straights (a length) and arcs (radius, turn to the left), beginning at (0, 0)."""
    at, heading, points = np.zeros(2), math.radians(turn_deg), [np.zeros(2)]
    for piece in pieces:
        if isinstance(piece, float):
            at = at + piece * np.array([math.cos(heading), math.sin(heading)])
            points.append(at)
            continue
        radius, turn = piece[0], math.radians(piece[1])
        side = math.copysign(1.0, turn)
        centre = at + side * radius * np.array([-math.sin(heading), math.cos(heading)])
        for part in np.linspace(0, turn, max(4, math.ceil(abs(turn) / 0.04)))[1:]:
            angle = heading + part - side * math.pi / 2
            points.append(centre + radius * np.array([math.cos(angle), math.sin(angle)]))
        at, heading = points[-1], heading + turn
    return LineString(points)


WAYS = (
    [12.0, (3.0, 90.0), 8.0],
    [12.0, (3.0, -90.0), 8.0],
    [5.0, (2.0, 60.0), 6.0, (4.0, -120.0), 7.0],
    [9.0, (6.0, 180.0), 9.0, (6.0, -180.0), 9.0],
    [4.0, (2.5, 30.0), 3.0],
)


@pytest.mark.parametrize("turn_deg", [0.0, 33.0, 141.0])
@pytest.mark.parametrize("way", WAYS)
def test_arcs_and_straights_are_found_as_they_were_drawn(way, turn_deg):
    line = drawn(way, turn_deg)
    pieces = arcs_of(line)
    assert [isinstance(piece, Arc) for piece in pieces] == [isinstance(x, tuple) for x in way]
    for piece, made in zip(pieces, way, strict=True):
        if isinstance(piece, Straight):
            assert piece.length_m == pytest.approx(made, abs=1e-6)
        else:
            assert piece.radius_m == pytest.approx(made[0], abs=0.005)
            assert piece.turn_deg == pytest.approx(made[1], abs=0.3)
            assert piece.length_m == pytest.approx(made[0] * abs(math.radians(made[1])), abs=0.03)
    for before, after in pairwise(pieces):
        assert before.end == after.start
    assert pieces[0].start == line.coords[0]
    assert pieces[-1].end == line.coords[-1]


def test_a_mirror_turns_every_arc_the_other_way():
    line = drawn(WAYS[2])
    mirror = shapely.transform(line, lambda xy: xy * (1, -1))
    turns = [[p.turn_deg for p in arcs_of(x) if isinstance(p, Arc)] for x in (line, mirror)]
    assert turns[1] == pytest.approx([-turn for turn in turns[0]])


def test_an_arc_that_is_too_wide_or_turns_too_little_stays_straight():
    line = drawn([5.0, (40.0, 60.0), 5.0])
    assert any(isinstance(piece, Arc) for piece in arcs_of(line, most_radius_m=41.0))
    assert not any(isinstance(piece, Arc) for piece in arcs_of(line, most_radius_m=39.0))
    flat = drawn([5.0, (40.0, 4.0), 5.0])
    assert not any(isinstance(piece, Arc) for piece in arcs_of(flat))


def test_points_on_a_straight_line_and_a_corner_are_two_straights():
    pieces = arcs_of(LineString([(0, 0), (3, 0.004), (6, 0), (6, 2), (6, 5)]))
    assert [type(piece) for piece in pieces] == [Straight, Straight]
    assert [piece.end for piece in pieces] == [(6.0, 0.0), (6.0, 5.0)]


def test_a_line_that_comes_back_on_itself_is_not_one_straight():
    pieces = arcs_of(LineString([(0, 0), (8, 0), (3, 0)]))
    assert [piece.length_m for piece in pieces] == [8.0, 5.0]


def test_three_hundred_degrees_are_given_as_more_than_one_arc():
    arcs = [piece for piece in arcs_of(drawn([6.0, (4.0, 300.0)])) if isinstance(piece, Arc)]
    assert len(arcs) > 1
    assert sum(arc.turn_deg for arc in arcs) == pytest.approx(300.0, abs=8.0)
    # all but half a chord at either end
    assert all(arc.turn_deg <= 270.0 + math.degrees(0.05) for arc in arcs)
