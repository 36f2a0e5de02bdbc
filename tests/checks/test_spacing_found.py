"""Spacing of bores and trenches measured again: what is too near is found, and nothing else."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
from shapely import LineString

from siteplan.checks.spacing import apart, spacing_findings
from siteplan.layout.elements import Bore, Coil, Trench
from siteplan.layout.model import Layout

SPACING = 5.0


def site(**vertical):
    bores = SimpleNamespace(spacing_m=SPACING, apart_m=SPACING, pad=None, **vertical)
    trenches = SimpleNamespace(spacing_m=SPACING)
    wanted = SimpleNamespace(vertical=bores, horizontal=trenches, pond=SimpleNamespace(apart_m=2.0))
    return SimpleNamespace(exchanger=wanted)


def bore(name, x, y, depth=60.0, tilt=0.0, azimuth=0.0):
    return Bore(name, x, y, 0.15, depth, tilt_deg=tilt, azimuth_deg=azimuth)


def found(elements, system):
    layout = Layout(system, tuple(elements), None, SPACING, 0.0)
    return list(spacing_findings(site(), layout))


@pytest.mark.parametrize("seed", range(6))
def test_of_bores_by_chance_every_pair_that_is_too_near_is_told_with_its_distance(seed):
    spots = np.random.default_rng(seed).uniform(0, 25, (14, 2))
    told = found((bore(f"B{n}", x, y) for n, (x, y) in enumerate(spots)), "vertical")
    near = {
        (f"B{a}", f"B{b}"): math.dist(spots[a], spots[b])
        for a in range(14)
        for b in range(a + 1, 14)
        if math.dist(spots[a], spots[b]) < SPACING
    }
    assert {(one.subject, one.values["other"]) for one in told} == set(near)
    for one in told:
        assert one.measured_m == pytest.approx(near[one.subject, one.values["other"]])
        assert one.required_m == SPACING


def test_bores_just_as_far_apart_as_asked_are_right_and_a_millimetre_less_is_not():
    assert not found([bore("B1", 0, 0), bore("B2", 3, 4)], "vertical")
    assert len(found([bore("B1", 0, 0), bore("B2", 3, 3.998)], "vertical")) == 1


@pytest.mark.parametrize(("apart", "right"), [(5.1, True), (5.0, True), (4.9, False), (3.9, False)])
def test_coils_are_measured_from_edge_to_edge_whatever_their_sizes(apart, right):
    # circles of 4 m and 2 m across, 2 m between them: 5 m from centre to centre
    wide = Coil("C1", 0.0, 0.0, 4.0, 100.0, 3.0, "P")
    small = Coil("C2", 0.6 * apart, 0.8 * apart, 2.0, 80.0, 3.0, "P")
    for pair in ((wide, small), (small, wide)):
        told = found(pair, "pond")
        assert (not told) is right
        assert [one.measured_m for one in told] == pytest.approx([apart - 3.0] * len(told))


def test_leaning_bores_whose_collars_stand_just_as_near_as_asked_are_right():
    pair = [bore("B1", 0, 0, 60, 10, 270), bore("B2", 3, 4, 60, 10, 90)]
    assert not found(pair, "vertical")
    assert found([pair[0], bore("B2", 3, 3.998, 60, 10, 90)], "vertical")


@pytest.mark.parametrize(("turn_deg", "right"), [(20, True), (150, False)])
def test_one_corner_alone_is_judged_as_a_bend(turn_deg, right):
    turn = math.radians(turn_deg)
    corner = [(-15, 0), (0, 0), (15 * math.cos(turn), 15 * math.sin(turn))]
    told = {one.code for one in found(lines(corner), "horizontal")}
    assert ("bends-too-sharply" not in told) is right


def lines(*coordinates):
    return [Trench(f"T{n}", LineString(line), 0.6, 1.5, 2) for n, line in enumerate(coordinates)]


def test_trenches_are_measured_between_their_nearest_places():
    # from (10, 0) to (13, 1)
    told = found(lines([(0, 0), (10, 0)], [(13, 9), (13, 1), (20, -8)]), "horizontal")
    # (its corner is a bend too, and a sharp one)
    near = [one.measured_m for one in told if one.code == "spacing"]
    assert near == [pytest.approx(math.sqrt(10))]
    assert not found(lines([(0, 0), (10, 0)], [(0, 5), (10, 5)]), "horizontal")


def hairpin(radius, turn_deg=180.0):
    angles = np.linspace(-90.0, -90.0 + turn_deg, 60)
    bend = [
        (20 + radius * math.cos(math.radians(a)), radius + radius * math.sin(math.radians(a)))
        for a in angles
    ]
    return LineString([(0, 0), *bend, (0, 2 * radius)])


@pytest.mark.parametrize("radius", [2.5, 3.0, 6.0])
def test_a_turn_of_half_the_spacing_or_wider_is_right(radius):
    assert not found([Trench("T1", hairpin(radius), 0.6, 1.5, 2)], "horizontal")


@pytest.mark.parametrize("radius", [1.0, 2.0, 2.4])
def test_a_sharper_turn_comes_back_too_near(radius):
    (one,) = found([Trench("T1", hairpin(radius), 0.6, 1.5, 2)], "horizontal")
    assert one.code == "bends-too-sharply"
    assert one.measured_m < SPACING
    assert one.required_m == SPACING


def test_a_ring_is_as_wide_as_the_spacing_or_too_narrow():
    for radius, right in ((2.55, True), (2.0, False)):
        angles = np.radians(np.linspace(0, 360, 121))
        ring = np.column_stack([radius * np.cos(angles), radius * np.sin(angles)])
        ring[-1] = ring[0]
        told = found([Trench("T1", LineString(ring), 0.6, 1.5, 2)], "horizontal")
        assert (not told) is right


@pytest.mark.parametrize("seed", range(10))
def test_inclined_bores_are_as_far_apart_as_many_places_along_them(seed):
    chance = np.random.default_rng(seed)
    bores = [
        bore(
            name,
            *chance.uniform(-6, 6, 2),
            depth=float(chance.uniform(30, 70)),
            tilt=float(chance.uniform(0, 25)),
            azimuth=float(chance.uniform(0, 360)),
        )
        for name in ("B1", "B2")
    ]

    def places(one, depths):
        tilt, way = math.radians(one.tilt_deg), math.radians(one.azimuth_deg)
        out = math.sin(tilt)
        step = np.array([out * math.sin(way), out * math.cos(way), -math.cos(tilt)])
        return np.array([one.x_m, one.y_m, 0.0]) + np.multiply.outer(depths, step)

    least, mean = apart(*bores)
    shorter, longer = sorted(one.depth_m for one in bores)
    # both as long as the longer one: on the side of safety
    depths = np.linspace(0, longer, 1200)
    between = places(bores[0], depths)[:, None] - places(bores[1], depths)[None]
    drawn = float(np.sqrt((between**2).sum(axis=-1)).min())
    assert drawn - 0.1 < least <= drawn + 1e-9
    same = np.linspace(0, shorter, 4001)
    gaps = np.linalg.norm(places(bores[0], same) - places(bores[1], same), axis=-1)
    assert mean == pytest.approx(float(np.trapezoid(gaps, same)) / shorter, rel=1e-5)


def test_two_bores_that_lean_towards_each_other_are_too_near_below():
    pair = [bore("B1", 0, 0, tilt=10, azimuth=90), bore("B2", 8, 0, tilt=10, azimuth=270)]
    codes = {one.code for one in found(pair, "vertical")}
    # they cross where each has gone 4 m aside, long before their ends; their mean is what is left
    assert "spacing" in codes
    away = [bore("B1", 0, 0, tilt=10, azimuth=270), bore("B2", 8, 0, tilt=10, azimuth=90)]
    assert not found(away, "vertical")
