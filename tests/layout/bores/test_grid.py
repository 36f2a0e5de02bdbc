"""A grid typed by hand: exactly where it was put, or where it has the shortest header."""

import math

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import Point, affinity, box
from wording import in_words

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.grid import fitted_grid, stands, typed_places
from siteplan.layout.bores.upright import lay_out_bores
from siteplan.layout.model import Ground
from siteplan.site.bore_grid import BoreGrid
from siteplan.site.model import Entry, VerticalOptions
from siteplan.units.lengths import FOOT


def ground(area, *entries):
    doors = tuple(Entry(f"E{k}", Point(xy)) for k, xy in enumerate(entries, start=1))
    return Ground(area, area.buffer(5.0, join_style="mitre"), doors)


LAWN = ground(box(0, 0, 40, 30), (20, -3))


def options(grid, **more):
    return VerticalOptions(
        spacing_m=6.0, depth_least_m=50.0, depth_most_m=100.0, diameter_m=0.15, grid=grid, **more
    )


def test_a_grid_with_a_place_stands_exactly_there_to_and_fro():
    # rows towards the east, further rows to the left, northwards
    grid = BoreGrid(2, 3, 6.0, 7.0, corner=(10.0, 5.0), along_deg=90.0)
    points, header = typed_places(LAWN, options(grid))
    wanted = [(10, 5), (16, 5), (22, 5), (22, 12), (16, 12), (10, 12)]
    assert points == pytest.approx(np.array(wanted, dtype=float), abs=1e-9)
    assert shapely.unary_union(header.runs).distance(Point(10, 12)) < 1e-5


def test_a_grid_along_the_north_turns_its_rows_to_the_west():
    grid = BoreGrid(2, 2, 6.0, 7.0, corner=(20.0, 5.0), along_deg=0.0)
    points, _ = typed_places(LAWN, options(grid))
    assert points == pytest.approx(np.array([(20, 5), (20, 11), (13, 11), (13, 5.0)]), abs=1e-9)


def test_a_typed_grid_is_laid_out_wherever_it_stands_and_is_marked_as_such():
    grid = BoreGrid(2, 3, 6.0, 7.0, corner=(38.0, 5.0), along_deg=90.0)
    layout = lay_out_bores(LAWN, options(grid), 500.0)
    assert layout.by_hand
    assert layout.spacing_m == 6.0
    assert [(round(b.x_m, 6), round(b.y_m, 6)) for b in layout.elements[:3]] == [
        (38, 5),
        (44, 5),
        (50, 5),
    ]
    # the header joins what it can reach: (50, 5) lies beyond the passable ground
    runs = shapely.unary_union(layout.header.runs)
    assert runs.distance(Point(44, 5)) < 1e-5
    assert runs.distance(Point(50, 5)) > 1.0


def test_bores_whose_places_are_given_stand_exactly_there_and_are_marked_as_such():
    places = ((10.0, 5.0), (17.0, 5.0), (22.0, 12.0))
    layout = lay_out_bores(LAWN, options(None, places=places), 250.0)
    assert layout.by_hand
    assert tuple((bore.x_m, bore.y_m) for bore in layout.elements) == places
    # 250 m of three bores, rounded up to a whole foot; the nearest two are 7 m apart
    assert [bore.depth_m for bore in layout.elements] == pytest.approx([274 * FOOT] * 3)
    assert layout.spacing_m == pytest.approx(7.0)
    runs = shapely.unary_union(layout.header.runs)
    assert all(runs.distance(Point(place)) < 1e-5 for place in places)


def test_a_grid_without_a_place_stands_inside_next_to_the_entry():
    layout = lay_out_bores(LAWN, options(BoreGrid(2, 3, 6.0, 7.0)), 500.0)
    points = np.array([(b.x_m, b.y_m) for b in layout.elements])
    assert not layout.by_hand
    assert layout.obstacle is None
    assert shapely.distance(LAWN.area, shapely.points(points)).max() <= TOLERANCE
    assert points[:, 1].max() <= 12.0 + TOLERANCE  # two rows along, or three across
    steps = np.hypot(*np.diff(points, axis=0).T)
    assert steps == pytest.approx([6, 6, 7, 6, 6], abs=1e-6)


def test_a_direction_alone_is_kept():
    points, _ = fitted_grid(LAWN, LAWN.area, BoreGrid(1, 2, 6.0, 6.0, along_deg=30.0))
    step = points[1] - points[0]
    assert math.degrees(math.atan2(step[0], step[1])) % 180 == pytest.approx(30.0, abs=1e-6)


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 45.0, 61.3])
def test_a_grid_that_fits_exactly_is_found_at_any_turn(turn_deg):
    square = affinity.translate(affinity.rotate(box(0, 0, 24, 24), turn_deg), 5e5, 4.7e6)
    middle = square.centroid
    lot = ground(square, (middle.x, middle.y))
    found = fitted_grid(lot, square, BoreGrid(5, 5, 6.0, 6.0))
    assert found is not None
    assert shapely.distance(square, shapely.points(found[0])).max() <= TOLERANCE


def test_a_grid_that_fits_nowhere_is_an_obstacle_in_words():
    layout = lay_out_bores(LAWN, options(BoreGrid(4, 9, 20 * FOOT, 25 * FOOT)), 500.0)
    assert layout.elements == ()
    assert (
        in_words(layout.obstacle)
        == "no place for 4 rows of 9 bores, 20 ft apart in rows 25 ft apart"
    )


def test_a_grid_too_small_for_the_length_says_how_deep_it_would_have_to_be():
    layout = lay_out_bores(LAWN, options(BoreGrid(1, 2, 6.0, 6.0)), 250.0)
    # 250 m / 2 = 125 m = 410.1 ft
    assert in_words(layout.obstacle).startswith("2 bores would have to be 410.2 ft deep each")


@settings(max_examples=several(6, 25), deadline=None)
@given(
    st.integers(1, 3),
    st.integers(1, 3),
    st.floats(6.0, 9.0),
    st.floats(6.0, 9.0),
    st.lists(st.tuples(st.floats(2, 36), st.floats(2, 26), st.floats(0.5, 6)), max_size=3),
)
def test_a_grid_found_keeps_its_shape_and_stays_inside(rows, columns, along, across, holes):
    area = LAWN.area.difference(shapely.union_all([Point(x, y).buffer(r) for x, y, r in holes]))
    grid = BoreGrid(rows, columns, along, across)
    lot = ground(area, (20, -3))
    found = fitted_grid(lot, area, grid)
    assert (found is not None) == stands(area, options(grid))
    if found is None:
        return
    points = found[0]
    assert shapely.distance(area, shapely.points(points)).max() <= TOLERANCE
    steps = np.hypot(*np.diff(points, axis=0).T)
    turns = [along if k % columns else across for k in range(1, rows * columns)]
    assert steps == pytest.approx(turns, abs=1e-6)


def test_a_typed_grid_stands_only_where_every_bore_has_room():
    inside = BoreGrid(2, 2, 6.0, 6.0, corner=(1.0, 1.0), along_deg=90.0)
    outside = BoreGrid(2, 2, 6.0, 6.0, corner=(36.0, 1.0), along_deg=90.0)
    assert stands(LAWN.area, options(inside))
    assert not stands(LAWN.area, options(outside))


def test_a_grid_drawn_up_to_the_edge_of_the_header_s_ground_gets_its_header():
    # bores and header keep the same distance from a round crown, so that a bore on the edge of the
    # one stands on the edge of the other; the places searched are a hair wider than the area
    crown = Point(20, 18).buffer(6.0)
    lawn = affinity.rotate(box(0, 0, 40, 30).difference(crown), 39.0, origin=(0, 0))
    door = affinity.rotate(Point(20, 12), 39.0, origin=(0, 0))
    lot = Ground(lawn, lawn, (Entry("E1", door),))
    layout = lay_out_bores(lot, options(BoreGrid(1, 4, 7.62, 7.62)), 300.0)
    assert layout.obstacle is None
    assert layout.header is not None


@pytest.mark.parametrize(("rows", "columns", "apart"), [(2, 1, 9.0), (1, 3, 8.0), (3, 2, 8.0)])
def test_the_spacing_told_of_a_grid_is_that_of_its_nearest_bores(rows, columns, apart):
    # 8 m along a row, 9 m from row to row
    grid = BoreGrid(rows, columns, 8.0, 9.0, corner=(10.0, 5.0), along_deg=90.0)
    layout = lay_out_bores(LAWN, options(grid), 100.0)
    assert layout.spacing_m == pytest.approx(apart)
