"""One record for each loop type: its facts, and what it does.

This is the one place where a loop type is put together: what it is called and made of stands in
``vocabulary/loop_types.toml``, how its ground is prepared in ``available/``, its engine in
``layout/``.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from shapely.geometry.base import BaseGeometry

from siteplan.available.ground import (
    GroundOf,
    Prepared,
    ground_of_bores,
    ground_of_coils,
    ground_of_trenches,
    ground_of_wells,
    shore_entry_kept_off,
)
from siteplan.demand.model import Required
from siteplan.demand.neighbours import neighbours_of
from siteplan.demand.required import required_of
from siteplan.demand.wells import groundwater_flow, separation_wished
from siteplan.findings.model import Reason, reason
from siteplan.geometry.frame import OwnFrame
from siteplan.geometry.lines.sweep import polygonal
from siteplan.geometry.points.packing import pack_rows
from siteplan.layout.bores.drafted import draft_bores
from siteplan.layout.bores.inclined import lay_out_pad
from siteplan.layout.bores.upright import lay_out_bores
from siteplan.layout.counting import ROUNDING_SLACK
from siteplan.layout.model import Ground, Layout
from siteplan.layout.open_loop import NO_WISH, WellWish, lay_out_placed, lay_out_wells
from siteplan.layout.own_frame import laid_alike
from siteplan.layout.pond import lay_out_coils, lay_out_placed_coils
from siteplan.layout.trenches.by_hand import lay_out_runs
from siteplan.layout.trenches.field import lay_out_trenches, straight_length
from siteplan.layout.trenches.fit import trench_rule
from siteplan.ponds.bottom import bottom_of
from siteplan.rules.ruleset import RuleSet
from siteplan.site.loop_options import staked
from siteplan.site.model import Exchanger, Site, System
from siteplan.site.open_loop import OpenOptions
from siteplan.site.pond_survey import LIQUID_C
from siteplan.vocabulary.loop_types import LoopType, loop_type, made_of

LEAST_WATER_M2: Final = 1.0
"""Area of a pond that lies on the lot at least, as a coil is as large; common practice, no source
[m2]."""

Engine = Callable[[Prepared, Site, RuleSet, float], Layout]
"""Lays out so much exchanger length [m], or all that fits."""
Drafts = Callable[[Prepared, Site, float], Layout | None]
"""Lays out so much exchanger length [m] at once, without a header; None: that cannot be done."""
Capacity = Callable[[BaseGeometry, Exchanger], float]
"""Exchanger length that straight rows hold in an area [m]."""
Stops = Callable[[Site, Required | None], Reason | None]
"""What rules a loop type out before it is laid out, with what is required where that is known."""


def _nothing(_: Site, __: Required | None) -> Reason | None:
    return None


@dataclass(frozen=True, slots=True)
class LoopRecord:
    """A loop type.

    Parameters
    ----------
    facts
        What it is called and made of.
    ground
        Prepares the ground that its engine gets to see.
    engine
        Lays it out.
    drafts
        Lays it out at once, to see what it is likely to need; None: it is laid out as quickly.
    capacity
        Holds how much in straight rows; None: that is not counted.
    stops
        What rules it out before it is laid out.
    nowhere
        Codes of what stops it where the lot has nothing to lay it in: no length is asked for then.
    """

    facts: LoopType
    ground: GroundOf
    engine: Engine
    drafts: Drafts | None = None
    capacity: Capacity | None = None
    stops: Stops = _nothing
    nowhere: tuple[str, ...] = ()


def record_of(system: System) -> LoopRecord:
    """Record of a loop type."""
    return RECORDS[system]


def _trenches(prepared: Prepared, site: Site, _: RuleSet, required_m: float) -> Layout:
    if site.exchanger.horizontal.placed:
        return lay_out_runs(prepared.ground, site.exchanger.horizontal)
    options = staked(site.exchanger).horizontal
    return laid_alike(prepared.ground, lambda own, _: lay_out_trenches(own, options, required_m))


def _bores(prepared: Prepared, site: Site, _: RuleSet, required_m: float) -> Layout:
    options = staked(site.exchanger).vertical
    if prepared.under is not None:
        return lay_out_pad(prepared.ground, options, required_m, prepared.under)
    neighbours = prepared.ground.memory.of(neighbours_of, site.exchanger)
    return lay_out_bores(prepared.ground, options, required_m, neighbours)


def _drafted_bores(prepared: Prepared, site: Site, required_m: float) -> Layout | None:
    options = staked(site.exchanger).vertical
    if prepared.under is not None:
        return None
    neighbours = prepared.ground.memory.of(neighbours_of, site.exchanger)
    return draft_bores(prepared.ground, options, required_m, neighbours)


def _coils(prepared: Prepared, site: Site, rules: RuleSet, required_m: float) -> Layout:
    if site.exchanger.pond.placed:
        ponds = site.of_kind("pond")
        return lay_out_placed_coils(prepared.ground, site.exchanger.pond, ponds)
    options = staked(site.exchanger).pond
    layout = lay_out_coils(prepared.ground, options, required_m, prepared.waters)
    kept_off = shore_entry_kept_off(site, rules) if layout.obstacle is not None else None
    return layout if kept_off is None else replace(layout, obstacle=kept_off)


def _wells(prepared: Prepared, site: Site, rules: RuleSet, _: float) -> Layout:
    nearby = rules.farthest_return()
    wanted, known = site.exchanger.open, prepared.existing
    if wanted.return_at is not None and (wanted.supply_at is not None or known is not None):
        return lay_out_placed(prepared.ground, wanted, known)
    options = staked(site.exchanger).open
    if nearby is not None and not options.outfall:
        options = _within(options, nearby.distance_m, site.exchanger)
    back = prepared.back if prepared.back is not None else prepared.ground.area
    wish = _well_wish(prepared, site)

    def lay(own: Ground, frame: OwnFrame) -> Layout:
        well = known and replace(known, shape=frame.into(known.shape))
        towards = wish.downstream and frame.turned(wish.downstream)
        there = replace(wish, downstream=towards)
        return lay_out_wells(own, _turned(options, frame), frame.into(back), well, there)

    return laid_alike(prepared.ground, lay)


def _turned(options: OpenOptions, frame: OwnFrame) -> OpenOptions:
    """Options of wells, with the places that are given by hand in a frame of the ground's own."""

    def there(at: tuple[float, float] | None) -> tuple[float, float] | None:
        if at is None:
            return None
        ((x, y),) = frame.points_into(np.array([at])).tolist()
        return x, y

    return replace(options, supply_at=there(options.supply_at), return_at=there(options.return_at))


def _well_wish(prepared: Prepared, site: Site) -> WellWish:
    """Where the water in the ground would have the return well."""
    exchanger = site.exchanger
    if exchanger.open.outfall:
        return NO_WISH
    required = required_of(exchanger, made_of("well").name)
    if required is None:
        return NO_WISH
    # wherever somebody has placed a well, the ground asks the same: it is not worked out anew
    free = replace(exchanger, open=replace(exchanger.open, supply_at=None, return_at=None))
    apart_m = prepared.ground.memory.of(separation_wished, free, required.flow_m3s)
    flow = groundwater_flow(exchanger.open.aquifer)
    speed = math.hypot(*flow)
    return WellWish(apart_m, (flow[0] / speed, flow[1] / speed) if speed else None)


def _within(options: OpenOptions, farthest_m: float, wanted: Exchanger) -> OpenOptions:
    """Options of wells that may stand no farther from one another than that [m]."""
    nearest_m = wanted.open.separation_m
    # between two limits there may be no room for the allowance: the middle is safest; where they
    # exclude one another that is said, without it
    middle_m = (nearest_m + farthest_m) / 2
    if farthest_m < nearest_m:
        return replace(options, separation_m=nearest_m, farthest_m=farthest_m)
    return replace(
        options,
        separation_m=min(options.separation_m, middle_m),
        farthest_m=max(farthest_m - wanted.allowance_m, middle_m),
    )


def _trench_length(area: BaseGeometry, wanted: Exchanger) -> float:
    options = staked(wanted).horizontal
    ground = polygonal(area)
    rule = trench_rule(
        ground, options.spacing_m, shortest=options.shortest_m, longest=options.longest_m
    )
    return straight_length(ground, rule)


def _bore_length(area: BaseGeometry, wanted: Exchanger) -> float:
    patterns = pack_rows(area, staked(wanted).vertical.spacing_m)
    return sum(len(pattern.points) for pattern in patterns) * wanted.vertical.depth_most_m


def _pond_pipe(area: BaseGeometry, wanted: Exchanger) -> float:
    options = staked(wanted).pond
    patterns = pack_rows(area, options.coil_diameter_m + options.gap_m)
    return sum(len(pattern.points) for pattern in patterns) * options.pipe_per_coil_m


def _no_pond(site: Site, _: Required | None) -> Reason | None:
    """What rules out pond coils before any laying out; None where nothing does."""
    ponds = site.of_kind("pond")
    if not ponds:
        return reason("no-pond")
    # what touches the lot is no water of it: a county's lines of shore and lot never agree
    if not any(pond.shape.intersection(site.parcel).area >= LEAST_WATER_M2 for pond in ponds):
        return reason("pond-beyond-lot", pond=ponds[0].id)
    if all(bottom_of(pond) is None for pond in ponds):
        return reason("pond-depth-unknown")
    year = site.exchanger.pond.year
    if year is None or not year.freezes:
        return None
    values = {"coldest_c": year.coldest_c, "alone_c": year.coldest_alone_c, "least_c": LIQUID_C}
    thing = site.exchanger.pond.words.short
    return reason("pond-freezes", pond=year.pond, thing=thing, **values)


def _no_water(site: Site, required: Required | None) -> Reason | None:
    """What rules out a well pair before any laying out; None where nothing does."""
    if required is None:
        return None
    supply = site.exchanger.open.yield_m3s
    if supply is None:
        return reason("no-well-yield")
    if supply < required.flow_m3s * (1 - ROUNDING_SLACK):  # 3 gpm a ton of 5 tons are 15 gpm
        return reason("well-yields-too-little", supply_m3s=supply, required_m3s=required.flow_m3s)
    return None


_ALL: Final = (
    LoopRecord(
        loop_type("horizontal"), ground_of_trenches, engine=_trenches, capacity=_trench_length
    ),
    LoopRecord(
        loop_type("pond"),
        ground_of_coils,
        engine=_coils,
        capacity=_pond_pipe,
        stops=_no_pond,
        nowhere=("no-pond", "pond-beyond-lot"),
    ),
    LoopRecord(
        loop_type("vertical"),
        ground_of_bores,
        engine=_bores,
        drafts=_drafted_bores,
        capacity=_bore_length,
    ),
    LoopRecord(loop_type("open"), ground_of_wells, engine=_wells, stops=_no_water),
)
RECORDS: Final = {record.facts.name: record for record in _ALL}
"""Every loop type by its name."""
