"""One loop type laid out on one lot by its engine; and the most of it the lot holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.available.access import DRILLED, machine_ground, way_in, what_stops
from siteplan.available.area import WALL_GAP_M, KeepOut
from siteplan.available.ground import Prepared, prepare
from siteplan.findings.model import Reason, reason
from siteplan.geometry.lines.directions import Search, ranked_rows
from siteplan.geometry.lines.sweep import polygonal, rings_of
from siteplan.geometry.points.packing import pack_rows
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.grid import grid_stands
from siteplan.layout.bores.inclined import lay_out_pad
from siteplan.layout.bores.upright import lay_out_bores
from siteplan.layout.header.router import reachable_area
from siteplan.layout.model import Access, Ground, Layout
from siteplan.layout.open_loop import lay_out_wells
from siteplan.layout.pond import lay_out_coils
from siteplan.layout.trenches.field import lay_out_trenches
from siteplan.layout.trenches.fit import lines_of, total_length, trench_rule
from siteplan.preferences.table import count_of, figure_of
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Exchanger, Site, System

NOUNS = {"rig": "drill rig", "digger": "digger"}
"""What machines are called where trades meet."""
FAIR = Search(
    step_deg=figure_of("design.lay_out.fair_step_deg"),
    edges=count_of("design.lay_out.fair_edges"),
    peaks=count_of("design.lay_out.fair_peaks"),
)
"""Search of directions for figures that are only compared with one another."""
LEAST_MISSED_M2 = 0.5
"""Ground out of a machine's reach that is not worth a word [m2]."""


@dataclass(frozen=True, slots=True)
class Attempt:
    """A layout, the keep-outs it was made under, and the ground that its engine saw."""

    layout: Layout
    keep_outs: tuple[KeepOut, ...]
    ground: Ground


def attempt(site: Site, rules: RuleSet, system: System, required_m: float) -> Attempt:
    """Layout of one loop type on one site, as its engine believes in it."""
    prepared = prepare(site, rules, system)
    layout = ENGINES[system](prepared, site, rules, required_m)
    if system in DRILLED or system == "horizontal":
        layout = _with_access(site, rules, layout, required_m, prepared)
    return Attempt(layout, prepared.keep_outs, prepared.ground)


def _with_access(
    site: Site, rules: RuleSet, layout: Layout, required_m: float, prepared: Prepared
) -> Layout:
    """The layout with the machine's way in, and what the way in costs."""
    reached = machine_ground(site, layout.system)
    if reached is None:
        return layout
    machine = reached.machine.kind
    way = way_in(site, reached, layout.elements)
    access = Access(way, reached.machine.width_m, machine=machine)
    if layout.by_hand:
        return replace(layout, access=access)
    anywhere = replace(site, exchanger=replace(site.exchanger, rig=None, digger=None))
    open_ground = prepare(anywhere, rules, layout.system)
    areas = [_new_area(one) for one in (open_ground, prepared)]
    missed = areas[0].difference(areas[1])
    if missed.area < LEAST_MISSED_M2:
        return replace(layout, access=access)
    because = what_stops(site, reached, missed)
    lost, lost_m = _lost(areas, site, layout), 0.0
    if layout.system == "horizontal":
        held = [0.0 if one.is_empty else _trench_length(one, site.exchanger) for one in areas]
        lost_m = max(0.0, held[0] - held[1])
    decisive, obstacle = False, layout.obstacle
    if layout.obstacle:
        free = ENGINES[layout.system](open_ground, anywhere, rules, required_m)
        decisive = not free.obstacle
        if machine == "rig":
            lost = max(lost, len(free.elements) - len(layout.elements))
        lost_m = max(lost_m, free.capacity_m - layout.capacity_m) if machine == "digger" else 0.0
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


def _lost(areas: list[BaseGeometry], site: Site, layout: Layout) -> int:
    """How many more upright bores straight rows hold in the first area than in the second."""
    if layout.system != "vertical" or site.exchanger.vertical.pad is not None:
        return 0
    spacing = site.exchanger.vertical.spacing_m
    held = [sum(len(rows.points) for rows in pack_rows(area, spacing)) for area in areas]
    return max(0, held[0] - held[1])


def capacity_of(site: Site, rules: RuleSet, system: System) -> float:
    """Exchanger length that the lot was found to hold in straight rows, no header laid [m].

    A quick figure to compare rules, spacings and depths with; 0 for an open loop.
    """
    area = reachable_area(prepare(site, rules, system).ground)
    if area.is_empty:
        return 0.0
    return _CAPACITIES[system](area, site.exchanger)


def has_room(site: Site, rules: RuleSet, system: System, required_m: float) -> bool:
    """Whether straight rows hold the length required, or the count or grid of bores asked for."""
    options = site.exchanger.vertical
    if system == "vertical" and options.grid is not None:
        area = reachable_area(prepare(site, rules, system).ground)
        return not area.is_empty and grid_stands(area, options.grid)
    if system == "vertical" and options.count is not None:
        required_m = max(required_m, options.count * options.depth_most_m)
    return capacity_of(site, rules, system) >= required_m - TOLERANCE


def _trenches(prepared: Prepared, site: Site, _: RuleSet, required_m: float) -> Layout:
    return lay_out_trenches(prepared.ground, site.exchanger.horizontal, required_m)


def _bores(prepared: Prepared, site: Site, _: RuleSet, required_m: float) -> Layout:
    options = site.exchanger.vertical
    if prepared.under is not None:
        return lay_out_pad(prepared.ground, options, required_m, prepared.under)
    return lay_out_bores(prepared.ground, options, required_m)


def _coils(prepared: Prepared, site: Site, _: RuleSet, required_m: float) -> Layout:
    return lay_out_coils(prepared.ground, site.exchanger.pond, required_m, prepared.waters)


def _wells(prepared: Prepared, site: Site, rules: RuleSet, _: float) -> Layout:
    nearby = rules.farthest_return()
    options = site.exchanger.open
    if nearby is not None:
        options = replace(options, farthest_m=nearby.distance_m)
    back = prepared.back if prepared.back is not None else prepared.ground.area
    return lay_out_wells(prepared.ground, options, back, prepared.existing)


def _trench_length(area: BaseGeometry, wanted: Exchanger) -> float:
    options = wanted.horizontal
    ground = polygonal(area)
    rule = trench_rule(
        ground, options.spacing_m, shortest=options.shortest_m, longest=options.longest_m
    )
    rings = rings_of(ground)
    ranked = ranked_rows(rings, rule, FAIR) if rings else []
    lines = lines_of(ground, rule, ranked[0]) if ranked else []
    return total_length(lines)


def _bore_length(area: BaseGeometry, wanted: Exchanger) -> float:
    patterns = pack_rows(area, wanted.vertical.spacing_m)
    return sum(len(pattern.points) for pattern in patterns) * wanted.vertical.depth_most_m


def _pond_pipe(area: BaseGeometry, wanted: Exchanger) -> float:
    options = wanted.pond
    patterns = pack_rows(area, options.coil_diameter_m + options.gap_m)
    return sum(len(pattern.points) for pattern in patterns) * options.pipe_per_coil_m


ENGINES: dict[System, Callable[[Prepared, Site, RuleSet, float], Layout]] = {
    "horizontal": _trenches,
    "vertical": _bores,
    "pond": _coils,
    "open": _wells,
}

_CAPACITIES: dict[System, Callable[[BaseGeometry, Exchanger], float]] = {
    "horizontal": _trench_length,
    "vertical": _bore_length,
    "pond": _pond_pipe,
    "open": lambda area, wanted: 0.0,  # noqa: ARG005 - an open loop has no length
}
