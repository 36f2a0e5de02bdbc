"""One loop type laid out on one lot: the ground an engine gets to see, and the engine."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.available import AvailableArea, KeepOut, available_area, header_area, wall_entries
from siteplan.demand.model import Required
from siteplan.geometry.offset import keep_inside
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.horizontal import lay_out_trenches
from siteplan.layout.model import Ground, Layout
from siteplan.layout.open_loop import lay_out_wells
from siteplan.layout.pond import Water, lay_out_coils
from siteplan.layout.vertical import lay_out_bores
from siteplan.rules.model import Part
from siteplan.rules.ruleset import RuleSet
from siteplan.site.kinds import kinds
from siteplan.site.model import Feature, Site, System

PARTS: dict[System, tuple[Part, ...]] = {
    "horizontal": ("trench",),
    "vertical": ("bore",),
    "pond": ("coil",),
    "open": ("supply well", "return well"),
}
"""Parts of each loop type, beside the header."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """A layout and the keep-outs it was made under."""

    layout: Layout
    keep_outs: tuple[KeepOut, ...]


def attempt(site: Site, rules: RuleSet, system: System, required: Required) -> Attempt:
    """Layout of one loop type on one site, as its engine believes in it."""
    return ENGINES[system](site, rules, required)


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


def _trenches(site: Site, rules: RuleSet, required: Required) -> Attempt:
    options = site.exchanger.horizontal
    area = available_area(site, rules, "trench", reach_m=options.width_m / 2)
    ground = _ground(site, rules, area.shape)
    return Attempt(lay_out_trenches(ground, options, required.length_m), area.keep_outs)


def _bores(site: Site, rules: RuleSet, required: Required) -> Attempt:
    options = site.exchanger.vertical
    area = available_area(site, rules, "bore", reach_m=options.diameter_m / 2)
    ground = _ground(site, rules, area.shape)
    return Attempt(lay_out_bores(ground, options, required.length_m), area.keep_outs)


def _coils(site: Site, rules: RuleSet, required: Required) -> Attempt:
    options = site.exchanger.pond
    area = available_area(site, rules, "coil", reach_m=options.coil_diameter_m / 2)
    waters = tuple(
        Water(pond.id, shape, depth_m)
        for pond in site.of_kind("pond")
        for depth_m, shape in _coil_water(site, pond, area)
    )
    ground = _ground(site, rules, shapely.union_all([w.area for w in waters]), site.of_kind("pond"))
    return Attempt(lay_out_coils(ground, options, required.length_m, waters), area.keep_outs)


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


def _wells(site: Site, rules: RuleSet, _: Required) -> Attempt:
    nearby = rules.farthest_return()
    options = site.exchanger.open
    if nearby is not None:
        options = replace(options, farthest_m=nearby.distance_m)
    reach = options.diameter_m / 2
    supply = available_area(site, rules, "supply well", reach_m=reach)
    back = available_area(site, rules, "return well", reach_m=reach)
    existing = next((f for f in site.features if f.id == options.supply), None)
    through = (existing,) if existing is not None else ()
    ground = _ground(site, rules, supply.shape, through)
    layout = lay_out_wells(ground, options, back.shape, existing)
    return Attempt(layout, supply.keep_outs + back.keep_outs)


ENGINES: dict[System, Callable[[Site, RuleSet, Required], Attempt]] = {
    "horizontal": _trenches,
    "vertical": _bores,
    "pond": _coils,
    "open": _wells,
}
