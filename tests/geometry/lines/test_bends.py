import math

import numpy as np
import pytest
from shapely import LineString, Point, box

from siteplan.geometry.lines.bends import (
    BendRule,
    around,
    begun_at,
    clashes,
    cut_to,
    is_closed,
    kept_apart,
    lawful_pieces,
    part_of,
)
from siteplan.geometry.tolerance import TOLERANCE

RULE = BendRule(3.0, 1.5)


def arc(radius, turn_deg, pieces=40):
    turns = np.radians(np.linspace(0.0, turn_deg, pieces + 1))
    return LineString(np.column_stack([radius * np.cos(turns), radius * np.sin(turns)]))


def ring(radius):
    points = list(arc(radius, 360.0).coords)[:-1]
    return LineString([*points, points[0]])


@pytest.mark.parametrize(("radius", "clash"), [(1.5, False), (4.0, False), (1.3, True)])
def test_a_circle_clashes_where_it_is_tighter_than_the_bend_allowed(radius, clash):
    assert clashes(ring(radius), RULE) is clash
    assert clashes(arc(radius, 170.0), RULE) is clash


def test_legs_nearer_than_the_spacing_clash():
    def hairpin(gap):
        turns = np.radians(np.linspace(-90.0, 90.0, 33))
        bend = np.column_stack([20 + np.cos(turns) * gap / 2, np.sin(turns) * gap / 2])
        return LineString([(0, -gap / 2), *bend, (0, gap / 2)])

    assert not clashes(hairpin(3.0), RULE)
    assert clashes(hairpin(2.9), RULE)


def test_a_slight_corner_is_no_bend_and_a_sharp_one_is():
    def corner(turn_deg):
        turn = math.radians(turn_deg)
        return LineString([(-9, 0), (0, 0), (9 * math.cos(turn), 9 * math.sin(turn))])

    assert not clashes(corner(20.0), RULE)
    assert clashes(corner(45.0), RULE)


def test_a_lawful_ring_stays_closed_and_others_are_cut():
    assert lawful_pieces(ring(5.0), RULE, shortest_m=5.0) == [ring(5.0)]
    square = LineString(box(0, 0, 20, 20).exterior.coords)
    pieces = lawful_pieces(square, RULE, shortest_m=5.0)
    assert not any(is_closed(piece) for piece in pieces)
    assert all(
        first.distance(second) >= 3.0 - TOLERANCE
        for index, first in enumerate(pieces)
        for second in pieces[:index]
    )
    # Four sides of 20 m, each but the first a spacing from the corner, and the last from both.
    assert sum(piece.length for piece in pieces) == pytest.approx(80 - 4 * 3, abs=0.5)


def test_a_later_line_gives_way_to_an_earlier_one():
    first, second = LineString([(0, 0), (20, 0)]), LineString([(10, -9), (10, 9)])
    kept = kept_apart([first, second], 3.0, shortest_m=4.0)
    assert [line.length for line in kept] == pytest.approx([20, 6, 6])
    assert kept_apart([second], 3.0, shortest_m=7.0, others=[first]) == []


def test_pieces_of_a_ring_are_apart_and_lose_one_spacing_for_each_cut():
    whole = ring(10.0)
    pieces = cut_to(whole, 3.0, shortest_m=5.0, longest_m=20.0)
    assert all(piece.length <= 20.0 for piece in pieces)
    gaps = [a.distance(b) for i, a in enumerate(pieces) for b in pieces[:i]]
    assert min(gaps) >= 3.0 - TOLERANCE
    # 62.8 m in 3 pieces; a gap of 3 m on a bend of 10 m takes 20 asin(0.15) = 3.011 m of way.
    assert sum(piece.length for piece in pieces) == pytest.approx(whole.length - 9.03, abs=0.05)


def test_a_ring_begun_elsewhere_is_the_same_ring():
    whole = ring(10.0)
    turned = begun_at(whole, 7.3)
    assert is_closed(turned)
    assert turned.length == pytest.approx(whole.length)
    assert Point(turned.coords[0]).distance(whole.interpolate(7.3)) < 1e-9


def test_ground_around_a_line_has_no_cracks():
    # A ring of many small sides, on which rounding leaves slivers between the wedges.
    turned = begun_at(ring(31.7), 0.123456789)
    grown = around(turned, 3.0)
    assert len(grown.interiors) == 1
    assert turned.distance(grown.boundary) >= 3.0 - TOLERANCE


def test_a_ring_cut_once_has_ends_a_spacing_apart_also_around_a_bend():
    # Radius 3 m: a way of 3 m spans 57.3 degrees, a chord of 6 sin(28.65) = 2.877 m only; a chord
    # of 3 m spans 60 degrees, a way of pi = 3.142 m.
    around = ring(3.0)
    (piece,) = cut_to(around, 3.0, shortest_m=5.0, longest_m=18.0)
    apart = Point(piece.coords[0]).distance(Point(piece.coords[-1]))
    assert apart == pytest.approx(3.0, abs=1e-3)
    assert apart >= 3.0 - TOLERANCE
    assert piece.length == pytest.approx(around.length - math.pi, abs=0.02)


@pytest.mark.parametrize("beyond_m", [0.0, 1e-15, 1e-13, 1e-9])
def test_a_part_that_ends_at_a_corner_has_no_step_of_no_length(beyond_m):
    line = LineString([(0, 0), (10, 0), (10, 10), (20, 10)])
    for part in (part_of(line, 0.0, 10.0 + beyond_m), part_of(line, 20.0 - beyond_m, 30.0)):
        steps = np.hypot(*np.diff(np.array(part.coords), axis=0).T)
        assert steps.min() > 1.0
        assert part.length == pytest.approx(10.0)
