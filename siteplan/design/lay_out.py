"""One loop type laid out on one lot by its engine; and the most of it the lot holds."""

from __future__ import annotations

from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.available.access import what_stops
from siteplan.available.area import WALL_GAP_M, KeepOut
from siteplan.available.ground import Prepared, prepare
from siteplan.available.prepared import PreparedLot
from siteplan.available.way_in import way_in
from siteplan.design.loop_types import Capacity, record_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.grid import stands
from siteplan.layout.elements import Bore
from siteplan.layout.header.router import reachable_area
from siteplan.layout.in_rows import fullest_rows
from siteplan.layout.model import Access, Ground, Layout
from siteplan.site.model import System

NOUNS = {"rig": "drill rig", "excavator": "excavator"}
"""What machines are called where trades meet."""
LEAST_MISSED_M2 = 0.5
"""Ground out of a machine's reach that is not worth a word [m2]."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """A layout, the keep-outs it was made under, and the ground that its engine saw.

    ``asked_m`` is the length that was asked for [m].
    """

    layout: Layout
    keep_outs: tuple[KeepOut, ...]
    ground: Ground
    asked_m: float


def attempt(lot: PreparedLot, system: System, required_m: float) -> Attempt:
    """Layout of one loop type on one lot, as its engine believes in it, without a machine's way."""
    record = record_of(system)
    prepared = prepare(lot, record.ground)
    layout = record.engine(prepared, lot.site, lot.rules, required_m)
    return Attempt(layout, prepared.keep_outs, prepared.ground, required_m)


def reached(lot: PreparedLot, made: Attempt) -> Attempt:
    """The same with the way in of its machine, if it has one.

    It is found once for the layout that is taken: on the way to that many are laid out.
    """
    record = record_of(made.layout.system)
    if not record.facts.machine:
        return made
    prepared = prepare(lot, record.ground)
    return replace(made, layout=_with_access(lot, made.layout, made.asked_m, prepared))


def with_way_in(layout: Layout, lot: PreparedLot) -> Layout:
    """The layout with the way in of its machine to where its elements lie, if it has one.

    Where elements stand already and nothing is left to be made no machine has to come.
    """
    reached = lot.machine_ground(layout.system)
    if reached is None or (layout.elements and not layout.new):
        return layout
    way = way_in(lot.site, reached, layout.new, lot.memory)
    access = Access(way, reached.machine.width_m, machine=reached.machine.kind)
    return replace(layout, access=access)


def _with_access(lot: PreparedLot, layout: Layout, required_m: float, prepared: Prepared) -> Layout:
    """The layout with the machine's way in, and what the way in costs."""
    site, reached = lot.site, lot.machine_ground(layout.system)
    record = record_of(layout.system)
    layout = with_way_in(layout, lot)
    access = layout.access
    if reached is None or access is None or layout.by_hand:
        return layout
    machine = reached.machine.kind
    # laid out again without the machine: only so can be said what the machine alone costs
    anywhere = lot.with_exchanger(replace(site.exchanger, rig=None, excavator=None))
    open_ground = prepare(anywhere, record.ground)
    areas = [_new_area(ground) for ground in (open_ground, prepared)]
    missed = areas[0].difference(areas[1])
    # rasters and offsets leave slivers: they are no loss to report
    if missed.area < LEAST_MISSED_M2:
        return layout
    because = what_stops(site, reached, missed)
    lost, lost_m = _lost(areas, lot, layout), 0.0
    if layout.loop.dug and record.capacity is not None:
        held = [_held(lot, record.capacity, area) for area in areas]
        lost_m = max(0.0, held[0] - held[1])
    decisive, obstacle = False, layout.obstacle
    if layout.obstacle:
        free = record.engine(open_ground, anywhere.site, lot.rules, required_m)
        # it fits without the machine's limits: then a smaller machine is the advice, else it would
        # not help
        decisive = not free.obstacle
        if machine == "rig":
            lost = max(lost, len(free.elements) - len(layout.elements))
        lost_m = max(lost_m, free.capacity_m - layout.capacity_m) if machine == "excavator" else 0.0
    if obstacle and areas[1].is_empty:
        obstacle = _out_of_reach(prepared, NOUNS[machine], because)
    elif obstacle and decisive:
        obstacle = reason(
            "room-but-for-machine", obstacle=obstacle, machine=machine, because=because
        )
    access = replace(access, lost=lost, because=because, decisive=decisive, lost_m=lost_m)
    return replace(layout, access=access, obstacle=obstacle)


def _out_of_reach(prepared: Prepared, machine: str, because: Reason) -> Reason:
    """Why no place is left that both machine and header get to."""
    if prepared.ground.area.is_empty:
        return reason("machine-gets-nowhere", machine=machine, because=because)
    return reason("header-and-machine-apart", machine=machine, gap_m=WALL_GAP_M, because=because)


def _new_area(prepared: Prepared) -> BaseGeometry:
    """Where something new may be drilled so that a header reaches it."""
    ground = prepared.ground
    if prepared.back is not None:
        taken = () if prepared.existing is not None else (ground.area,)
        both = shapely.union_all([prepared.back, *taken])
        return reachable_area(replace(ground, area=both))
    return reachable_area(ground)


def _lost(areas: list[BaseGeometry], lot: PreparedLot, layout: Layout) -> int:
    """How many more upright bores straight rows hold in the first area than in the second."""
    options = lot.site.exchanger.vertical
    if layout.loop.kind != Bore.kind or options.pad is not None:
        return 0
    bores, memory = len(layout.elements), lot.memory
    packed = [fullest_rows(area, options.spacing_m, bores, memory) for area in areas]
    held = [sum(len(rows.points) for rows in patterns) for patterns in packed]
    return max(0, held[0] - held[1])


def capacity_of(lot: PreparedLot, system: System) -> float:
    """Exchanger length that the lot was found to hold in straight rows, no header laid [m].

    A quick figure to compare rules, spacings and depths with; 0 for an open loop.
    """
    record = record_of(system)
    if record.capacity is None:
        return 0.0
    area = reachable_area(prepare(lot, record.ground).ground)
    return _held(lot, record.capacity, area)


def _held(lot: PreparedLot, capacity: Capacity, area: BaseGeometry) -> float:
    """Exchanger length that straight rows hold on an area of the lot [m]."""
    return 0.0 if area.is_empty else lot.memory.of(capacity, area, lot.site.exchanger)


def has_room(lot: PreparedLot, system: System, required_m: float) -> bool:
    """Whether straight rows hold the length required, or the count or grid of bores asked for."""
    options, record = lot.site.exchanger.vertical, record_of(system)
    of_bores = record.facts.kind == Bore.kind
    if of_bores and options.as_typed:
        area = reachable_area(prepare(lot, record.ground).ground)
        return not area.is_empty and stands(area, options)
    if of_bores and options.count is not None:
        required_m = max(required_m, options.count * options.depth_most_m)
    return capacity_of(lot, system) >= required_m - TOLERANCE
