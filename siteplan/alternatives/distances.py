"""Shorter distances as remedies: the owner's own decision, or what an authority may allow."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.alternatives.screening import fits_with, may_hold
from siteplan.alternatives.sizes import nearest_step
from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.design.lay_out import has_room
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Reason, reason
from siteplan.layout.header.router import reachable_area
from siteplan.preferences.table import count_of
from siteplan.rule_books.model import COMMON_PRACTICE, Rule
from siteplan.site.model import System

VARIANCES = count_of("alternatives.distances.rules")
"""Rules tried: those that take most ground."""


def shorter_distances(lot: PreparedLot, trial: Trial) -> Iterator[tuple[str, Reason]]:
    """For the rules that take most ground the largest smaller distance at which the lot fits.

    Only rules that somebody can give way in: common practice, which binds nobody, and those whose
    source says that a variance may be had, no further than it says.
    """
    required = trial.required
    if required is None:
        return
    for rule in _dearest(lot, trial):
        change = _shorter(lot, rule, trial.system, required_m=required.length_m)
        if change is not None:
            yield ("own distance" if rule.book == COMMON_PRACTICE else "variance", change)


def least_of(rule: Rule) -> float | None:
    """Distance down to which somebody may give way in a rule [m]; None where nobody can."""
    if rule.distance_m <= 0 or rule.says != "at least":
        return None
    return 0.0 if rule.book == COMMON_PRACTICE else rule.variance_m


def _dearest(lot: PreparedLot, trial: Trial) -> list[Rule]:
    """Rules that can give way, those first that take most of the ground."""
    rules = dict.fromkeys(
        keep_out.rule for keep_out in trial.keep_outs if least_of(keep_out.rule) is not None
    )
    now = _ground(lot, trial.system)
    gains = []
    for number, rule in enumerate(rules):
        freed = lot.with_rules(lot.rules.relaxed(rule, least_of(rule) or 0.0))
        gains.append((round(now - _ground(freed, trial.system), 3), number, rule))
    return [rule for gain, _, rule in sorted(gains, key=lambda row: row[:2]) if gain < 0][
        :VARIANCES
    ]


def _ground(lot: PreparedLot, system: System) -> float:
    return float(reachable_area(prepare(lot, record_of(system).ground).ground).area)


def _shorter(lot: PreparedLot, rule: Rule, system: System, *, required_m: float) -> Reason | None:
    """Largest smaller distance of one rule at which straight rows hold the length."""
    least = least_of(rule) or 0.0

    def at(distance: float) -> PreparedLot:
        return lot.with_rules(lot.rules.relaxed(rule, distance))

    if not may_hold(at(least), system, required_m):
        return None
    step = lot.site.unit.remedy_step_m
    nearest = nearest_step(
        rule.distance_m, least, step, lambda distance: has_room(at(distance), system, required_m)
    )
    # room in straight rows is a cheap screening: only a whole trial with the check is a promise
    held = None if nearest is None else fits_with(at(nearest), system, required_m)
    if held is None:
        return None
    return reason(
        "below-common-practice" if rule.book == COMMON_PRACTICE else "by-variance",
        distance_m=nearest,
        usual_m=rule.distance_m,
        printed=rule.printed,
        kind=rule.subject,
        book=rule.book,
        source=rule.source,
        note=reason("rule-note", note=rule.note) if rule.note else None,
        screened=held.screened,
    )
