"""Directions that rows are tried along, of lots whose sides anybody can measure."""

from __future__ import annotations

import pytest
from shapely import Polygon, affinity, box

from siteplan.geometry.lines.directions import edge_angles
from siteplan.geometry.lines.sweep import rings_of


@pytest.mark.parametrize(
    ("lot", "angles"),
    [
        (box(0, 0, 40, 3), [0, 90]),
        (box(0, 0, 3, 40), [90, 0]),
        (affinity.rotate(box(0, 0, 40, 3), 30), [30, 120]),
        # sides of 3, 4 and 5 m: the longest goes from (3, 0) back to (0, 4), 180 - 53.13 degrees
        (Polygon([(0, 0), (3, 0), (0, 4)]), [126.8699, 90, 0]),
        # level 6 + 6 + 10 = 22 m, slanted the root of 12² + 2² = 12.17 m, upright 4 + 8 = 12 m
        (Polygon([(0, 0), (6, 0), (6, 4), (12, 4), (12, 12), (2, 12)]), [0, 80.5377, 90]),
    ],
)
def test_the_directions_of_the_sides_come_by_their_length(
    lot: Polygon, angles: list[float]
) -> None:
    found = [angle % 180 for angle in edge_angles(rings_of(lot))]
    assert found == pytest.approx(angles, abs=1e-3)
