"""One loop type tried on one lot: its layout, the second opinion, and why."""

from __future__ import annotations

from dataclasses import dataclass, replace

from siteplan.advisories.remarks import remarks_on
from siteplan.advisories.requirements import missing_on_the_plan
from siteplan.available.area import KeepOut, wall_entries, why_not
from siteplan.available.ground import PARTS, water_depths
from siteplan.checks.check import LENGTH, NO_HEADER, check_layout
from siteplan.checks.model import Finding, Separation
from siteplan.checks.separations import separations
from siteplan.checks.typed import with_all_broken
from siteplan.demand.model import Required
from siteplan.demand.required import required_of
from siteplan.design.converge import settled
from siteplan.design.denser_trench import denser_kind
from siteplan.design.even_circuits import evened
from siteplan.design.lay_out import Attempt
from siteplan.errors import CheckError, DemandError
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Layout, Trench
from siteplan.layout.piping.pipes import with_pipes
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site, System
from siteplan.site.trench_kinds import trench_kinds
from siteplan.units.lengths import format_flow, format_length, rough

MEASURE: dict[System, str] = {
    "horizontal": "trench",
    "vertical": "bore",
    "pond": "pond pipe",
    "open": "well water",
}


AMPLE_PERCENT = 200
"""From here on the spare length is not worth a figure."""


MOST_NAMED = 8
"""Elements named in a sentence; the findings have them all."""


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


def try_system(site: Site, rules: RuleSet, system: System) -> Trial:
    """Outcome of one loop type on one site.

    Raises
    ------
    CheckError
        The engine and the independent check disagree: a bug, not a property of the lot.
    """
    stopped = _banned(rules, system) or (_no_pond(site) if system == "pond" else "")
    try:
        required = required_of(site.exchanger, system, site.unit)
        if required is None:
            return _untried(system, None, stopped or _unsaid(site, system))
        stopped = stopped or (_no_water(site, required) if system == "open" else "")
        if stopped:
            return _untried(system, required, stopped)
        required, made = settled(site, rules, required, system)
        even = evened(site, rules, required, made)
    except DemandError as error:
        return _untried(system, None, stopped or str(error))
    return _judged(even.site, rules, even.required, even.made)


def _judged(site: Site, rules: RuleSet, required: Required, made: Attempt) -> Trial:
    """A layout with its pipes, the second opinion, and what is to be said of it."""
    layout = with_pipes(made.layout, site.exchanger, required.flow_m3s, ground=made.ground)
    layout = _without_dead_ends(site, layout, required)
    measured = separations(site, layout, rules)
    judged = measured
    if layout.by_hand:
        judged = with_all_broken(measured, site, layout, rules)
    findings = check_layout(site, layout, judged, required.length_m)
    _refuse_a_bug(layout, findings)
    fits = not layout.obstacle and not any(f.severity == "error" for f in findings)
    return Trial(
        system=layout.system,
        required=required,
        layout=layout,
        keep_outs=made.keep_outs,
        separations=measured,
        findings=(
            *findings,
            *remarks_on(site, rules, layout, required, measured),
            *missing_on_the_plan(site, rules),
        ),
        why=(_broken_by_hand(layout, findings) or _why(site, rules, (layout, required), fits=fits))
        + ("" if fits or layout.elements else _blocked_entries(site, rules)),
        fits=fits,
    )


def _without_dead_ends(site: Site, layout: Layout, required: Required) -> Layout:
    """The layout, with an obstacle where too much of its trench has a pipe in no circuit."""
    balance = layout.piping.balance if layout.piping is not None else None
    trenches = [one for one in layout.elements if isinstance(one, Trench)]
    names = balance.left_over if balance is not None else ()
    if trenches and layout.header is not None and not layout.circuits:
        names = tuple(one.id for one in trenches)
    dead = sum(one.length_m / one.pipes for one in trenches if one.id in names)
    if layout.obstacle or not dead or layout.length_m - dead >= required.length_m - TOLERANCE:
        return layout
    held = format_length(layout.length_m - dead, site.unit, rough(site.unit), rounding="down")
    verb = "has a pipe that finds" if len(names) == 1 else "have pipes that find"
    return replace(layout, obstacle=f"{', '.join(names)} {verb} no way home: {held} is in circuits")


def _untried(system: System, required: Required | None, why: str) -> Trial:
    finding = Finding("not-tried", "note", f"{system}: {why}")
    return Trial(system, required, None, (), (), (finding,), why, fits=False)


def _unsaid(site: Site, system: System) -> str:
    if system == "open":
        return "no flow is required: give [open] flow, or [exchanger] capacity"
    words = f"no length of {MEASURE[system]} is required: give [{system}] length, or a capacity"
    if system == "horizontal" and site.exchanger.energy is not None:
        words += ", or [ground] swing and coldest_day for a calculated length"
    return words


def _banned(rules: RuleSet, system: System) -> str:
    """Rule that forbids a loop type here; empty where none does."""
    for part in PARTS[system]:
        rule = rules.ban(part)
        if rule is not None:
            return f"not allowed here by {rule.book} ({rule.source})"
    return ""


def _no_pond(site: Site) -> str:
    """What rules out pond coils before any laying out; empty where nothing does."""
    if not site.of_kind("pond"):
        return "no pond on this lot"
    if not any(water_depths(pond) for pond in site.of_kind("pond")):
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
    expected = (LENGTH, NO_HEADER) if layout.obstacle or layout.by_hand else ()
    wished = _typed_elements(layout)
    wrong = [
        finding.message
        for finding in findings
        if finding.severity == "error"
        and finding.code not in expected
        # what is wrong with a place that somebody typed is no fault of the engine
        and finding.subject not in wished
    ]
    if wrong:
        raise CheckError(
            f"The {layout.system} layout does not pass the independent check, so nothing was "
            "written. This is a fault of siteplan, not of the lot; please report it with the "
            "site file:\n" + "\n".join(wrong)
        )


def _typed_elements(layout: Layout) -> tuple[str, ...]:
    """Ids of the elements whose places were typed by hand."""
    return tuple(element.id for element in layout.elements) if layout.by_hand else ()


def _broken_by_hand(layout: Layout, findings: tuple[Finding, ...]) -> str:
    """Which elements of a typed grid break a rule; empty where none does."""
    faulty = {finding.subject for finding in findings if finding.severity == "error"}
    broken = [name for name in _typed_elements(layout) if name in faulty]
    if not broken:
        return ""
    some = ", ".join(broken[:MOST_NAMED]) + (" and more" if len(broken) > MOST_NAMED else "")
    words = (
        f"the grid typed in the site file breaks rules at {len(broken)} of "
        f"{len(layout.elements)} bores: {some}"
    )
    return f"{words}; {layout.obstacle}" if layout.obstacle else words


def _why(site: Site, rules: RuleSet, made: tuple[Layout, Required], *, fits: bool) -> str:
    layout, required = made
    if layout.system == "open":
        flow = format_flow(required.flow_m3s, site.unit, rounding="up")
        return layout.obstacle or f"a supply and a return well fit for {flow}"
    held = layout.capacity_m if fits else min(layout.capacity_m, layout.length_m)
    takes = _takes(site, layout, held, required)
    if fits:
        spare = int(100 * (layout.capacity_m / required.length_m - 1) + TOLERANCE)
        return f"{takes}: {f'{spare} % to spare' if spare < AMPLE_PERCENT else 'ample room'}"
    short = max(required.length_m - held, 0.0)
    if short > TOLERANCE:
        takes += f": {format_length(short, site.unit, rough(site.unit), rounding='up')} short"
        takes += _with_more_pipe(site, rules, layout, required)
    return f"{takes}; {layout.obstacle}" if layout.obstacle else takes


def _takes(site: Site, layout: Layout, held_m: float, required: Required) -> str:
    """What the lot takes beside what is needed, in a phrase."""
    held = format_length(held_m, site.unit, rough(site.unit), rounding="down")
    needed = format_length(required.length_m, site.unit, rough(site.unit), rounding="up")
    if layout.system == "horizontal":
        kind = trench_kinds()[site.exchanger.horizontal.kind]
        return f"takes {held} of {kind.words} {MEASURE[layout.system]}; you need {needed}"
    return f"takes {held} of {MEASURE[layout.system]}, {needed} are required"


def _with_more_pipe(site: Site, rules: RuleSet, layout: Layout, required: Required) -> str:
    """Kind of trench that would fit where trench is short; empty where none would."""
    if layout.system != "horizontal":
        return ""
    denser = denser_kind(site, rules, required.length_m, layout.capacity_m)
    if denser is None:
        return ""
    return f"; {denser.kind.words} trenches would fit at the same length of pipe (screening only)"


def _blocked_entries(site: Site, rules: RuleSet) -> str:
    """Which rule keeps the header off an entry, for each entry that one does."""
    reasons = [
        f"entry {entry.id} is nearer than {reason.rule.printed} to {reason.feature}"
        for entry in wall_entries(site)
        for reason in why_not(site, rules, "header", entry.point.x, entry.point.y)
        if reason.rule is not None
    ]
    return "".join(f"; {reason}" for reason in dict.fromkeys(reasons))
