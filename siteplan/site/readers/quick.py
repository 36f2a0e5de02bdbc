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
from siteplan.units.lengths import FOOT, TON, parse_power
from siteplan.units.written import UnitError
from siteplan.vocabulary.loop_types import loop_types

FLOORS: Final = 2
"""Heated floors of a house that nobody described; common practice, no source."""
HEAT_W_M2: Final = 20 * 0.29307107 / FOOT**2
"""Heat lost by a floor at the design hour, 20 Btu/hr·ft2; common practice, no source [W/m2]."""
USUAL_W: Final = 3 * TON
"""Capacity where no house is drawn; common practice, no source [W]."""
USUAL_HOURS: Final = {"heating": 2000.0, "cooling": 700.0}
"""Full-load hours of a year that nobody states; common practice, no source."""
YEAR_H: Final = 8760
"""Hours of a year: what is stated beyond is for the reader to refuse."""
GROUND: Final = ("soil", "conductivity")
"""Keys of [ground] one of which says how it conducts; its temperature is asked for besides."""
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
    """Values of a site file, with a title block that nobody will see and loads made whole."""
    project = values.get("project", {})
    name = source.resolve().parent.name if source.stem == "site" else source.stem
    title = {"title": name, "owner": "not stated", "date": NO_DAY}
    filled = dict(values)
    if isinstance(project, Mapping):
        filled["project"] = {**title, **project}
    if isinstance(loads := values.get("loads"), Mapping):
        hours = {f"{way}_hours": hours for way, hours in _usual_hours(loads).items()}
        filled["loads"] = {**hours, **loads}
    exchanger = values.get("exchanger", {})
    if not isinstance(exchanger, Mapping):
        return filled
    if (greater := _greater_load(values)) is not None:
        # of ground that nobody describes no length can be calculated
        del filled["loads"]
        filled["exchanger"] = {"capacity": f"{greater} W", **exchanger}
    elif not _says_a_size(values):
        # stands until the lot is read: the house says how much
        filled["exchanger"] = {**exchanger, "capacity": f"{USUAL_W} W"}
    return filled


def _usual_hours(loads: Mapping[str, Any]) -> dict[str, float]:
    """Full-load hours of heating and cooling that say neither theirs nor their months."""
    return {
        way: hours
        for way, hours in USUAL_HOURS.items()
        if way in loads and not {f"{way}_hours", f"{way}_months"} & set(loads)
    }


def _greater_load(values: Mapping[str, Any]) -> float | None:
    """The greater of heating and cooling, where they alone say a size, of ground not described [W].

    None where more is said of the loads, which a screening would leave out, or where they cannot be
    read: then the reader says what is missing or wrong.
    """
    loads, ground = values.get("loads"), values.get("ground", {})
    if not (isinstance(loads, Mapping) and isinstance(ground, Mapping)) or _sized_otherwise(values):
        return None
    if "temperature" in ground and any(key in ground for key in GROUND):
        return None
    known = {*USUAL_HOURS, *(f"{way}_hours" for way in USUAL_HOURS)}
    if set(loads) - known or not all(
        type(value) in (int, float) and 0 <= value <= YEAR_H
        for key, value in loads.items()
        if key not in USUAL_HOURS
    ):
        return None
    try:
        powers = [parse_power(loads[way]) for way in USUAL_HOURS if way in loads]
    except (UnitError, TypeError):
        return None
    return max(powers, default=0.0) or None if min(powers, default=0.0) >= 0 else None


def _says_a_size(values: Mapping[str, Any]) -> bool:
    return "loads" in values or _sized_otherwise(values)


def _sized_otherwise(values: Mapping[str, Any]) -> bool:
    """Whether a length, a flow or a capacity is stated."""
    exchanger = values.get("exchanger", {})
    tables = ((values.get(table, {}), key) for table, key in SIZED)
    return (isinstance(exchanger, Mapping) and any(size in exchanger for size in SIZES)) or any(
        isinstance(table, Mapping) and key in table for table, key in tables
    )


def sized(site: Site, values: Mapping[str, Any]) -> tuple[Exchanger, tuple[Reason, ...]]:
    """The exchanger with a capacity by the house, and what is assumed of its size.

    It is as it is where a size is stated. The house is the building that pipes are led to.
    """
    exchanger = site.exchanger
    if exchanger.energy is None and (greater := _greater_load(values)) is not None:
        return exchanger, (reason("ground-not-described", capacity_w=greater),)
    if _says_a_size(values):
        loads = values.get("loads", {})
        hours = _usual_hours(loads) if exchanger.energy is not None else {}
        each = tuple(
            reason("full-load-hours", way=way, hours=given) for way, given in hours.items()
        )
        return exchanger, (reason("hours-not-stated", each=each),) if each else ()
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
