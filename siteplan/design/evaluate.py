"""One loop type tried on one lot: its layout, the second opinion, and why."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from siteplan.advisories.bound_codes import FLUID_NOT_ALLOWED
from siteplan.advisories.pipes import FREEZING
from siteplan.advisories.remarks import remarks_on
from siteplan.advisories.requirements import missing_on_the_plan
from siteplan.advisories.wells import study_of
from siteplan.available.area import KeepOut, wall_entries, why_not
from siteplan.available.prepared import PreparedLot
from siteplan.checks.check import LENGTH, NO_HEADER, check_layout
from siteplan.checks.header_in_trench import IN_TRENCH
from siteplan.checks.model import Separation
from siteplan.checks.separations import separations
from siteplan.checks.typed import with_all_broken
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import required_of
from siteplan.demand.wells import WellStudy
from siteplan.design.colder_fluid import colder_needs
from siteplan.design.converge import Begun, settled
from siteplan.design.denser_trench import denser_kind
from siteplan.design.entries import entered
from siteplan.design.even_circuits import evened
from siteplan.design.lay_out import Attempt, reached
from siteplan.design.loop_types import record_of
from siteplan.design.reached_fluid import with_pipes_and_fluid
from siteplan.design.wide_header import led_for_its_width
from siteplan.errors import CheckError
from siteplan.findings.called import as_laid
from siteplan.findings.model import Finding, Reason, reason
from siteplan.findings.words import words_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.header.unjoined import why_unjoined
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.rule_books.model import PROPERTY_LINE
from siteplan.rules.limits import too_deep
from siteplan.rules.ruleset import RuleSet
from siteplan.site.loop_options import facts_wanted
from siteplan.site.model import Entry, Site, System
from siteplan.site.trench_kinds import trench_kinds
from siteplan.site.walls import wall_of
from siteplan.vocabulary.loop_types import loop_type

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
        Why it fits, or what stops it.
    fits
        Whether it provides what is required and every check passes.
    wells
        What is known of a well pair; None of other loop types.
    """

    system: System
    required: Required | None
    layout: Layout | None
    keep_outs: tuple[KeepOut, ...]
    separations: tuple[Separation, ...]
    findings: tuple[Finding, ...]
    why: Reason
    fits: bool
    wells: WellStudy | None = None

    @property
    def has_room(self) -> bool:
        """Whether the lot holds it, and nothing but its fluid stops it."""
        errors = {finding.code for finding in self.findings if finding.severity == "error"}
        laid = self.layout is not None and not self.layout.obstacle
        return self.fits or (laid and errors <= {FREEZING, FLUID_NOT_ALLOWED})


def try_system(
    lot: PreparedLot,
    system: System,
    laid: Callable[[Trial], None] = lambda _: None,
    begun: Begun = lambda *_: None,
    *,
    short: bool = False,
) -> Trial:
    """Outcome of one loop type on one lot.

    ``begun`` is called with a first layout where another has to be looked for, because its length
    does not agree with what it needs; neither is judged then.
    ``laid`` is called with what is known once it is laid out and its distances are checked, before
    all else is looked at that may still forbid it. ``short``: of what holds too little nothing more
    is looked at than that.

    Raises
    ------
    CheckError
        The engine and the independent check disagree: a bug, not a property of the lot.
    """
    site, record = lot.site, record_of(system)
    stopped = _banned(site, lot.rules, system) or record.stops(site, None)
    if stopped is not None and stopped.code in record.nowhere:
        return _untried(system, None, stopped)
    try:
        required = required_of(site.exchanger, system)
        if required is None:
            return _untried(system, None, stopped or _unsaid(site, system))
        # after the length: a loop type that is ruled out is still told with what it would need
        stopped = stopped or record.stops(site, required)
        if stopped:
            return _untried(system, required, stopped)
        lot = entered(lot, system, required.length_m)
        required, made = settled(lot, required, system, begun)
        if short and made.layout.obstacle:
            return _untried(system, required, made.layout.obstacle)
        # evenness last: it may change the trenches only where the length is settled
        even = led_for_its_width(evened(lot, required, made))
    except DemandError as error:
        return _untried(system, None, stopped or reason("no-length-enough", because=error.reason))
    return _judged(even.lot, even.required, reached(even.lot, even.made), laid)


def _judged(
    lot: PreparedLot, required: Required, made: Attempt, laid: Callable[[Trial], None]
) -> Trial:
    """A layout with its pipes, the second opinion, and what is to be said of it."""
    site, rules = lot.site, lot.rules
    layout = with_pipes_and_fluid(made.layout, site.exchanger, required, made.ground)
    layout = _unjoined(_without_dead_ends(layout, required), made)
    # measured from the geometry as drawn, by code that knows nothing of how it was placed
    measured = separations(site, layout, rules, lot.memory)
    judged = measured
    if layout.by_hand:
        judged = with_all_broken(measured, site, layout, rules)
    findings = check_layout(site, layout, judged, required.length_m, memory=lot.memory)
    layout = _dug_twice(layout, findings)
    # a layout the engine believes in and the check refuses must never be drawn
    _refuse_a_bug(site, layout, findings)
    fits = not layout.obstacle and not any(f.severity == "error" for f in findings)
    # what the owner placed himself is named first: that he can move it at once
    why = _broken_by_hand(layout, findings) or _why(lot, (layout, required), fits=fits)
    trial = Trial(
        layout.system, required, layout, made.keep_outs, measured, findings, why, fits=fits
    )
    laid(trial)
    remarks = as_laid(remarks_on(lot, layout, required, measured), layout.loop)
    # a fault beside the geometry (a fluid, a size) forbids the plan as much as a broken distance
    faults = [_briefly(remark) for remark in remarks if remark.severity == "error"]
    if faults and fits:
        fits, why = False, reason("stopped-by-fault", takes=why, fault=faults[0])
    return replace(
        trial,
        findings=(*findings, *remarks, *missing_on_the_plan(site, rules)),
        why=why if fits else _with_entries(site, rules, layout, why),
        fits=fits,
        wells=study_of(lot, layout, required),
    )


def _briefly(fault: Finding) -> Reason:
    """What stops a layout, in few words where the finding has them."""
    brief = fault.values.get("briefly")
    return brief if isinstance(brief, Reason) else fault.reason


def _without_dead_ends(layout: Layout, required: Required) -> Layout:
    """The layout, with an obstacle where too much of its trench has a pipe in no circuit."""
    balance = layout.piping.balance if layout.piping is not None else None
    trenches = layout.of(Trench)
    names = balance.left_over if balance is not None else ()
    if trenches and layout.header is not None and not layout.circuits:
        names = tuple(trench.id for trench in trenches)
    dead = sum(trench.length_m / trench.pipes for trench in trenches if trench.id in names)
    if layout.obstacle or not dead or layout.length_m - dead >= required.length_m - TOLERANCE:
        return layout
    code = "pipe-without-return" if len(names) == 1 else "pipes-without-return"
    obstacle = reason(code, trenches=tuple(names), held_m=layout.length_m - dead)
    return replace(layout, obstacle=obstacle)


def _dug_twice(layout: Layout, findings: tuple[Finding, ...]) -> Layout:
    """The layout, with an obstacle where no header was found that keeps out of the trenches."""
    trenches = tuple(finding.subject for finding in findings if finding.code == IN_TRENCH)
    if layout.obstacle or layout.by_hand or not trenches:
        return layout
    return replace(layout, obstacle=reason("header-only-in-trenches", trenches=trenches))


def _unjoined(layout: Layout, made: Attempt) -> Layout:
    """The layout, with an obstacle where no header joins it though pipe could get there."""
    if layout.obstacle or layout.by_hand or layout.header is not None or not layout.elements:
        return layout
    return replace(layout, obstacle=why_unjoined(layout, made.ground))


def _untried(system: System, required: Required | None, why: Reason) -> Trial:
    finding = Finding("not-tried", values={"system": system, "because": why})
    return Trial(system, required, None, (), (), (finding,), why, fits=False)


def _unsaid(site: Site, system: System) -> Reason:
    """That nobody says what is required."""
    loop = facts_wanted(site.exchanger, system)
    if loop.flow:
        return reason("no-flow-required")
    calculable = loop.kind == Trench.kind and site.exchanger.energy is not None
    more = reason("or-ground") if calculable else None
    return reason("no-length-required", measure=loop.measure, system=system, more=more)


def _banned(site: Site, rules: RuleSet, system: System) -> Reason | None:
    """Rule that forbids a loop type here, or any depth asked for; None where none does."""
    for part in loop_type(system).parts:
        rule = rules.ban(part)
        if rule is not None:
            return reason("banned", book=rule.book, source=rule.source)
    limit = too_deep(site, rules, system)
    if limit is None:
        return None
    rule = limit.rule
    return reason("too-deep-here", depth_m=limit.depth_m, book=rule.book, source=rule.source)


def _refuse_a_bug(site: Site, layout: Layout, findings: tuple[Finding, ...]) -> None:
    expected = (LENGTH, NO_HEADER, IN_TRENCH) if layout.obstacle or layout.by_hand else ()
    wished = _typed_elements(layout)
    wrong = [
        words_of(finding, site.unit)
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
    """Ids of the elements whose places were typed by hand, and of what joins these."""
    if not layout.by_hand:
        return ()
    elements = layout.kept or tuple(element.id for element in layout.elements)
    return (*elements, *(crossover.id for crossover in layout.crossovers))


def _broken_by_hand(layout: Layout, findings: tuple[Finding, ...]) -> Reason | None:
    """Which elements that somebody placed break a rule; None where none does."""
    faulty = {finding.subject for finding in findings if finding.severity == "error"}
    broken = [name for name in _typed_elements(layout) if name in faulty]
    if not broken:
        return None
    faults = reason(
        "places-break-rules",
        broken=len(broken),
        several=len(layout.elements),
        thing=layout.loop.noun,
        names=tuple(broken[:MOST_NAMED]),
        more=reason("and-more") if len(broken) > MOST_NAMED else None,
    )
    return _with(faults, layout.obstacle)


def _with(first: Reason, second: Reason | None) -> Reason:
    """One reason, and another where there is one."""
    return first if second is None else reason("because-also", first=first, second=second)


def _why(lot: PreparedLot, made: tuple[Layout, Required], *, fits: bool) -> Reason:
    layout, required = made
    if layout.loop.flow:
        code = "well-and-outfall-fit" if layout.of(Outfall) else "wells-fit"
        return layout.obstacle or reason(code, flow_m3s=required.flow_m3s)
    # what falls short for want of ground is laid out as far as it goes
    enough = fits or layout.length_m >= required.length_m - TOLERANCE
    held = layout.capacity_m if enough else min(layout.capacity_m, layout.length_m)
    takes = _takes(lot.site, layout, held, required)
    if fits:
        spare = int(100 * (layout.capacity_m / required.length_m - 1) + TOLERANCE)
        if spare >= AMPLE_PERCENT:
            needed_m, measure = required.length_m, layout.loop.measure
            return reason(
                "fits-amply",
                measure=measure,
                held_m=held,
                needed_m=needed_m,
                span=required.span,
            )
        return reason("fits-with-spare", takes=takes, spare=spare)
    short = max(required.length_m - held, 0.0)
    if short > TOLERANCE:
        denser = None if layout.by_hand else _with_more_pipe(lot, layout, required)
        dug = layout.loop.kind == Trench.kind
        colder = colder_needs(lot, required) if dug else None
        takes = reason("falls-short", takes=takes, short_m=short, denser=denser, colder=colder)
    return _with(takes, layout.obstacle)


def _takes(site: Site, layout: Layout, held_m: float, required: Required) -> Reason:
    """What the lot takes beside what is needed."""
    measure, needed_m = layout.loop.measure, required.length_m
    if layout.loop.kind == Trench.kind:
        kind = trench_kinds()[site.exchanger.horizontal.kind].words
        return reason(
            "takes-trench",
            held_m=held_m,
            kind=kind,
            measure=measure,
            needed_m=needed_m,
            span=required.span,
        )
    return reason("takes", held_m=held_m, measure=measure, needed_m=needed_m, span=required.span)


def _with_more_pipe(lot: PreparedLot, layout: Layout, required: Required) -> Reason | None:
    """Kind of trench that would fit where trench is short; None where none would."""
    if layout.loop.kind != Trench.kind:
        return None
    denser = denser_kind(lot, required.length_m, layout.capacity_m)
    return None if denser is None else reason("denser-would-fit", kind=denser.kind.words)


def _with_entries(site: Site, rules: RuleSet, layout: Layout, why: Reason) -> Reason:
    """The same, with the rules that keep the header off an entry where nothing is laid out."""
    if layout.elements:
        return why
    # entries that one thing keeps off are told in one breath
    blocked: dict[tuple[float, str], list[Entry]] = {}
    for entry in wall_entries(site):
        for near in why_not(site, rules, "header", entry.point.x, entry.point.y):
            if near.rule is not None:
                of_line = near.rule.subject == PROPERTY_LINE
                what = PROPERTY_LINE if of_line else near.feature
                blocked.setdefault((near.rule.distance_m, what), []).append(entry)
    kept_off = {entry.id for entries in blocked.values() for entry in entries}
    if site.any_wall and any(entry.id not in kept_off for entry in site.entries):
        return why  # through another wall pipes could come in
    tell = _walls_too_near if site.any_wall else _too_near
    told = (tell(site, entries, *near) for near, entries in blocked.items())
    known = tuple(each for each in told if each is not None)
    return reason("with-entries", first=why, entries=known) if known else why


def _too_near(_: Site, entries: Sequence[Entry], distance_m: float, feature: str) -> Reason:
    names = tuple(dict.fromkeys(entry.id for entry in entries))
    if len(names) == 1:
        return reason("entry-too-near", entry=names[0], distance_m=distance_m, feature=feature)
    return reason("entries-too-near", entries=names, distance_m=distance_m, feature=feature)


def _walls_too_near(
    site: Site, entries: Sequence[Entry], distance_m: float, feature: str
) -> Reason | None:
    """The walls that are too near wherever they were tried; of an entry nobody stated no name."""
    free = {wall_of(each) for each in site.entries if each.id not in {one.id for one in entries}}
    walls = tuple(dict.fromkeys(wall_of(entry) for entry in entries if wall_of(entry) not in free))
    if not walls:
        return None
    return reason("walls-too-near", walls=walls, distance_m=distance_m, feature=feature)
