"""Water under a coil by the second opinion, beside ponds whose bottom is a cone or a plane."""

from __future__ import annotations

import math
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from shapely import Point

from siteplan.checks.pond_depth import gauge_of, water_over
from siteplan.site.model import Feature

SQUARE = shapely.box(0, 0, 60, 60)


def pond(shape=SQUARE, *, depth_m=4.0, slope=3.0, drawdown_m=0.0, contours=(), soundings=()):
    survey = SimpleNamespace(
        side_slope=slope, drawdown_m=drawdown_m, soundings=tuple(soundings), shore_entries=()
    )
    return SimpleNamespace(
        id="P", kind="pond", shape=shape, depth_m=depth_m, survey=survey, contours=tuple(contours)
    )


@pytest.mark.parametrize(
    ("off_m", "reach_m", "deep_m"),
    # sides of 3 to 1 down to 4 m, which they reach 12 m from the shore
    [(20, 0, 4.0), (12, 0, 4.0), (9, 0, 3.0), (9, 1.5, 2.5), (3, 0, 1.0), (3, 3, 0.0), (1, 2, 0.0)],
)
def test_the_bottom_falls_from_the_shore_by_its_slope_to_its_full_depth(off_m, reach_m, deep_m):
    found = gauge_of(pond()).least(Point(off_m, 30), reach_m)
    assert found == pytest.approx(deep_m)


@pytest.mark.parametrize("slope", [0.5, 2.0, 5.0])
def test_steeper_sides_are_deep_nearer_to_the_shore(slope):
    found = gauge_of(pond(slope=slope)).least(Point(4, 30), 0.0)
    assert found == pytest.approx(min(4.0, 4.0 / slope))


def test_a_drawdown_takes_its_height_off_and_no_water_is_left_below_nothing():
    assert gauge_of(pond(drawdown_m=1.5)).least(Point(30, 30), 1.0) == pytest.approx(2.5)
    assert gauge_of(pond(drawdown_m=9.0)).least(Point(30, 30), 1.0) == 0.0


def test_there_is_no_water_outside_the_pond():
    assert gauge_of(pond()).least(Point(70, 30), 1.0) == 0.0


def contour(depth_m, shape):
    return SimpleNamespace(depth_m=depth_m, shape=shape)


def test_between_shore_and_contour_the_depth_is_that_of_a_plane():
    # contours of 2 m and of 4 m, 10 m and 20 m from the shore all round: 0.2 m a metre
    deep = pond(contours=[contour(2.0, SQUARE.buffer(-10)), contour(4.0, SQUARE.buffer(-20))])
    gauge = gauge_of(deep)
    for x in (2.5, 5.0, 8.0, 12.0, 17.0):
        assert gauge.least(Point(x, 30), 0.0) == pytest.approx(0.2 * x, abs=0.02)
    # the least under something round lies on the side of the shore
    assert gauge.least(Point(12, 30), 3.0) == pytest.approx(0.2 * 9, abs=0.03)
    # nothing is known to be deeper than what was measured
    assert gauge.least(Point(30, 30), 2.0) == pytest.approx(4.0)


def test_one_sounding_in_the_middle_makes_a_cone():
    middle = SimpleNamespace(at=Point(30, 30), depth_m=6.0)
    gauge = gauge_of(pond(soundings=[middle]))
    assert gauge.least(Point(30, 30), 0.0) == pytest.approx(6.0)
    # half the way to the middle of a side: half as deep
    assert gauge.least(Point(15, 30), 0.0) == pytest.approx(3.0, abs=0.05)
    assert gauge.least(Point(45, 30), 0.0) == pytest.approx(3.0, abs=0.05)


@pytest.mark.parametrize("seed", range(8))
def test_measured_places_are_joined_to_triangles_with_no_other_place_in_their_circles(seed):
    """B. Delaunay 1934; together they fill the hull of all places, and none lies on another."""
    chance = np.random.default_rng(seed)
    corners = [
        (30 + 25 * math.cos(a), 30 + 25 * math.sin(a)) for a in (0.3 + seed, 1.7 + seed, 4 + seed)
    ]
    # one beside the first corner, which is nearer to that than any place on the shore
    beside = (0.99 * corners[0][0] + 0.01 * 30, 0.99 * corners[0][1] + 0.01 * 30)
    at = [*chance.uniform(15, 45, (9, 2)), beside]
    sounded = [SimpleNamespace(at=Point(place), depth_m=2.0) for place in at]
    gauge = gauge_of(pond(shapely.Polygon(corners), soundings=sounded))
    triangles = np.array([shapely.get_coordinates(plane)[:3] for plane in gauge.planes])
    places = np.unique(triangles.reshape(-1, 2), axis=0)
    hull = shapely.MultiPoint([*places, *(one.at for one in sounded)]).convex_hull
    assert sum(plane.area for plane in gauge.planes) == pytest.approx(hull.area)
    assert shapely.union_all(gauge.planes).area == pytest.approx(hull.area)
    for three in triangles:
        # the middle of the circle lies as far from all three: two linear equations
        middle = np.linalg.solve(
            2 * (three[1:] - three[0]), (three[1:] ** 2).sum(axis=1) - (three[0] ** 2).sum()
        )
        radius = math.dist(middle, three[0])
        assert np.hypot(*(places - middle).T).min() > radius - 1e-6


def test_a_shoal_within_a_contour_is_no_deeper_than_what_lies_round_it():
    ring = shapely.box(10, 10, 50, 50).difference(shapely.box(25, 25, 35, 35))
    shoal = pond(contours=[contour(1.0, SQUARE.buffer(-5)), contour(3.0, ring)])
    assert gauge_of(shoal).least(Point(30, 30), 1.0) <= 1.0 + 1e-9
    assert gauge_of(shoal).least(Point(17, 30), 1.0) > 2.0


def test_a_shoal_with_no_contour_around_it_may_reach_the_surface():
    ring = shapely.box(10, 10, 50, 50).difference(shapely.box(25, 25, 35, 35))
    assert gauge_of(pond(contours=[contour(3.0, ring)])).least(Point(30, 30), 1.0) == 0.0


def test_over_a_coil_its_own_height_is_no_water():
    here = pond()
    options = SimpleNamespace(pond=SimpleNamespace(height_m=0.5))
    site = SimpleNamespace(of_kind=lambda _: [here], exchanger=options)
    assert water_over(Point(30, 30), 1.0, site) == ("P", pytest.approx(3.5))
    assert water_over(Point(90, 30), 1.0, site) == ("", 0.0)
    assert math.isclose(water_over(Point(1.5, 30), 0.0, site)[1], 0.0, abs_tol=1e-9)


def test_a_feature_of_the_site_is_gauged_like_this_one():
    known = Feature("p", "pond", SQUARE, depth_m=4.0)
    assert gauge_of(known).least(Point(30, 30), 1.0) == pytest.approx(4.0)
