"""Crossings counted by sides, against an overlay of each stretch with each shape by shapely."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, box

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways import crossed
from siteplan.geometry.ways.crossed import crossing_counts

SHAPES = np.array(
    [
        LineString([(2, -5), (2, 5)]),
        LineString([(0, 1), (4, 1), (4, -3), (9, -3)]),
        LineString([(1, 1), (1, 1), (3, 3)]),
        Point(3, 0),
        box(5, -1, 8, 1),
        box(5, -1, 8, 1).boundary,
        shapely.MultiLineString([[(0, -1), (9, -1)], [(0, -2), (9, -2)]]),
        shapely.GeometryCollection([Point(6, 0), LineString([(7, -4), (7, 4)])]),
    ],
    dtype=object,
)


def _by_overlay(starts: np.ndarray, ends: np.ndarray) -> np.ndarray:
    counts = np.zeros((len(starts), len(SHAPES)))
    for row, (start, end) in enumerate(zip(starts, ends, strict=True)):
        for column, shape in enumerate(SHAPES):
            common = LineString([start, end]).intersection(shape)
            counts[row, column] = common.length
            for part in shapely.get_parts(common):
                if part.geom_type == "Point" and not part.is_empty:
                    near = min(part.distance(Point(start)), part.distance(Point(end)))
                    counts[row, column] += 0.5 if near <= TOLERANCE else 1.0
    return counts


def _stretches(count: int, *, whole: bool) -> tuple[np.ndarray, np.ndarray]:
    dice = np.random.default_rng(7)
    ends = dice.uniform(-6, 10, (2, count, 2))
    if whole:
        # on whole numbers stretches touch, follow and end on the shapes all the time
        ends = np.round(ends)
    apart = np.hypot(*(ends[0] - ends[1]).T) > 0
    return ends[0][apart], ends[1][apart]


@pytest.mark.parametrize("whole", [False, True])
@pytest.mark.parametrize("shift", [0.0, 500_000.0])
def test_counts_are_those_of_an_overlay(whole: bool, shift: float) -> None:
    starts, ends = _stretches(400, whole=whole)
    shapes = shapely.transform(SHAPES, lambda spots: spots + shift)

    counted = crossing_counts(starts + shift, ends + shift, shapes)

    assert counted == pytest.approx(_by_overlay(starts, ends), abs=1e-6)
    # a point is met by chance only on whole numbers
    assert (counted > 0).any(axis=0)[Point(3, 0) != SHAPES].all()


def test_many_stretches_are_counted_in_parts(monkeypatch: pytest.MonkeyPatch) -> None:
    starts, ends = _stretches(50, whole=True)
    at_once = crossing_counts(starts, ends, SHAPES)
    monkeypatch.setattr(crossed, "MOST_PAIRS", 3)

    assert (crossing_counts(starts, ends, SHAPES) == at_once).all()
