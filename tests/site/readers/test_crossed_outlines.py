"""Outlines with their corners in no order: told with their place, whatever lies on them."""

from __future__ import annotations

import datetime
import random

import pytest
from campaign import several

from siteplan.errors import InputError
from siteplan.site.readers.site_file import site_from


def lot(parcel: list[list[float]], house: list[list[float]]) -> dict[str, object]:
    return {
        "project": {"title": "T", "owner": "O", "date": datetime.date(2026, 3, 14), "units": "ft"},
        "geometry": {"parcel": parcel},
        "feature": [{"kind": "building", "id": "house", "area": house}],
        "exchanger": {"system": "vertical", "length": {"given": "300 ft", "by": "test"}},
    }


def corners(chance: random.Random, count: int, size: float) -> list[list[float]]:
    return [[chance.uniform(0, size), chance.uniform(0, size)] for _ in range(count)]


# the outline of a lot and of a house whose corners were typed in no order
@pytest.mark.parametrize("crossed", ["parcel", "house", "both"])
def test_corners_in_no_order_are_a_fault_and_no_error_of_the_program(crossed: str) -> None:
    chance = random.Random(crossed)
    square = [[0.0, 0.0], [150.0, 0.0], [150.0, 200.0], [0.0, 200.0]]
    block = [[50.0, 60.0], [90.0, 60.0], [90.0, 90.0], [50.0, 90.0]]
    told = 0
    for _ in range(several(60, 2000)):
        parcel = square if crossed == "house" else corners(chance, chance.randint(5, 12), 200.0)
        house = block if crossed == "parcel" else corners(chance, chance.randint(5, 12), 140.0)
        try:
            site_from(lot(parcel, house))
        except InputError as error:
            told += "crosses itself" in str(error)
    assert told > 30
