"""The quick question: parcel and house are enough, and what is missing is taken for granted."""

from __future__ import annotations

import datetime
from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from siteplan.findings.model import Reason, reason
from siteplan.site.model import Exchanger, Feature, Site
from siteplan.site.walls import served_building
from siteplan.units.lengths import FOOT, TON
from siteplan.vocabulary.loop_types import loop_types

FLOORS: Final = 2
"""Heated floors of a house that nobody described; common practice, no source."""
HEAT_W_M2: Final = 20 * 0.29307107 / FOOT**2
"""Heat lost by a floor at the design hour, 20 Btu/hr·ft2; common practice, no source [W/m2]."""
USUAL_W: Final = 3 * TON
"""Capacity where no house is drawn; common practice, no source [W]."""
SIZES: Final = ("length", "capacity")
SIZED: Final = tuple(
    (name, "flow" if loop.flow else "length") for name, loop in loop_types().items()
)
"""Keys any of which says how much exchanger is wanted; so does a table of loads."""
NO_DAY: Final = datetime.date(2000, 1, 1)
"""Date of a title block that nobody will see."""
BURIED: Final = frozenset({
    "potable well", "septic tank", "drainfield", "water line", "sewer line", "gas line",
    "electric line", "communication line",
})  # fmt: skip
"""Kinds of feature of which hardly a lot is without one."""
STREET: Final = "street"


def completed(values: Mapping[str, Any], source: Path) -> dict[str, Any]:
    """Values of a site file, with a title block that nobody will see."""
    project = values.get("project", {})
    name = source.resolve().parent.name if source.stem == "site" else source.stem
    title = {"title": name, "owner": "not stated", "date": NO_DAY}
    filled = dict(values)
    if isinstance(project, Mapping):
        filled["project"] = {**title, **project}
    exchanger = values.get("exchanger", {})
    if isinstance(exchanger, Mapping) and not _says_a_size(values):
        # stands until the lot is read: the house says how much
        filled["exchanger"] = {**exchanger, "capacity": f"{USUAL_W} W"}
    return filled


def _says_a_size(values: Mapping[str, Any]) -> bool:
    exchanger = values.get("exchanger", {})
    tables = ((values.get(table, {}), key) for table, key in SIZED)
    return (
        "loads" in values
        or (isinstance(exchanger, Mapping) and any(size in exchanger for size in SIZES))
        or any(isinstance(table, Mapping) and key in table for table, key in tables)
    )


def sized(site: Site, values: Mapping[str, Any]) -> tuple[Exchanger, tuple[Reason, ...]]:
    """The exchanger with a capacity by the house, and that it is assumed; as it is where stated.

    The house is the building that pipes are led to.
    """
    exchanger = site.exchanger
    if _says_a_size(values):
        return exchanger, ()
    house = served_building(site.of_kind("building"), site.entries)
    if house is None:
        told = reason("capacity-of-any-house", capacity_w=USUAL_W)
        return replace(exchanger, capacity_w=USUAL_W), (told,)
    area_m2 = float(house.shape.area)
    capacity_w = area_m2 * FLOORS * HEAT_W_M2
    told = reason("capacity-of-the-house", capacity_w=capacity_w, area_m2=area_m2, house=house.id)
    return replace(exchanger, capacity_w=capacity_w), (told,)


def missing_on(features: tuple[Feature, ...]) -> tuple[Reason, ...]:
    """What hardly a lot is without and nothing is known of: what lies in its ground, its street."""
    kinds = {feature.kind for feature in features}
    ground = () if kinds & BURIED else (reason("nothing-buried-drawn"),)
    return ground if STREET in kinds else (*ground, reason("no-street-drawn"))
