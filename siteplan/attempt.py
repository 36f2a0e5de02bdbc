"""One loop type laid out on one lot by its engine; and the most of it the lot holds."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace

from shapely.geometry.base import BaseGeometry

from siteplan.available import KeepOut
from siteplan.geometry.packing import pack_rows
from siteplan.grounds import Prepared, prepare
from siteplan.layout.header import reachable_area
from siteplan.layout.horizontal import lay_out_trenches
from siteplan.layout.model import Layout
from siteplan.layout.open_loop import lay_out_wells
from siteplan.layout.pad import lay_out_pad
from siteplan.layout.pond import lay_out_coils
from siteplan.layout.trenches import fit_trenches, total_length
from siteplan.layout.vertical import lay_out_bores
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Exchanger, Site, System


@dataclass(frozen=True, slots=True)
class Attempt:
    """A layout and the keep-outs it was made under."""

    layout: Layout
    keep_outs: tuple[KeepOut, ...]


def attempt(site: Site, rules: RuleSet, system: System, required_m: float) -> Attempt:
    """Layout of one loop type on one site, as its engine believes in it."""
    prepared = prepare(site, rules, system)
    layout = ENGINES[system](prepared, site, rules, required_m)
    return Attempt(layout, prepared.keep_outs)


def capacity_of(site: Site, rules: RuleSet, system: System) -> float:
    """Exchanger length that the lot was found to hold in straight rows, no header laid [m].

    A quick figure to compare rules, spacings and depths with; 0 for an open loop.
    """
    area = reachable_area(prepare(site, rules, system).ground)
    if area.is_empty:
        return 0.0
    return _CAPACITIES[system](area, site.exchanger)


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
    lines = fit_trenches(
        area,
        options.spacing_m,
        shortest=options.shortest_m,
        longest=options.longest_m,
        shape="straight",
    )
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
