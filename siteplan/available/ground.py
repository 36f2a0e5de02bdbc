"""The ground that each loop type's engine gets to see of a site under its rules."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import lru_cache

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.available.access import machine_ground
from siteplan.available.area import (
    AvailableArea,
    KeepOut,
    area_below,
    available_area,
    header_area,
    polygons_of,
    wall_entries,
)
from siteplan.geometry.offset import keep_inside
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Ground
from siteplan.layout.pond import Water
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Feature, Site, System
from siteplan.vocabulary.kinds import kinds


@dataclass(frozen=True, slots=True)
class Prepared:
    """The ground of one loop type.

    Parameters
    ----------
    ground
        What the engine gets to see.
    keep_outs
        What the rules took off the parcel.
    waters
        Where coils may lie, for a pond.
    back
        Where a return well may stand, for an open loop.
    existing
        Existing well that is the supply, for an open loop.
    under
        Where an inclined bore may pass, seen from above.
    """

    ground: Ground
    keep_outs: tuple[KeepOut, ...]
    waters: tuple[Water, ...] = ()
    back: BaseGeometry | None = None
    existing: Feature | None = None
    under: BaseGeometry | None = None


GroundOf = Callable[[Site, RuleSet], Prepared]
"""What prepares the ground of a loop type."""


@lru_cache(maxsize=16)
def prepare(site: Site, rules: RuleSet, ground_of: GroundOf) -> Prepared:
    """Ground of a loop type on a site: where its parts may lie, and the header run.

    Kept for sites asked for again: a length is laid out until it agrees with what it needs.
    """
    return ground_of(site, rules)


def _ground(
    site: Site, rules: RuleSet, area: BaseGeometry, through: tuple[Feature, ...] = ()
) -> Ground:
    exempt = {feature.id for feature in through}
    marked = tuple(
        feature
        for feature in site.features
        if kinds()[feature.kind].crossing == "mark" and feature.id not in exempt
    )
    passable = header_area(site, rules, through=through)
    return Ground(area, passable, wall_entries(site), marked, site.unit)


def ground_of_trenches(site: Site, rules: RuleSet) -> Prepared:
    """Where trenches may be dug, and where their sides may open."""
    reach = site.exchanger.horizontal.width_m / 2
    area = available_area(site, rules, "trench", reach_m=reach)
    reached = _within_reach(site, "horizontal", area.shape)
    opened = available_area(site, rules, "trench").shape
    ground = _ground(site, rules, reached)
    whole = _within_reach(site, "horizontal", opened)
    return Prepared(replace(ground, whole=whole), area.keep_outs)


def ground_of_bores(site: Site, rules: RuleSet) -> Prepared:
    """Where bores may begin, and what inclined ones may pass under."""
    reach = site.exchanger.vertical.diameter_m / 2
    area = available_area(site, rules, "bore", reach_m=reach)
    under = area_below(site, rules, reach_m=reach) if site.exchanger.vertical.pad else None
    reached = _within_reach(site, "vertical", area.shape)
    return Prepared(_ground(site, rules, reached), area.keep_outs, under=under)


def _within_reach(site: Site, system: System, area: BaseGeometry) -> BaseGeometry:
    """The part of an area where the loop type's machine can work, where that is known."""
    ground = machine_ground(site, system)
    return area if ground is None else polygons_of(area.intersection(ground.area))


def ground_of_coils(site: Site, rules: RuleSet) -> Prepared:
    """Where coils may lie in the ponds."""
    reach = site.exchanger.pond.coil_diameter_m / 2
    area = available_area(site, rules, "coil", reach_m=reach)
    waters = tuple(
        Water(pond.id, shape, depth_m)
        for pond in site.of_kind("pond")
        for depth_m, shape in _coil_water(site, pond, area)
    )
    wet = shapely.union_all([water.area for water in waters])
    return Prepared(_ground(site, rules, wet, site.of_kind("pond")), area.keep_outs, waters)


def water_depths(pond: Feature) -> tuple[tuple[float, BaseGeometry], ...]:
    """Water depths known in a pond, each with the water that is at least so deep."""
    if pond.contours:
        return tuple((contour.depth_m, contour.shape) for contour in pond.contours)
    return ((pond.depth_m, pond.shape),) if pond.depth_m else ()


def _coil_water(
    site: Site, pond: Feature, area: AvailableArea
) -> tuple[tuple[float, BaseGeometry], ...]:
    """The one piece of a pond where coil centres may lie, with its least water depth."""
    options = site.exchanger.pond
    deep = [
        (depth, shape)
        for depth, shape in water_depths(pond)
        if depth >= options.water_depth_m - TOLERANCE
    ]
    if not deep:
        return ()
    reach = options.coil_diameter_m / 2
    inside = [keep_inside(shape, reach) for _, shape in deep]
    shore = keep_inside(pond.shape, options.shore_m + reach)
    water = shapely.union_all(inside).intersection(shore).intersection(area.shape)
    return ((min(depth for depth, _ in deep), water),)


def ground_of_wells(site: Site, rules: RuleSet) -> Prepared:
    """Where a supply well may stand, and where a return well."""
    options = site.exchanger.open
    reach = options.diameter_m / 2
    supply = available_area(site, rules, "supply well", reach_m=reach)
    back = available_area(site, rules, "return well", reach_m=reach)
    existing = next((f for f in site.features if f.id == options.supply), None)
    through = (existing,) if existing is not None else ()
    ground = _ground(site, rules, _within_reach(site, "open", supply.shape), through)
    keep_outs = supply.keep_outs + back.keep_outs
    returned = _within_reach(site, "open", back.shape)
    return Prepared(ground, keep_outs, back=returned, existing=existing)
