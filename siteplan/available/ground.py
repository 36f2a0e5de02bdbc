"""The ground that each loop type's engine gets to see of a site under its rules."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Final

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.available.area import THIN_M, AvailableArea, KeepOut, wall_entries, why_not
from siteplan.available.prepared import PreparedLot, reach_of
from siteplan.available.spared import spared_ground
from siteplan.findings.model import Reason, reason
from siteplan.geometry.lines.sweep import joined_polygons
from siteplan.geometry.offset import keep_inside
from siteplan.layout.header.shore import gated
from siteplan.layout.model import Ground, Spared, Strip
from siteplan.layout.pond import Water
from siteplan.ponds.bottom import bottom_of, well_inside
from siteplan.rules.ruleset import RuleSet
from siteplan.site.loop_options import staked
from siteplan.site.model import Feature, Site, System
from siteplan.site.walls import served_building
from siteplan.vocabulary.kinds import kinds

BANK_M: Final = 0.1
"""From the outline of a pond or stream to the nearest end of an outfall [m]."""
BANK_WIDE_M: Final = 0.4
"""Ground beside it in which an outfall may end [m]."""


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


GroundOf = Callable[[PreparedLot], Prepared]
"""What prepares the ground of a loop type."""


def prepare(lot: PreparedLot, ground_of: GroundOf) -> Prepared:
    """Ground of a loop type on a lot: where its parts may lie, and the header run.

    Worked out once: a length is laid out until it agrees with what it needs.
    """
    prepared = lot.memory.of(ground_of, replace(lot, draft=False))
    # one taken over from an earlier plan must not go on filling the memory of that
    spared = () if lot.draft else prepared.ground.spared
    return replace(prepared, ground=replace(prepared.ground, memory=lot.memory, spared=spared))


def ground_with(lot: PreparedLot, area: BaseGeometry, through: tuple[Feature, ...] = ()) -> Ground:
    """What an engine gets to see where its elements may lie in an area.

    ``through``: features that the header enters all the same.
    """
    exempt = {feature.id for feature in through}
    marked = tuple(
        feature
        for feature in lot.site.features
        if kinds()[feature.kind].crossing == "mark" and feature.id not in exempt
    )
    passable = lot.header_area(through)
    entries, strips = wall_entries(lot.site), tuple(_strips(lot, marked))
    entered = shapely.union_all([feature.shape for feature in through]) if through else None
    return Ground(area, passable, entries, marked, lot.site.unit, strips=strips, entered=entered)


def _strips(lot: PreparedLot, marked: tuple[Feature, ...]) -> Iterator[Strip]:
    """Ground beside each line along which the header may not run, by each rule that holds."""
    measuring = lot.rules.measuring
    for feature in marked:
        for rule in lot.rules.alongside(feature):
            more_m = lot.site.exchanger.allowance_m
            reach = measuring.beside(rule, feature) + more_m
            leaving = measuring.leaving(rule, feature)
            yield Strip(feature.id, feature.shape, reach, leaving, more_m)


def _spared(lot: PreparedLot) -> tuple[Spared, ...]:
    site = lot.site
    # of another entry only the house matters that it serves
    house = served_building(site.of_kind("building"), site.entries)
    return lot.memory.of(spared_ground, site.parcel, site.features, house)


def ground_of_trenches(lot: PreparedLot) -> Prepared:
    """Where trenches may be dug, and where their sides may open."""
    reach = reach_of("trench", lot.site.exchanger)
    area = lot.area("trench", reach_m=reach)
    reached = within_reach(lot, "horizontal", area.shape)
    opened = lot.area("trench", reach_m=0.0).shape
    ground = ground_with(lot, reached)
    whole = within_reach(lot, "horizontal", opened)
    ground = replace(ground, whole=whole, spared=_spared(lot))
    return Prepared(ground, area.keep_outs)


def ground_of_bores(lot: PreparedLot) -> Prepared:
    """Where bores may begin, and what inclined ones may pass under."""
    reach = reach_of("bore", lot.site.exchanger)
    area = lot.area("bore", reach_m=reach)
    under = lot.area_below(reach_m=reach) if lot.site.exchanger.vertical.pad else None
    reached = within_reach(lot, "vertical", area.shape)
    ground = replace(ground_with(lot, reached), spared=_spared(lot))
    return Prepared(ground, area.keep_outs, under=under)


def within_reach(lot: PreparedLot, system: System, area: BaseGeometry) -> BaseGeometry:
    """The part of an area where the loop type's machine can work, where that is known."""
    ground = lot.machine_ground(system)
    return area if ground is None else joined_polygons(area.intersection(ground.area))


def ground_of_coils(lot: PreparedLot) -> Prepared:
    """Where coils may lie in the ponds."""
    reach = reach_of("coil", lot.site.exchanger)
    area = lot.area("coil", reach_m=reach)
    waters = tuple(
        water for pond in lot.site.of_kind("pond") for water in _coil_waters(lot, pond, area)
    )
    wet = shapely.union_all([water.area for water in waters])
    ground = ground_with(lot, wet, lot.site.of_kind("pond"))
    return Prepared(_by_shore_entries(ground, lot.site.of_kind("pond")), area.keep_outs, waters)


def _by_shore_entries(ground: Ground, ponds: tuple[Feature, ...]) -> Ground:
    """The ground of a header that comes into ponds where their shore entries are stated."""
    stated = [(pond, entry.at) for pond in ponds for entry in pond.survey.shore_entries]
    passable = ground.passable
    for pond, at in stated:
        passable = gated(passable, pond.shape.boundary, at)
    places = tuple((float(at.x), float(at.y)) for _, at in stated)
    return replace(ground, passable=passable, shore_entries=places)


def shore_entry_kept_off(site: Site, rules: RuleSet) -> Reason | None:
    """What keeps the header off a shore entry that is stated; None where nothing does."""
    for pond in site.of_kind("pond"):
        for entry in pond.survey.shore_entries:
            why = why_not(site, rules, "header", float(entry.at.x), float(entry.at.y))
            others = tuple(dict.fromkeys(one.feature for one in why if one.feature != pond.id))
            if others:
                return reason("shore-entry-kept-off", entry=entry.id, pond=pond.id, by=others)
    return None


def _coil_waters(lot: PreparedLot, pond: Feature, area: AvailableArea) -> Iterator[Water]:
    """The one piece of a pond where coil centres may lie; none where its depth is not known."""
    options, bottom = staked(lot.site.exchanger).pond, lot.memory.of(bottom_of, pond)
    if bottom is None:
        return
    reach = options.coil_diameter_m / 2
    # the whole coil lies in deep water, not its centre only, and its top under so much
    # also where it comes to lie as far off its place as a stake may
    sunk = reach + lot.site.exchanger.allowance_m
    deep = well_inside(bottom.at_least(options.water_depth_m + options.height_m), sunk)
    shore = keep_inside(pond.shape, options.shore_m + reach)
    water = deep.intersection(shore).intersection(area.shape)
    yield Water(pond.id, joined_polygons(water), options.water_depth_m, bottom)


def ground_of_wells(lot: PreparedLot) -> Prepared:
    """Where a supply well may stand, and where a return well."""
    options = lot.site.exchanger.open
    reach = reach_of("supply well", lot.site.exchanger)
    supply = lot.area("supply well", reach_m=reach)
    back = lot.area("return well", reach_m=reach)
    existing = next((f for f in lot.site.features if f.id == options.supply), None)
    through = (existing,) if existing is not None else ()
    ground = ground_with(lot, within_reach(lot, "open", supply.shape), through)
    if options.outfall:
        bank = _bank(lot, options.outfall)
        return Prepared(ground, supply.keep_outs, back=bank, existing=existing)
    keep_outs = supply.keep_outs + back.keep_outs
    returned = within_reach(lot, "open", back.shape)
    return Prepared(ground, keep_outs, back=returned, existing=existing)


def _bank(lot: PreparedLot, water: str) -> BaseGeometry:
    """Where the header may end at the edge of a pond or stream."""
    drawn = next(feature for feature in lot.site.features if feature.id == water)
    shape = drawn.ground
    edge_m = BANK_M if shape.area else THIN_M
    strip = shape.buffer(edge_m + BANK_WIDE_M).difference(shape.buffer(edge_m))
    return joined_polygons(lot.header_area().intersection(strip))
