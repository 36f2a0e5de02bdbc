"""Areas for trenches, and the best fields found in them, each looked for once in a process."""

from __future__ import annotations

import json
from functools import cache

from places import REFERENCES
from shapely import LineString
from shapely.geometry import shape

from siteplan.layout.trenches.fit import fit_trenches

AREAS = {
    feature["properties"]["name"][0]: shape(feature["geometry"])
    for feature in json.loads((REFERENCES / "areas.geojson").read_text(encoding="utf-8"))[
        "features"
    ]
}


@cache
def best(name: str) -> list[LineString]:
    """Best field of trenches 3 m apart, none below 15 m."""
    return fit_trenches(AREAS[name], 3.0, shortest=15.0, shape="best")


@cache
def straight(name: str) -> list[LineString]:
    """Straight rows 3 m apart, none below 15 m."""
    return fit_trenches(AREAS[name], 3.0, shortest=15.0)
