"""A raster of cells, counted by hand on squared paper."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import Polygon, box

from siteplan.geometry.ways.raster import Raster, rastered

PAPER = Raster(10.0, 20.0, 2.0, 4, 3)
"""Four cells east and three north, each 2 m wide, from (10, 20)."""


def test_cells_are_numbered_row_by_row_from_the_lower_left() -> None:
    middles = PAPER.middles()
    assert PAPER.count == len(middles) == 12
    assert middles[[0, 3, 4, 11]].tolist() == [[11, 21], [17, 21], [11, 23], [17, 25]]
    assert PAPER.cell_of(middles).tolist() == list(range(12))


def test_the_raster_ends_where_its_last_cells_do() -> None:
    inside = PAPER.holds(
        np.array([[10, 20], [17.9, 25.9], [18, 21], [11, 26], [9.9, 21], [11, 19]])
    )
    assert inside.tolist() == [True, True, False, False, False, False]


def test_a_value_is_looked_up_by_its_cell_and_is_false_off_the_raster() -> None:
    values = np.zeros(12, dtype=bool)
    values[[0, 3, 8]] = True
    x = np.array([10.5, 17.0, 11.0, 13.0, 9.5, 18.5, 11.0, 11.0])
    y = np.array([20.5, 21.0, 25.0, 21.0, 20.5, 21.0, 19.5, 26.5])
    found = PAPER.look_up(values, x, y)
    assert found.tolist() == [True, True, True, False, False, False, False, False]


def test_of_a_slanted_area_those_cells_count_whose_middle_is_inside() -> None:
    # under the line from (10, 26) down to (18, 20), which falls 3 m in 4: at the middles of the
    # columns, x 11, 13, 15, 17, it stands at y 25.25, 23.75, 22.25, 20.75
    triangle = Polygon([(10, 20), (18, 20), (10, 26)])
    rows = rastered(triangle, PAPER).reshape(3, 4).tolist()
    assert rows == [
        [True, True, True, False],
        [True, True, False, False],
        [True, False, False, False],
    ]


def test_a_hole_is_left_out() -> None:
    ring = box(10, 20, 18, 26).difference(box(12, 22, 16, 24))
    assert rastered(ring, PAPER).reshape(3, 4)[1].tolist() == [True, False, False, True]
    assert rastered(ring, PAPER).sum() == 10


@pytest.mark.parametrize(
    ("cells", "drawn"),
    [
        ([0, 1, 4], box(10, 20, 14, 22).union(box(10, 22, 12, 24))),
        # the last of a row and the first of the next lie apart
        ([3, 4], box(16, 20, 18, 22).union(box(10, 22, 12, 24))),
        ([5, 7], box(12, 22, 14, 24).union(box(16, 22, 18, 24))),
    ],
)
def test_cells_make_the_area_that_they_cover(cells: list[int], drawn: Polygon) -> None:
    assert shapely.equals(PAPER.area_of(np.array(cells)), drawn)


def test_no_cells_make_no_area() -> None:
    assert PAPER.area_of(np.array([], dtype=np.intp)).is_empty


def test_a_raster_grows_coarser_rather_than_larger_than_allowed() -> None:
    # 10,000 m2 in at most 400 cells: 5 m each
    assert Raster.over(box(0, 0, 100, 100), 1.0, 400).size == pytest.approx(5.0)
    assert Raster.over(box(0, 0, 100, 100), 8.0, 400).size == 8.0
