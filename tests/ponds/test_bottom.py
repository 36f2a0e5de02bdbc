"""The bottom of a pond: what is known of its depth, and where it is as deep as asked."""

from __future__ import annotations

import math

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.interpolate import LinearNDInterpolator
from shapely import Point, Polygon, affinity, box

from siteplan.checks.pond_depth import gauge_of
from siteplan.ponds.bottom import (
    SlopedBottom,
    bottom_of,
    least_depth,
    levels,
    volume_m3,
    well_inside,
)
from siteplan.site.model import Feature
from siteplan.site.pond_survey import DepthContour, PondSurvey, Sounding, point_step

COIL_M = 0.8
"""Radius of a coil that is moved about [m]."""


def pond_of(shore, contours=(), soundings=(), **survey):
    """A pond with depth contours (depth, area) and soundings (x, y, depth)."""
    rings = tuple(
        DepthContour(depth, shape) for depth, shape in sorted(contours, key=lambda c: c[0])
    )
    spots = tuple(
        Sounding(f"S{nth}", Point(x, y), depth) for nth, (x, y, depth) in enumerate(soundings, 1)
    )
    depth = survey.pop("depth", None)
    return Feature(
        "pond", "pond", shore, depth_m=depth, contours=rings, survey=PondSurvey(spots, **survey)
    )


@st.composite
def surveyed(draw):
    """A pond of any outline with soundings in a square grid or anywhere, and a contour or none."""
    count = draw(st.integers(5, 11))
    radii = [draw(st.integers(12, 30)) for _ in range(count)]
    shore = Polygon(
        (r * math.cos(math.tau * n / count), r * math.sin(math.tau * n / count))
        for n, r in enumerate(radii)
    )
    whole = st.integers(-24, 24)
    step = draw(st.sampled_from((0, 4)))
    places = (
        [(x, y) for x in range(-20, 21, 8) for y in range(-20, 21, 8)]
        if step
        else draw(st.lists(st.tuples(whole, whole), min_size=1, max_size=12, unique=True))
    )
    deep = st.integers(1, 12)
    spots = [(x, y, draw(deep) / 2) for x, y in places if shore.contains(Point(x, y))]
    inner = shore.buffer(-draw(st.integers(2, 8)))
    contours = [(2.0, inner)] if draw(st.booleans()) and isinstance(inner, Polygon) else []
    if not spots and not contours:
        spots = [(0, 0, 4.0)]
    return pond_of(shore, contours, spots, drawdown_m=draw(st.sampled_from((0.0, 0.4))))


def test_a_round_pond_with_one_sounding_holds_what_a_cone_does():
    # a third of base times height
    shore = Point(0, 0).buffer(20, quad_segs=32)
    bottom = bottom_of(pond_of(shore, soundings=[(0, 0, 6.0)]))
    assert volume_m3(bottom, 200) == pytest.approx(shore.area * 6.0 / 3, rel=1e-4)
    assert bottom.area_m2(3.0) == pytest.approx(shore.area / 4)
    assert bottom.at_least(3.0).area == pytest.approx(shore.area / 4, rel=1e-6)


def test_between_two_contours_the_volume_is_that_of_a_frustum():
    # h/3 (A + a + sqrt(A a)); of circles, as at corners of the shore nothing is known to be deep
    shore, ring = Point(0, 0).buffer(20, quad_segs=32), Point(0, 0).buffer(10, quad_segs=32)
    bottom = bottom_of(pond_of(shore, [(3.0, ring)]))
    outer, inner = shore.area, ring.area
    frustum = 3 / 3 * (outer + inner + math.sqrt(outer * inner))
    assert volume_m3(bottom, 300) == pytest.approx(frustum, rel=1e-3)
    assert bottom.deepest_m == 3.0


def test_sides_fall_at_their_slope():
    # 3 out for 1 down, 3 m deep: a flat bottom of 40 - 2 x 9 by 30 - 2 x 9
    bottom = SlopedBottom(box(0, 0, 40, 30), 3.0, 3.0)
    assert bottom.area_m2(3.0) == pytest.approx(22 * 12)
    assert bottom.depths(np.array([[20.0, 3.0], [20.0, 15.0], [50.0, 0.0]])).tolist() == [
        1.0,
        3.0,
        0.0,
    ]
    # too narrow for its depth: 10 m across, where the sides meet 5/3 m down
    assert SlopedBottom(box(0, 0, 10, 40), 3.0, 3.0).deepest_m == pytest.approx(5 / 3, rel=1e-3)


def test_low_water_takes_the_same_from_every_depth_and_draws_the_shore_in():
    spots = [(0, 0, 6.0)]
    full = bottom_of(pond_of(box(-20, -20, 20, 20), soundings=spots))
    low = bottom_of(pond_of(box(-20, -20, 20, 20), soundings=spots, drawdown_m=1.5))
    assert low.deepest_m == full.deepest_m - 1.5
    assert low.shore.equals_exact(full.at_least(1.5), 1e-9)
    assert low.area_m2(2.0) == pytest.approx(full.area_m2(3.5))


def test_within_a_ring_the_water_counts_no_deeper_than_outside_of_it():
    ring = box(-15, -15, 15, 15).difference(box(-5, -5, 5, 5))
    pond = pond_of(box(-20, -20, 20, 20), [(4.0, ring), (2.0, box(-17, -17, 17, 17))])
    bottom = bottom_of(pond)
    assert bottom.depths(np.array([[0.0, 0.0], [10.0, 0.0]])).tolist() == [2.0, 4.0]
    assert not bottom.at_least(3.0).intersects(Point(0, 0))
    assert gauge_of(pond).least(Point(0, 0), 1.0) == 2.0


def test_depths_are_those_of_a_general_library():
    # scipy.interpolate.LinearNDInterpolator over the same points, which are in general position
    rng = np.random.default_rng(7)
    spots = [
        (x, y, d)
        for x, y, d in zip(*rng.uniform((-15, -15, 1), (15, 15, 6), (30, 3)).T, strict=True)
    ]
    shore = Point(0, 0).buffer(24.3, quad_segs=5)
    bottom = bottom_of(pond_of(shore, soundings=spots))
    step = point_step(shore.length)
    rim = shapely.get_coordinates(shapely.segmentize(shore.exterior, step))[:-1]
    known = np.vstack((rim, [(x, y) for x, y, _ in spots]))
    linear = LinearNDInterpolator(known, [0.0] * len(rim) + [d for *_, d in spots])
    places = rng.uniform(-14, 14, (300, 2))
    assert bottom.depths(places) == pytest.approx(linear(places), abs=1e-9)


@given(surveyed())
@settings(max_examples=several(8, 40))
def test_nothing_is_deeper_than_was_measured_and_the_shore_is_dry(pond):
    bottom = bottom_of(pond)
    low, high = pond.shape.bounds[:2], pond.shape.bounds[2:]
    places = np.random.default_rng(1).uniform(low, high, (60, 2))
    depths = bottom.depths(places)
    assert depths.min() >= 0.0
    assert depths.max() <= bottom.deepest_m + 1e-9
    corners = shapely.get_coordinates(pond.shape)
    assert bottom.depths(corners).max() <= 1e-9


@given(surveyed(), st.integers(2, 10))
@settings(max_examples=several(5, 60))
def test_no_coil_lies_where_another_measure_finds_less_water(pond, halves):
    wanted = halves / 2
    bottom = bottom_of(pond)
    deep = well_inside(bottom.at_least(wanted), COIL_M)
    gauge = gauge_of(pond)
    for place in shapely.get_coordinates(deep)[:40]:
        found = gauge.least(Point(place), COIL_M)
        assert found >= wanted - 1e-6
        assert least_depth(bottom, tuple(place), COIL_M) >= wanted - 1e-6


@given(surveyed(), st.floats(0, 360))
@settings(max_examples=several(6, 30))
def test_turning_a_pond_changes_nothing(pond, degrees):
    def turned(shape):
        return affinity.rotate(shape, degrees, origin=(3, 4))

    spots = [(*turned(each.at).coords[0], each.depth_m) for each in pond.survey.soundings]
    rings = [(each.depth_m, turned(each.shape)) for each in pond.contours]
    other = pond_of(turned(pond.shape), rings, spots, drawdown_m=pond.survey.drawdown_m)
    first, second = bottom_of(pond), bottom_of(other)
    for depth in (0.43, 1.17, 2.61):  # none that was measured: a flat stretch is all in or all out
        # in a grid of soundings the shallowest division counts, however it is turned; rounding of
        # a side's length may set one point more on it
        assert second.at_least(depth).area == pytest.approx(first.at_least(depth).area, abs=0.5)


def test_levels_run_from_the_whole_pond_to_nothing():
    bottom = bottom_of(pond_of(box(-20, -20, 20, 20), [(3.0, box(-10, -10, 10, 10))]))
    found = levels(bottom)
    areas = [level.area_m2 for level in found]
    assert areas == sorted(areas, reverse=True)
    assert found[0].area_m2 == 1600
    assert found[-1].below_m3 == 0.0


def test_no_place_of_known_depth_lies_in_the_circle_of_a_triangle_of_the_check():
    # Delaunay 1934; on this shore GEOS 3.14 passes over points of the straight side from (-20, 0)
    radii = (12, 12, 12, 12, 20, 27, 12, 12)
    shore = Polygon(
        (r * math.cos(math.tau * n / 8), r * math.sin(math.tau * n / 8))
        for n, r in enumerate(radii)
    )
    pond = pond_of(shore, soundings=[(-12, -4, 1.5), (-4, -4, 0.5), (-4, 4, 0.5), (-12, 4, 0.5)])
    places = bottom_of(pond).triangles.places
    planes = gauge_of(pond).planes
    assert shapely.union_all(planes).area == pytest.approx(
        shapely.convex_hull(shore).area, rel=1e-9
    )
    for plane in planes:
        corners = shapely.get_coordinates(plane)[:3]
        sides = 2 * (corners[1:] - corners[0])
        squares = (corners[1:] ** 2).sum(axis=1) - (corners[0] ** 2).sum()
        middle = np.linalg.solve(sides, squares)
        radius = np.hypot(*(corners[0] - middle))
        assert np.hypot(*(places - middle).T).min() >= radius * (1 - 1e-9)
