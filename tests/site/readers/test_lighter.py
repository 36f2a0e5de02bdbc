"""Shapes of thousands of corners: thinned on the side of safety, or refused with what is needed.

What holds is checked against the shape as it was typed, by plain geometry.
"""

from __future__ import annotations

import datetime
import math
from typing import Any

import numpy as np
import pytest
import shapely
from shapely import LineString, Polygon

from siteplan.advisories.repairs import repair_remarks
from siteplan.errors import InputError
from siteplan.findings.words import words_of
from siteplan.limits import MOST_CORNERS
from siteplan.site.readers.site_file import site_from
from siteplan.units.systems import US

FT = 0.3048  # exact: National Institute of Standards and Technology, Special Publication 811
WAVES = (3, 7, 17, 41, 97, 211, 499, 1013)


def rough(t: float) -> float:
    """Rough at all scales, as an outline from the air is [ft]."""
    return sum(6 / f**1.2 * math.sin(f * 2 * math.pi * t + f * f) for f in WAVES)


def ring(corners: int, radius: float, x: float = 0.0, y: float = 0.0) -> list[list[float]]:
    turns = [k / corners for k in range(corners)]
    return [
        [x + (radius + rough(t)) * math.cos(2 * math.pi * t),
         y + (radius + rough(t)) * math.sin(2 * math.pi * t)]
        for t in turns
    ]  # fmt: skip


def brook(corners: int) -> list[list[float]]:
    return [[-140 + 280 * k / corners, 60 + rough(k / corners)] for k in range(corners)]


def lot(parcel: list[list[float]], *features: dict[str, Any]) -> dict[str, Any]:
    house = {"kind": "building", "area": [[-20, -20], [20, -20], [20, 20], [-20, 20]]}
    return {
        "project": {"title": "T", "owner": "O", "date": datetime.date(2026, 3, 14)},
        "geometry": {"parcel": parcel},
        "feature": [house, *features],
        "exchanger": {"capacity": "2 ton", "entry": [0, 20]},
    }


def drawn(points: list[list[float]]) -> Polygon:
    return Polygon(np.array(points) * FT)


SQUARE = [[-150.0, -150.0], [150.0, -150.0], [150.0, 150.0], [-150.0, 150.0]]


@pytest.mark.thorough
def test_a_lot_of_50000_corners_is_drawn_with_fewer_inside_of_itself() -> None:
    typed = ring(50_000, 150)
    site = site_from(lot(typed))
    (told,) = site.repairs
    assert (told.what, told.count) == ("thinned", 50_000)
    assert shapely.get_num_coordinates(site.parcel) - 1 == told.left <= MOST_CORNERS
    assert drawn(typed).covers(site.parcel)
    # 0.1 ft is the most that docs/limits.md tells
    assert told.departs_m <= 0.1 * FT
    assert shapely.hausdorff_distance(site.parcel, drawn(typed), densify=0.1) <= told.departs_m


def test_what_is_kept_off_covers_what_was_typed() -> None:
    typed = ring(6_000, 40, 80, 80)
    site = site_from(lot(SQUARE, {"kind": "wetland", "area": typed}))
    wet = site.features[1].shape
    assert shapely.get_num_coordinates(wet) <= MOST_CORNERS + 1
    assert wet.covers(drawn(typed))
    assert shapely.hausdorff_distance(wet, drawn(typed), densify=0.1) <= 0.1 * FT


@pytest.mark.parametrize("width", [0, 3])
def test_a_line_is_as_much_wider_as_it_may_lie_elsewhere(width: float) -> None:
    typed = brook(6_000)
    site = site_from(lot(SQUARE, {"kind": "stream", "line": typed, "width": width}))
    thin = site.features[1]
    assert shapely.get_num_coordinates(thin.shape) <= MOST_CORNERS
    wanted = LineString(np.array(typed) * FT).buffer(width * FT / 2, cap_style="flat")
    if width:
        around = thin.shape.buffer(thin.width_m / 2 + 1e-9, quad_segs=64)
        assert around.buffer(1e-4).covers(wanted)
    else:
        away = shapely.distance(thin.shape, shapely.points(np.array(typed) * FT))
        assert 0 < away.max() <= thin.width_m / 2


def test_few_corners_are_left_as_they_are() -> None:
    typed = ring(MOST_CORNERS, 150)
    site = site_from(lot(typed))
    assert site.repairs == ()
    assert site.parcel.equals(shapely.normalize(drawn(typed)))


def teeth(corners: int) -> list[list[float]]:
    """An outline that no fewer corners can draw: teeth a foot high."""
    return [
        [(150 + k % 2) * math.cos(2 * math.pi * k / corners),
         (150 + k % 2) * math.sin(2 * math.pi * k / corners)]
        for k in range(corners)
    ]  # fmt: skip


@pytest.mark.parametrize(
    ("values", "told"),
    [
        (lot(teeth(4_000)), r"parcel: has 4,000 corners; 1,000 are planned with, and within 0\.10"),
        # nobody knows which side of a pond is safe: coils lie in it, trenches beside it
        (
            lot(SQUARE, {"kind": "pond", "area": ring(1_200, 40, 80, 80), "depth": 8}),
            r"feature 2: has 1,200 corners; 1,000 are planned with\. Draw it with fewer",
        ),
    ],
)
def test_what_cannot_be_drawn_with_fewer_is_refused(values: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError, match=told):
        site_from(values)


def test_what_was_thinned_is_told_with_both_numbers() -> None:
    (told,) = repair_remarks(site_from(lot(ring(3_000, 150))))
    words = words_of(told, US)
    assert "has 3,000 corners, and is drawn with " in words
    assert "on the side where the ground becomes less" in words
