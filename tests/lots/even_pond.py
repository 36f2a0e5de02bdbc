"""A lot with a pond whose bottom falls evenly from its shore."""

from __future__ import annotations

from datetime import date

import siteplan
from siteplan.site.model import Site

SHORE = 60.0
SLOPE = 3.0


def site(depth: float = 5.0) -> Site:
    """The pond so deep [m], its shore towards the house along x = SHORE."""
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
