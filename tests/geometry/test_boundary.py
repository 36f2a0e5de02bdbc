import math

import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import Polygon, affinity

from siteplan.geometry.boundary import Course, Curve, arc_points, courses, outline_with_arcs

FT = 0.3048


def arc(center, radius, start_deg, end_deg, count):
    angles = np.radians(np.linspace(start_deg, end_deg, count + 1))
    return [(center[0] + radius * math.cos(a), center[1] + radius * math.sin(a)) for a in angles]


def curved_lot(count=24):
    """Frontage on a circle of 475 ft through 27 degrees, then three straight sides."""
    front = arc((0.0, 475 * FT), 475 * FT, 256.5, 283.5, count)
    return Polygon([*front, (35.0, 60.0), (-35.0, 55.0)])


def test_a_rectangle_has_four_courses_in_its_own_order():
    sides = courses(Polygon([(0, 0), (40, 0), (40, 30), (0, 30)]))
    assert [(type(side), side.length) for side in sides] == [
        (Course, 40.0), (Course, 30.0), (Course, 40.0), (Course, 30.0),
    ]  # fmt: skip


def test_a_vertex_on_a_straight_side_is_no_corner():
    sides = courses(Polygon([(0, 0), (13, 0), (40, 0), (40, 30), (0, 30), (0, 11)]))
    assert [side.length for side in sides] == [40.0, 30.0, 40.0, 30.0]


def test_short_chords_on_one_circle_become_a_curve_with_its_radius_length_delta_and_chord():
    curves = [side for side in courses(curved_lot()) if isinstance(side, Curve)]
    assert len(curves) == 1
    curve = curves[0]
    # L = R delta = 475 x 27 pi / 180 = 475 x 0.471239 = 223.8385 ft
    # C = 2 R sin(delta / 2) = 950 sin 13.5 deg = 950 x 0.2334454 = 221.7731 ft
    assert curve.radius / FT == pytest.approx(475.0, abs=0.005)
    assert curve.delta_deg == pytest.approx(27.0, abs=1e-4)
    assert curve.length / FT == pytest.approx(223.8385, abs=0.005)
    assert curve.chord / FT == pytest.approx(221.7731, abs=0.005)


def test_the_curve_is_found_wherever_the_ring_begins():
    ring = list(curved_lot().exterior.coords[:-1])
    for shift in range(0, len(ring), 5):
        sides = courses(Polygon(ring[shift:] + ring[:shift]))
        assert sum(isinstance(side, Curve) for side in sides) == 1
        assert len(sides) == 4


def test_the_curve_is_found_when_the_ring_runs_the_other_way():
    sides = courses(Polygon(list(curved_lot().exterior.coords)[::-1]))
    assert [side.radius / FT for side in sides if isinstance(side, Curve)] == [
        pytest.approx(475.0, abs=0.005)
    ]


def test_coordinates_rounded_to_centimetres_still_make_one_curve():
    ring = np.round(np.array(curved_lot(12).exterior.coords), 2)
    curves = [side for side in courses(Polygon(ring)) if isinstance(side, Curve)]
    assert [curve.radius / FT for curve in curves] == [pytest.approx(475.0, abs=3.0)]


def test_a_corner_rounded_by_many_chords_of_a_foot_is_one_curve():
    # R = 27.5 ft, 80 degrees in 40 chords of 2 R sin 1 deg = 0.96 ft, tangent sides
    rounding = arc((27.5 * FT, 27.5 * FT), 27.5 * FT, 180.0, 260.0, 40)
    lot = Polygon([(0.0, 80.0), *rounding, (60.0, -5.0), (60.0, 80.0)])
    curves = [side for side in courses(lot) if isinstance(side, Curve)]
    assert [curve.radius / FT for curve in curves] == [pytest.approx(27.5, abs=0.01)]
    assert curves[0].delta_deg == pytest.approx(80.0, abs=0.01)


def test_an_octagon_keeps_its_eight_corners():
    octagon = Polygon(arc((0, 0), 30.0, 0.0, 315.0, 7))
    assert [type(side) for side in courses(octagon)] == [Course] * 8


def test_an_irregular_stream_bank_is_no_curve():
    bank = [(0, 0), (6, -1.0), (12, 0.4), (18, -0.6), (24, 0.8), (30, 0)]
    sides = courses(Polygon([*bank, (30, 40), (0, 40)]))
    assert all(isinstance(side, Course) for side in sides)
    assert len(sides) == 8


@given(angle=st.floats(0.0, 360.0), x=st.floats(-5e3, 5e3), y=st.floats(-5e3, 5e3))
def test_moving_and_turning_the_parcel_changes_no_length(angle, x, y):
    lot = curved_lot()
    moved = affinity.translate(affinity.rotate(lot, angle, origin=(0, 0)), x, y)
    lengths = sorted(side.length for side in courses(lot))
    assert sorted(side.length for side in courses(moved)) == pytest.approx(lengths, abs=1e-4)


@given(st.integers(0, 10_000))
def test_courses_follow_the_ring_from_corner_to_corner(seed):
    points = np.random.default_rng(seed).uniform(0, 100, (9, 2))
    lot = shapely.convex_hull(shapely.MultiPoint(points))
    sides = courses(lot)
    for one, other in zip(sides, (*sides[1:], sides[0]), strict=True):
        assert one.end == pytest.approx(other.start)
    assert sum(math.dist(side.start, side.end) for side in sides) <= lot.length + 1e-6


@pytest.mark.parametrize("chords", [10, 60, 600, 6000])
def test_a_curve_is_one_however_finely_it_is_drawn(chords):
    # half a circle of 50 m on a rectangle of 100 m by 40 m: L = pi R, chord 2 R, delta 180 degrees
    angles = np.linspace(0, math.pi, chords + 1)
    arc = np.column_stack((50 + 50 * np.cos(angles), 40 + 50 * np.sin(angles)))
    parcel = Polygon(np.vstack([[(0, 0), (100, 0)], arc]))
    lines = [side for side in courses(parcel) if isinstance(side, Course)]
    [curve] = [side for side in courses(parcel) if isinstance(side, Curve)]
    assert sorted(round(line.length, 6) for line in lines) == [40, 40, 100]
    assert curve.radius == pytest.approx(50, abs=1e-6)
    assert curve.chord == pytest.approx(100, abs=1e-6)
    assert curve.delta_deg == pytest.approx(180, abs=1e-6)


def test_a_true_arc_is_drawn_as_one_and_a_countys_chords_as_they_are():
    # 1 mm of sag allows chords of 2 acos(1 - 0.001 / R); here 27 degrees in 60 are finer than that
    fine, coarse = curved_lot(60), curved_lot(8)
    corners, bulges = outline_with_arcs(fine)
    # two halves of one arc, three straight sides: the tangent of a quarter of each central angle
    assert len(corners) == 5
    assert [bulge for bulge in bulges if bulge] == pytest.approx(
        [math.tan(math.radians(27.0 / 2) / 4)] * 2, abs=1e-6
    )
    assert outline_with_arcs(coarse)[0] == tuple(coarse.exterior.coords[:-1])
    assert not any(outline_with_arcs(coarse)[1])


def test_the_arc_drawn_has_the_area_of_its_circle():
    corners, bulges = outline_with_arcs(Polygon(arc((3.0, 4.0), 20.0, 0.0, 360.0, 400)[:-1]))
    ring = [*corners, corners[0]]
    drawn = [
        point
        for start, end, bulge in zip(ring, ring[1:], bulges, strict=False)
        for point in arc_points(start, end, bulge)
    ]
    assert len(corners) <= 4
    # pi r^2, less what chords of a degree leave out: 2 pi^2 / 3 / 360^2
    assert Polygon(drawn).area == pytest.approx(math.pi * 400.0, rel=1e-4)


@pytest.mark.parametrize("turned", [1, -1])
def test_an_arc_turns_the_way_the_boundary_runs(turned):
    ring = list(curved_lot(60).exterior.coords)[::turned]
    bulges = [bulge for bulge in outline_with_arcs(Polygon(ring))[1] if bulge]
    assert len(bulges) == 2
    assert all(bulge * turned > 0 for bulge in bulges)


@pytest.mark.parametrize("turn_deg", range(0, 360, 45))
def test_an_arc_bulges_the_same_way_however_the_lot_is_turned(turn_deg):
    turned = affinity.rotate(curved_lot(60), turn_deg, origin=(7.0, -3.0))
    bulges = [bulge for bulge in outline_with_arcs(turned)[1] if bulge]
    assert bulges == pytest.approx([math.tan(math.radians(27.0 / 2) / 4)] * 2, abs=1e-6)
    # the other way round each bulges to the other side
    back = [bulge for bulge in outline_with_arcs(turned.reverse())[1] if bulge]
    assert back == pytest.approx([-bulge for bulge in bulges], abs=1e-6)
