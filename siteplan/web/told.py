"""A finished plan as values for the page: verdict, comparison, what helps, what is drawn."""

from __future__ import annotations

import re
from typing import Any, Final

from siteplan.alternatives.remedies import Remedy
from siteplan.alternatives.weighing import nothing_helps
from siteplan.checks.model import Separation
from siteplan.checks.separations import PARCEL
from siteplan.checks.typed import with_all_broken
from siteplan.comparison.order import less_work
from siteplan.design.evaluate import Trial
from siteplan.findings.model import Finding, Reason
from siteplan.findings.words import words_of
from siteplan.layout.elements import Element
from siteplan.plan import SitePlan
from siteplan.report.comparison_words import comparison_heads, comparison_lines
from siteplan.report.hinges import hinge_lines
from siteplan.report.verdict import others_fit, verdict_head, verdict_words
from siteplan.rules.ruleset import RuleSet
from siteplan.sheet.tables.source_words import source_words
from siteplan.site.loop_options import facts_wanted
from siteplan.site.model import Site
from siteplan.units.lengths import format_length, format_pair, rough
from siteplan.units.model import UnitSystem
from siteplan.vocabulary.loop_types import all_parts, loop_type
from siteplan.web.drawn import canvas_over, layout_drawn
from siteplan.web.fields import on_page
from siteplan.web.ground import Ground
from siteplan.web.hand import movable, points_of
from siteplan.web.leads import lead_to, leads_of, leads_on
from siteplan.web.remedies import by_hand, by_own_rule, changes_of

Json = dict[str, Any]
IN_FILE: Final = re.compile(r" \(\[+[a-z_.]+\]+[^()]*\)")
"""Where something is written in the site file, in brackets."""
GRAVEST: Final = ("error", "warning", "note")
"""Severities of findings in the order in which they are told."""
SITE_FILE: Final = re.compile(r"\b([Tt])he site file\b")


def said(what: Reason | Finding, unit: UnitSystem) -> str:
    """A sentence in which places of the site file have the page's names, and it is the design's.

    Whoever draws on the page edits no file.
    """
    return on_page(SITE_FILE.sub(r"\1his design", words_of(what, unit)))


def plan_told(plan: SitePlan) -> Json:
    """Everything that stands beside the plan."""
    site, drawn, unit = plan.site, plan.drawn, plan.site.unit
    nothing = nothing_helps(plan.weighing, drawn)
    return {
        "fits": plan.fits,
        "system": drawn.system,
        **_ground(site, plan.lot.rules, drawn),
        "verdict": on_page(_verdict(plan)),
        "trials": [
            short_trial(each, unit, drawn=each.system == drawn.system) for each in plan.trials
        ],
        "heads": list(comparison_heads(plan.compared)),
        "lines": [[line.title, *line.cells] for line in comparison_lines(plan.compared, unit)],
        "hinges": [on_page(line) for line in hinge_lines(site, drawn)],
        "remedies": [_remedy(remedy, site) for remedy in plan.weighing.remedies],
        "nothing_helps": words_of(nothing, unit) if nothing is not None else "",
        "costs": costs_told(plan),
        "separations": [_separation(row, unit) for row in drawn.separations],
        "findings": [
            [each.severity, said(each, unit), leads_on(each, site)]
            for each in sorted(plan.findings, key=lambda each: GRAVEST.index(each.severity))
        ],
        "assumed": [each.path for each in plan.assumed],
        **_laid(site, plan.lot.rules, drawn),
    }


def _verdict(plan: SitePlan) -> str:
    """The verdict, with the loop type that it speaks of where several were tried.

    Beside it stand remedies of others too.
    """
    drawn, unit = plan.drawn, plan.site.unit
    if drawn.fits or len(plan.trials) == 1:
        return verdict_words(plan.trials, drawn, unit, less=less_work(plan.compared))
    word, named = verdict_head(plan.trials, drawn, asked=True)
    shown = named if named != drawn.system else f"closest is {named}"
    why = words_of(drawn.why, unit, on_paper=True)
    return f"{word}; {shown}, as drawn: {why}{others_fit(plan.trials, drawn)}"


def costs_told(plan: SitePlan) -> list[Json]:
    """Each rule that takes ground here, with its source and what it costs."""
    unit = plan.site.unit
    measure = facts_wanted(plan.site.exchanger, plan.weighing.system).measure
    return [
        {
            "rule": f"{cost.rule.printed} from {cost.rule.subject}",
            "source": source_words(cost.rule.book, cost.rule.source, unit),
            "gain": f"{format_length(cost.gain_m, unit, 0, rounding='down')} of {measure}"
            if cost.gain_m
            else "",
            "features": list(cost.features),
        }
        for cost in plan.weighing.costs
    ]


def trial_told(site: Site, rules: RuleSet, trial: Trial) -> Json:
    """One loop type laid out and checked by itself, with what is drawn of it."""
    return {
        **short_trial(trial, site.unit, drawn=True),
        **_ground(site, rules, trial),
        "separations": [_separation(row, site.unit) for row in trial.separations],
        **_laid(site, rules, trial),
    }


def _ground(site: Site, rules: RuleSet, trial: Trial) -> Json:
    """The part that is drawn, in which kind of trench, and what keeps it off in that size."""
    part = loop_type(trial.system).parts[0]
    kind = site.exchanger.horizontal.kind if loop_type(trial.system).dug else ""
    return {"part": part, "ground": Ground(site, rules).part(part), "kind": kind}


def _broken(site: Site, rules: RuleSet, trial: Trial) -> Json:
    """What places given by hand break: lines to what is too near, and sentences by name."""
    layout = trial.layout
    if layout is None or not layout.by_hand:
        return {"broken": [], "wrong": {}}
    rows = with_all_broken(trial.separations, site, layout, rules)
    names = {each.id for each in layout.elements}
    wrong: dict[str, list[str]] = {}
    for each in (one for one in trial.findings if one.severity == "error"):
        # of two that are too near to one another both are told
        for name in sorted(names & {each.subject, str(each.values.get("other", ""))}):
            wrong.setdefault(name, []).append(said(each, site.unit))
    lines = [[list(row.element_point), list(row.feature_point)] for row in rows if not row.meets]
    return {"broken": lines, "wrong": wrong}


def _laid(site: Site, rules: RuleSet, trial: Trial) -> Json:
    """What is drawn of the loop, and the names by which tables call its parts."""
    if trial.layout is None:
        return {"laid": [], "names": [], "by_hand": False, "broken": [], "wrong": {}}
    canvas = canvas_over([site.parcel, *(each.shape for each in site.features)], site.unit)
    may_move = movable(trial.layout)
    return {
        "laid": layout_drawn(canvas, trial.layout, site.entries),
        "names": [
            [*_named(each), each.id in may_move, each.kind, points_of(each)]
            for each in trial.layout.elements
        ],
        "by_hand": trial.layout.by_hand,
        **_broken(site, rules, trial),
    }


def _named(element: Element) -> list[Any]:
    """Name, place and whether that is a point: of a line its middle [m]."""
    axis = element.axis
    spot = axis.interpolate(0.5, normalized=True) if axis.length else axis.centroid
    return [element.id, [round(spot.x, 3), round(spot.y, 3)], not axis.length]


def short_trial(trial: Trial, unit: UnitSystem, *, drawn: bool = False) -> Json:
    """What one loop type came to, in a row of a table."""
    needs = holds = ""
    if trial.required is not None and not loop_type(trial.system).flow:
        needs = format_length(trial.required.length_m, unit, rough(unit), rounding="up")
        if trial.layout is not None:
            # of a lot that does not hold enough, what is laid out on it, as the sentence has it
            laid_m, most_m = trial.layout.length_m, trial.layout.capacity_m
            held_m = most_m if trial.fits else min(laid_m, most_m)
            holds = format_length(held_m, unit, rough(unit), rounding="down")
    return {
        "system": trial.system,
        "fits": trial.fits,
        "room": trial.has_room,
        "drawn": drawn,
        "needs": needs,
        "holds": holds,
        "why": said(trial.why, unit),
        "leads": leads_of(trial.why),
    }


def _separation(row: Separation, unit: UnitSystem) -> Json:
    asked, there = format_pair(row.rule.distance_m, row.provided_m, unit, 1)
    return {
        "what": f"{element_called(row)} to {thing_called(row)}",
        "asked": asked,
        "there": there,
        "kept": row.meets,
        "source": source_words(row.rule.book, row.rule.source, unit),
    }


def element_called(row: Separation) -> str:
    """What is laid, by its kind and its name: bore B2; the header has no other."""
    return row.part if row.part == row.element else f"{row.part} {row.element}"


def thing_called(row: Separation) -> str:
    """What it is kept from, as the page heads its form: house (building)."""
    kind, name = row.rule.subject, row.feature
    if name in (PARCEL, kind):
        return kind
    if kind in all_parts():  # another of its own kind, which comes with a number
        return f"{kind} {name}"
    return name if kind in name else f"{name} ({kind})"


def _remedy(remedy: Remedy, site: Site) -> Json:
    """A remedy with the changes of the site file that try it; else why a click cannot."""
    return {
        "system": remedy.system,
        # a click writes it: where it stands in the file is nothing to read
        "words": on_page(IN_FILE.sub("", words_of(remedy.change, site.unit))),
        "ops": changes_of(remedy.system, remedy.change, site),
        "by_hand": by_hand(remedy.change),
        "leads": [lead_to("rules.own")] if by_own_rule(remedy.change) else [],
    }
