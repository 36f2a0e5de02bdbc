"""What somebody must read or decide beside the checks: crossings, approvals, gaps in the books."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import shapely

from siteplan.advisories.books import book_remarks
from siteplan.advisories.bores import bore_remarks
from siteplan.advisories.bounds import bound_findings, conditions_on
from siteplan.advisories.by_hand import by_hand_remarks
from siteplan.advisories.crossovers import angle_of, crossover_remarks
from siteplan.advisories.deed import deed_remarks
from siteplan.advisories.depth import depth_remarks
from siteplan.advisories.duties import duty_remarks
from siteplan.advisories.floors import floor_remarks
from siteplan.advisories.groups import group_remarks
from siteplan.advisories.machines import rig_remarks
from siteplan.advisories.pipes import freezing_remarks, pipe_remarks
from siteplan.advisories.plausible import implausible
from siteplan.advisories.ponds import pond_remarks
from siteplan.advisories.power_lines import passing_under
from siteplan.advisories.pressure import pressure_remarks
from siteplan.advisories.repairs import repair_remarks
from siteplan.advisories.room import room_remarks
from siteplan.advisories.spared import spared_remarks
from siteplan.advisories.survey import survey_remarks
from siteplan.advisories.way_out import way_out_remarks
from siteplan.advisories.wells import study_of, well_remarks
from siteplan.available.access import OVERHEAD
from siteplan.available.prepared import PreparedLot, reach_of
from siteplan.checks.model import Separation
from siteplan.demand.model import Required
from siteplan.earthwork.excavation import needs_protection, strip_width
from siteplan.findings.model import Finding, Values, reason
from siteplan.geometry.distance import gap
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import LOOP_TRENCH
from siteplan.rule_books.model import COMMON_PRACTICE, OWN_BOOK, Part, Rule
from siteplan.rules.conditions import unstated, uses_meet
from siteplan.rules.ruleset import KEEPS_OFF, RuleSet
from siteplan.site.loop_options import options_of
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds
from siteplan.vocabulary.loop_types import loop_types

HEADER: Part = "header"
USE_ASSUMED: Final = "use-assumed"
"""Code of the finding that a use is taken for granted."""


def remarks_on(
    lot: PreparedLot, layout: Layout, required: Required, rows: tuple[Separation, ...]
) -> tuple[Finding, ...]:
    """What is to be said beside the checks; an error stops the plan."""
    site, rules = lot.site, lot.rules
    study = study_of(lot, layout, required)
    conditions = conditions_on(site, rules.books, layout.system, layout, study)
    return (
        *_on_length(site, layout, required),
        *_crossings(site, layout),
        *crossover_remarks(site, layout),
        *_approvals(site, rules, layout),
        *_own_relaxations(site, rules, layout),
        *_unstated(site, rules, layout),
        *_use_assumed(site, rules, layout),
        *book_remarks(site, rules, layout),
        *duty_remarks(site, rules.books, layout.system),
        *_gaps_in_the_books(site, rules, layout, rows),
        *_digging(site, layout),
        *deed_remarks(site),
        *survey_remarks(site),
        *repair_remarks(site),
        *depth_remarks(site, layout),
        *room_remarks(site, layout),
        *floor_remarks(site, layout),
        *pond_remarks(site, layout),
        *well_remarks(lot, layout, required),
        *way_out_remarks(site, layout),
        *spared_remarks(layout),
        *_passing_under(site, layout),
        *by_hand_remarks(layout),
        *bore_remarks(site, layout, required.length_m),
        *pressure_remarks(site, layout, conditions),
        *rig_remarks(lot, layout),
        *freezing_remarks(site, layout),
        *pipe_remarks(site, layout),
        *group_remarks(site, rules, layout),
        *implausible(site),
        *bound_findings(conditions, site),
    )


def _on_length(site: Site, layout: Layout, required: Required) -> Iterator[Finding]:
    if required.basis == "screening":
        yield Finding("screening-length", values={"because": required.reason})
    if site.exchanger.length is not None and _length_is_shared(site):
        yield Finding("shared-length", values={"system": layout.system})
    if site.exchanger.idle:
        yield Finding("stated-and-not-used", values={"keys": site.exchanger.idle})


def _length_is_shared(site: Site) -> bool:
    wanted = site.exchanger
    measured = [options_of(wanted, loop.name) for loop in loop_types().values() if not loop.flow]
    own = [options is not None and options.length is not None for options in measured]
    return wanted.system is None and not all(own)


def _crossings(site: Site, layout: Layout) -> Iterator[Finding]:
    for crossing in layout.header.crossings if layout.header is not None else ():
        if crossing.kind == LOOP_TRENCH:
            yield Finding("header-over-trench", subject=crossing.feature)
        elif crossing.kind == OVERHEAD:
            yield passing_under(site, HEADER, crossing.feature)
        elif kinds()[crossing.kind].rig == "never":
            yield Finding("crossing-by-hand", crossing.feature, values={"kind": crossing.kind})
        else:
            values = {"kind": crossing.kind, "angle": angle_of(crossing)}
            yield Finding("crossing", subject=crossing.feature, values=values)


def _approvals(site: Site, rules: RuleSet, layout: Layout) -> Iterator[Finding]:
    """Where an authority must approve because something is near."""
    for part in layout.loop.parts:
        bodies = [element.footprint for element in layout.elements if element.part == part]
        if not bodies:
            continue
        for feature in site.features:
            for rule in rules.approvals(part, feature):
                nearest = gap(shapely.union_all(bodies), feature.shape)
                if nearest.distance < rule.distance_m:
                    yield Finding(
                        "approval",
                        subject=feature.id,
                        measured_m=nearest.distance,
                        required_m=rule.distance_m,
                        rule=_name(rule),
                        values={
                            "kind": feature.kind,
                            "part": part,
                            "printed": rule.printed,
                            "source": rule.source,
                        },
                    )


def _own_relaxations(site: Site, rules: RuleSet, layout: Layout) -> Iterator[Finding]:
    """Where a rule written in the site file asks for less than common practice."""
    relaxed: dict[tuple[Rule, Rule], list[Part]] = {}
    for part in layout.loop.parts:
        for feature in (None, *site.features):
            reach = reach_of(part, site.exchanger)
            own = rules.deciding(part, feature, reach)
            common = rules.replaced(part, feature, reach)
            if own is not None and common is not None and own.book == OWN_BOOK:
                parts = relaxed.setdefault((own, common), [])
                parts.extend([part] if part not in parts else [])
    for (own, common), parts in relaxed.items():
        yield Finding(
            "relaxed",
            subject=own.subject,
            measured_m=own.distance_m,
            required_m=common.distance_m,
            rule=_name(own),
            values={"printed": own.printed, "parts": tuple(parts), "source": own.source},
        )


def _unstated(site: Site, rules: RuleSet, layout: Layout) -> Iterator[Finding]:
    """Where the strictest class of a rule holds because the site file does not say more."""
    for feature in site.features:
        for part in layout.loop.parts:
            rule = rules.deciding(part, feature, reach_of(part, site.exchanger))
            if rule is None:
                continue
            unsaid_use = ("use",) if rule.when.use and not feature.use else ()
            for key in (*unsaid_use, *unstated(rule.when, feature)):
                yield Finding(
                    "class-not-stated",
                    subject=feature.id,
                    rule=_name(rule),
                    values={
                        "kind": feature.kind,
                        "key": key,
                        "named": key.replace("_", " "),
                        "book": rule.book,
                        "source": rule.source,
                        "printed": rule.printed,
                        "class": rule.when.words,
                    },
                )


def _use_assumed(site: Site, rules: RuleSet, layout: Layout) -> Iterator[Finding]:
    """Which things are taken for private as nobody says their use, and what else they would ask."""
    for feature in site.features:
        other = [
            rule
            for rule in rules.rules
            if rule.subject == feature.kind
            and {*rule.parts} & {*layout.loop.parts, HEADER}
            and rule.says in KEEPS_OFF
            and not uses_meet(rule.when.use, feature.use)
        ]
        if feature.use_assumed and other:
            most = max(other, key=lambda rule: rule.distance_m)
            values: Values = {
                "kind": feature.kind,
                "use": feature.use,
                "class": most.when.words,
                "printed": most.printed,
                "source": most.source,
            }
            yield Finding(USE_ASSUMED, feature.id, rule=_name(most), values=values)


def _gaps_in_the_books(
    site: Site, rules: RuleSet, layout: Layout, rows: tuple[Separation, ...]
) -> Iterator[Finding]:
    """Where common practice stands in for the books that the site names."""
    for part in layout.loop.parts:
        free = rules.unregulated(part)
        if free is not None:
            values = {"part": part, "book": free.book, "source": free.source}
            yield Finding("not-regulated", rule=_name(free), values=values)
    books = tuple(book for book in site.books if book != COMMON_PRACTICE)
    for part in (*layout.loop.parts, HEADER) if books else ():
        common = [row for row in rows if row.part == part and row.rule.book == COMMON_PRACTICE]
        # what a book bans outright it does not leave open
        banned = {
            rule.subject
            for rule in rules.rules
            if rule.says == "not allowed" and part in rule.parts and not rule.when.words
        }
        filled = sorted({row.rule.subject for row in common} - banned)
        if filled:
            yield Finding(
                COMMON_PRACTICE,
                rule=COMMON_PRACTICE,
                values={"part": part, "books": books, "kinds": tuple(filled)},
            )


def _digging(site: Site, layout: Layout) -> Iterator[Finding]:
    options = site.exchanger.horizontal
    if layout.loop.kind != Trench.kind or not needs_protection(options):
        return
    strip = strip_width(options)
    if options.protection == "slope" and options.soil is not None:
        wider = reason("strip-wider-than-spacing") if strip > options.spacing_m else None
        values = {"soil": options.soil, "wider": wider}
        yield Finding("strip", measured_m=strip, rule="29 CFR 1926 Subpart P", values=values)


def _passing_under(site: Site, layout: Layout) -> Iterator[Finding]:
    """What lies above an inclined bore, and how deep the bore is there."""
    leaning = [element for element in layout.elements if element.tilt_deg]
    for bore in leaning:
        slope = math.tan(math.radians(bore.tilt_deg))
        for feature in site.features:
            if feature.shape.area == 0 or not bore.course.intersects(feature.shape):
                continue
            above = bore.course.intersection(feature.shape)
            depth = float(above.distance(bore.footprint)) / slope
            yield Finding(
                "passes-under",
                subject=bore.id,
                measured_m=depth,
                values={"feature": feature.id, "kind": feature.kind},
            )


def _name(rule: Rule) -> str:
    return rule.id if rule.book == OWN_BOOK else f"{rule.book}/{rule.id}"
