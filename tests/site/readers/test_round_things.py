"""Round things given by their middle and a diameter."""

from __future__ import annotations

import datetime
import math
from typing import Any

import pytest

from siteplan.errors import InputError
from siteplan.site.readers.site_file import site_from
from siteplan.units.lengths import FOOT

LOT: dict[str, Any] = {
    "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14)},
    "geometry": {"parcel": [[0, 0], [200, 0], [200, 200], [0, 200]]},
    "exchanger": {"capacity": "3 ton", "entry": [[100, 100]]},
}
HOUSE = {"kind": "building", "area": [[100, 80], [140, 80], [140, 110], [100, 110]]}


def read(*features: dict[str, Any]) -> Any:
    return site_from({**LOT, "feature": [HOUSE, *features]})


def test_distances_are_measured_from_the_side_of_a_silo() -> None:
    silo = read({"kind": "silo", "at": [50, 50], "diameter": "20 ft"}).of_kind("silo")[0].shape
    middle = silo.centroid
    # by plane geometry: no nearer than half the diameter anywhere, and an area of pi/4 d2
    assert silo.exterior.distance(middle) >= 10 * FOOT - 1e-9
    assert silo.exterior.hausdorff_distance(middle) == pytest.approx(10 * FOOT, rel=0.002)
    assert silo.area == pytest.approx(math.pi / 4 * (20 * FOOT) ** 2, rel=0.002)


def test_a_round_pool_is_an_area_where_a_point_is_none() -> None:
    pool = {"kind": "swimming pool", "at": [50, 50]}
    with pytest.raises(InputError, match="drawn as a point"):
        read(pool)
    assert read({**pool, "diameter": "24 ft"}).features[1].shape.geom_type == "Polygon"


@pytest.mark.parametrize(
    ("thing", "told"),
    [
        ({"kind": "silo", "area": [[0, 0], [9, 0], [9, 9]], "diameter": "9 ft"}, "given for a"),
        ({"kind": "hydrant", "at": [9, 9], "diameter": "1 ft"}, "drawn as a polygon"),
        ({"kind": "silo", "at": [50, 50], "diameter": "0 ft"}, "diameter"),
    ],
    ids=["of an area", "of what has no sides", "none"],
)
def test_a_diameter_that_says_nothing_is_a_fault(thing: dict[str, Any], told: str) -> None:
    with pytest.raises(InputError, match=told):
        read(thing)
