"""Directions that rows are tried along, of lots whose sides anybody can measure."""

from __future__ import annotations

import itertools
import math

import pytest
from shapely import Polygon, affinity, box

from siteplan.geometry.lines.directions import edge_angles, turn_between
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


def test_between_two_lines_lies_the_angle_whose_cosine_is_the_product_of_their_directions() -> None:
    for first, second in itertools.product(range(-180, 541, 37), range(-90, 361, 29)):
        along, other = math.radians(first), math.radians(second)
        product = math.cos(along) * math.cos(other) + math.sin(along) * math.sin(other)
        angle = math.degrees(math.acos(min(1.0, abs(product))))
        assert turn_between(first, second) == pytest.approx(angle, abs=1e-5)
