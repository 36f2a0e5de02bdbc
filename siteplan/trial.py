"""One loop type tried on one lot: available area, layout, second opinion, and why."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.available import AvailableArea, KeepOut, available_area, header_area, wall_entries
from siteplan.checks.check import LENGTH, NO_HEADER, check_layout, water_depth
from siteplan.checks.model import Finding, Separation
from siteplan.checks.separations import separations
from siteplan.demand.model import Required
from siteplan.demand.required import required_of
from siteplan.errors import CheckError
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
from siteplan.units import format_flow, format_length

PARTS: dict[System, tuple[Part, ...]] = {
    "horizontal": ("trench",),
    "vertical": ("bore",),
    "pond": ("coil",),
    "open": ("supply well", "return well"),
}
MEASURE: dict[System, str] = {
    "horizontal": "trench",
    "vertical": "bore",
    "pond": "pond pipe",
    "open": "well water",
}


AMPLE_PERCENT = 200
"""From here on the spare length is not worth a figure."""


@dataclass(frozen=True, slots=True)
class Trial:
    """What came of one loop type.

    Parameters
    ----------
    system
        Loop type.
    required
        What it must hold; None where the site file does not say.
    layout
        What was laid out; None where nothing could be tried.
    keep_outs
        What the rules took off the parcel for its parts.
    separations
        Least distance for each rule.
    findings
        What the checks say.
    why
        Why it fits, or what stops it, in one sentence.
    fits
        Whether it provides what is required and every check passes.
    """

    system: System
    required: Required | None
    layout: Layout | None
    keep_outs: tuple[KeepOut, ...]
    separations: tuple[Separation, ...]
    findings: tuple[Finding, ...]
    why: str
    fits: bool


@dataclass(frozen=True, slots=True)
class Attempt:
    """A layout and the keep-outs it was made under."""

    layout: Layout
    keep_outs: tuple[KeepOut, ...]


def try_system(site: Site, rules: RuleSet, system: System) -> Trial:
    """Outcome of one loop type on one site.

    Raises
    ------
    CheckError
        The engine and the independent check disagree: a bug, not a property of the lot.
    """
    required = required_of(site.exchanger, system, site.unit)
    stopped = _no_pond(site) if system == "pond" else ""
    if required is None:
        return _untried(system, None, stopped or _unsaid(system))
    stopped = stopped or (_no_water(site, required) if system == "open" else "")
    if stopped:
        return _untried(system, required, stopped)
    attempt = ENGINES[system](site, rules, required)
    measured = separations(site, attempt.layout, rules)
    findings = check_layout(site, attempt.layout, measured, required.length_m)
    _refuse_a_bug(attempt.layout, findings)
    fits = not attempt.layout.obstacle and not any(f.severity == "error" for f in findings)
    return Trial(
        system=system,
        required=required,
        layout=attempt.layout,
        keep_outs=attempt.keep_outs,
        separations=measured,
        findings=(*findings, *_remarks(site, attempt.layout, required)),
        why=_why(site, attempt.layout, required, fits=fits),
        fits=fits,
    )


def _untried(system: System, required: Required | None, why: str) -> Trial:
    finding = Finding("not-tried", "note", f"{system}: {why}")
    return Trial(system, required, None, (), (), (finding,), why, fits=False)


def _unsaid(system: System) -> str:
    if system == "open":
        return "no flow is required: give [open] flow, or [exchanger] capacity"
    return f"no length of {MEASURE[system]} is required: give [{system}] length, or a capacity"


def _no_pond(site: Site) -> str:
    """What rules out pond coils before any laying out; empty where nothing does."""
    if not site.of_kind("pond"):
        return "no pond on this lot"
    if not any(_depths(pond) for pond in site.of_kind("pond")):
        return "the water depth of the pond is unknown"
    return ""


def _no_water(site: Site, required: Required) -> str:
    """What rules out a well pair before any laying out; empty where nothing does."""
    supply = site.exchanger.open.yield_m3s
    if supply is None:
        return "no well yield is known: give [open] yield from a pumping test or a well log"
    if supply < required.flow_m3s:
        return (
            f"the well yields {format_flow(supply, site.unit, rounding='down')}, "
            f"{format_flow(required.flow_m3s, site.unit, rounding='up')} are required"
        )
    return ""


def _refuse_a_bug(layout: Layout, findings: tuple[Finding, ...]) -> None:
    expected = (LENGTH, NO_HEADER) if layout.obstacle else ()
    wrong = [f.message for f in findings if f.severity == "error" and f.code not in expected]
    if wrong:
        raise CheckError(
            f"The {layout.system} layout does not pass the independent check, so nothing was "
            "written. This is a fault of siteplan, not of the lot; please report it with the "
            "site file:\n" + "\n".join(wrong)
        )


def _why(site: Site, layout: Layout, required: Required, *, fits: bool) -> str:
    if layout.system == "open":
        flow = format_flow(required.flow_m3s, site.unit, rounding="up")
        return layout.obstacle or f"a supply and a return well fit for {flow}"
    capacity = format_length(layout.capacity_m, site.unit, 0, rounding="down")
    needed = format_length(required.length_m, site.unit, 0, rounding="up")
    takes = f"takes {capacity} of {MEASURE[layout.system]}, {needed} are required"
    if fits:
        spare = int(100 * (layout.capacity_m / required.length_m - 1) + TOLERANCE)
        return f"{takes}: {f'{spare} % to spare' if spare < AMPLE_PERCENT else 'ample room'}"
    short = max(required.length_m - layout.capacity_m, 0.0)
    if short > TOLERANCE:
        takes += f": {format_length(short, site.unit, 0, rounding='up')} short"
    return f"{takes}; {layout.obstacle}" if layout.obstacle else takes


def _remarks(site: Site, layout: Layout, required: Required) -> tuple[Finding, ...]:
    """Notes and warnings that do not stop a plan but that somebody must read."""
    remarks = []
    if required.basis == "screening":
        remarks.append(
            Finding(
                "screening-length",
                "warning",
                f"The length required is {required.reason}. Have it calculated before permit.",
            )
        )
    if layout.header is not None:
        remarks.extend(
            Finding(
                "crossing",
                "warning",
                f"The header crosses {crossing.feature} ({crossing.kind}): expose it by hand "
                "or bore under it, as its owner requires.",
                subject=crossing.feature,
            )
            for crossing in layout.header.crossings
        )
    if site.exchanger.length is not None and _length_is_shared(site):
        remarks.append(
            Finding(
                "shared-length",
                "note",
                "One given length is used for trench, bore and pond pipe alike: give "
                f"[{layout.system}] length where they differ.",
            )
        )
    return tuple(remarks)


def _length_is_shared(site: Site) -> bool:
    wanted = site.exchanger
    return wanted.system is None and None in (
        wanted.horizontal.length,
        wanted.vertical.length,
        wanted.pond.length,
    )


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


def _depths(pond: Feature) -> tuple[tuple[float, BaseGeometry], ...]:
    """Water depths known in a pond, each with the water that is at least so deep."""
    if pond.contours:
        return tuple((contour.depth_m, contour.shape) for contour in pond.contours)
    depth = water_depth(pond.depth_m, ())
    return ((depth, pond.shape),) if depth > 0 else ()


def _coil_water(
    site: Site, pond: Feature, area: AvailableArea
) -> tuple[tuple[float, BaseGeometry], ...]:
    """The one piece of a pond where coil centres may lie, with its least water depth."""
    options = site.exchanger.pond
    deep = [
        (depth, shape)
        for depth, shape in _depths(pond)
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
    options = site.exchanger.open
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
