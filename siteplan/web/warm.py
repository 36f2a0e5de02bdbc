"""What every plan needs, loaded once in the process that all children are forked from."""

from __future__ import annotations

from contextlib import suppress
from datetime import date
from typing import Any, Final

from siteplan.errors import SitePlanError
from siteplan.plan import plan_site
from siteplan.site.readers.site_file import site_from
from siteplan.vocabulary.loop_types import made_of
from siteplan.web.told import plan_told

SMALL: Final[dict[str, Any]] = {
    "project": {"title": "A lot", "owner": "Nobody", "date": date(2026, 1, 31), "units": "m"},
    "geometry": {"parcel": [[0, 0], [20, 0], [20, 30], [0, 30]]},
    "feature": [
        {"id": "house", "kind": "building", "area": [[5, 5], [12, 5], [12, 11], [5, 11]]},
        {"id": "street", "kind": "street", "line": [[0, -5], [20, -5]]},
    ],
    "loads": {"heating": "4 kW", "heating_hours": 2000, "cooling": "2 kW", "cooling_hours": 700},
    "ground": {
        "temperature": "11 C", "soil": "limestone", "swing": "11 K", "coldest_day": "3 February"
    },
    "exchanger": {"system": made_of("bore").name, "entry": [[12, 8]]},
}  # fmt: skip
"""An invented lot of which nothing is asked but that it is planned."""


def warm_up() -> None:
    """Plan a small lot: what is loaded and read on the way is there for whoever is forked."""
    with suppress(SitePlanError):
        plan_told(plan_site(site_from(SMALL)))


warm_up()
