"""Water over a bottom that falls evenly from the shore."""

from __future__ import annotations

from datetime import date

import pytest
from shapely import Point

import siteplan
from siteplan.checks.pond_depth import gauge_of

SHORE = 60.0
SLOPE = 3.0


def site(depth: float = 5.0):
    return siteplan.site_from({
        "project": {"title": "Pond", "owner": "A. Owner", "date": date(2026, 1, 31), "units": "m"},
        "geometry": {"parcel": [[0, 0], [160, 0], [160, 120], [0, 120]]},
        "feature": [
            {"id": "house", "kind": "building", "area": [[10, 50], [20, 50], [20, 70], [10, 70]]},
            {
                "id": "pond", "kind": "pond", "depth": depth, "side_slope": SLOPE,
                "area": [[SHORE, 10], [150, 10], [150, 110], [SHORE, 110]],
            },
        ],
        "exchanger": {"system": "pond", "entry": [[20, 60]], "capacity": "3 ton"},
    })  # fmt: skip


@pytest.mark.parametrize("depth", [2.0, 5.0])
@pytest.mark.parametrize("off", [0.5, 3.0, 6.5, 14.0, 16.0, 30.0])
def test_over_an_even_slope_the_water_grows_by_a_metre_for_each_three(
    off: float, depth: float
) -> None:
    gauge = gauge_of(site(depth).of_kind("pond")[0])
    # the shallowest water is at the edge that is nearest to the shore
    for wide in (0.0, 0.25):
        deep = min(depth, (off - wide) / SLOPE)
        assert gauge.least(Point(SHORE + off, 60.0), wide) == pytest.approx(deep)
