"""A given number of points spread apart: against the proven optima in the unit square."""

import math

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from known_packings import OPTIMA
from shapely import MultiPolygon, Point, box

from siteplan.errors import GeometryError
from siteplan.geometry.points.packing import pack_points
from siteplan.geometry.points.spreading import least_distance, spread_apart
from siteplan.geometry.tolerance import TOLERANCE


def test_the_table_agrees_with_the_closed_forms():
    assert OPTIMA[3] == pytest.approx(math.sqrt(6) - math.sqrt(2), abs=1e-11)
    assert OPTIMA[6] == pytest.approx(math.sqrt(13) / 6, abs=1e-11)
    assert OPTIMA[7] == pytest.approx(4 - 2 * math.sqrt(3), abs=1e-11)
    assert OPTIMA[14] == pytest.approx(2 * (4 - math.sqrt(3)) / 13, abs=1e-11)


COUNTS = [3, 7, 10, 6, 13, 21, 30, 2, 4, 5, 8, 9, 11, 12, 14, 15, 16, 20, 25, 36]


# all up to 48 at the default effort: `python tests/benchmarks/bores.py square`
@pytest.mark.parametrize("count", COUNTS[: several(1, 20)])
def test_points_in_a_square_reach_the_best_known_spacing_and_no_more(count):
    points = pack_points(box(0, 0, 10, 10), 0.5, count=count, effort=0.25)
    assert least_distance(points) == pytest.approx(10 * OPTIMA[count], rel=1e-9)


def test_points_spread_over_two_parts_stay_inside():
    area = MultiPolygon([box(0, 0, 6, 3), box(8, 0, 12, 5)]).difference(Point(3, 1.5).buffer(1))
    points = pack_points(area, 0.5, count=12, effort=0.1)
    assert len(points) == 12
    assert shapely.dwithin(area, shapely.points(points), TOLERANCE).all()
    assert least_distance(points) >= 0.5


@settings(max_examples=several(2, 30), deadline=None)
@given(st.integers(2, 9), st.floats(3, 20), st.floats(3, 20), st.floats(0.5, 1.4))
@pytest.mark.thorough
def test_free_points_are_never_nearer_to_each_other_than_in_rows(count, width, height, dent):
    area = box(0, 0, width, height).difference(Point(0.4 * width, 0.3 * height).buffer(dent))
    rows = pack_points(area, 0.8, arrangement="rows", count=count)
    free = spread_apart(area, rows, effort=0.1)
    assert least_distance(free) >= least_distance(rows) - 2 * TOLERANCE
    assert shapely.dwithin(area, shapely.points(free), TOLERANCE).all()


def test_more_points_than_rows_hold_are_still_spread_if_free_points_fit():
    # in rows six points in the unit square come to 1 / sqrt(3) = 0.577 at most
    square = box(0, 0, 10, 10)
    assert len(pack_points(square, 5.9, arrangement="rows")) < 6
    points = pack_points(square, 5.9, count=6, effort=0.2)
    assert least_distance(points) == pytest.approx(10 * OPTIMA[6], rel=1e-9)


def test_a_count_that_does_not_fit_freely_says_how_many_do():
    with pytest.raises(GeometryError, match=r"4 points fit at a spacing of 1\.0 m, 5 are asked"):
        pack_points(box(0, 0, 1, 1), 1.0, count=5, effort=0.1)


def test_the_same_start_gives_the_same_points():
    start = np.array([[1.0, 1.0], [4.0, 1.0], [1.0, 4.0], [4.0, 4.0], [2.5, 2.5]])
    once = spread_apart(box(0, 0, 5, 5), start, effort=0.1)
    assert once.tobytes() == spread_apart(box(0, 0, 5, 5), start, effort=0.1).tobytes()
