"""Shorter distances as remedies: the owner's own decision, or what an authority may allow."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from siteplan.alternatives.screening import fits_with, may_hold
from siteplan.alternatives.sizes import nearest_held
from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.design.lay_out import capacity_of, has_room
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.header.router import reachable_area
from siteplan.preferences.table import count_of
from siteplan.rule_books.model import COMMON_PRACTICE, Rule
from siteplan.site.model import System
from siteplan.vocabulary.kinds import kinds

VARIANCES = count_of("alternatives.distances.rules")
"""Rules tried: those that take most ground."""
HEALTH: Final = frozenset({"potable well", "spring", "wells", "dam", "stream", "wetland"})
"""What nobody goes nearer to for want of room, beside all sources of contamination."""
SHARES: Final = (0.75, 0.5)
"""Shares of the usual distances that are tried of several at once [-]."""


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


def shorter_by_share(lot: PreparedLot, trial: Trial) -> Iterator[tuple[PreparedLot, Reason]]:
    """The lot with several distances of common practice shorter at once, and which they are.

    None of those that keep drinking water clean. Each is as it was again that need not be shorter.
    """
    assert trial.required is not None
    system, needed_m = trial.system, trial.required.length_m
    rules = [rule for rule in _usual(trial) if least_of(rule) is not None]
    before_m = capacity_of(lot, system)
    for share in SHARES:
        shorter = {rule: _stepped(lot, share * rule.distance_m) for rule in rules}
        most_m = min(capacity_of(_with(lot, shorter), system), needed_m)
        if most_m <= before_m + TOLERANCE:
            continue
        for rule in rules:
            fewer = {other: shorter[other] for other in shorter if other is not rule}
            if capacity_of(_with(lot, fewer), system) >= most_m - TOLERANCE:
                shorter = fewer
        each = tuple(
            reason("shorter-distance", distance_m=distance, usual_m=rule.distance_m,
                   kind=rule.subject)
            for rule, distance in shorter.items()
        )  # fmt: skip
        yield _with(lot, shorter), reason("several-below-common-practice", each=each)


def _usual(trial: Trial) -> list[Rule]:
    """Rules of common practice that take ground, but those that keep water clean."""
    rules = dict.fromkeys(keep_out.rule for keep_out in trial.keep_outs)
    return [rule for rule in rules if rule.book == COMMON_PRACTICE and not _of_health(rule)]


def _of_health(rule: Rule) -> bool:
    kind = kinds().get(rule.subject)
    return rule.subject in HEALTH or (kind is not None and kind.contamination)


def _stepped(lot: PreparedLot, distance_m: float) -> float:
    """A distance at a step of whole feet or half metres, no longer than it [m]."""
    step = lot.site.unit.remedy_step_m
    return math.floor(distance_m / step + 1e-9) * step


def _with(lot: PreparedLot, distances: dict[Rule, float]) -> PreparedLot:
    rules = lot.rules
    for rule, distance_m in distances.items():
        rules = rules.relaxed(rule, distance_m)
    return lot.with_rules(rules)


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
    found = nearest_held(
        (rule.distance_m, least, step),
        lambda distance: has_room(at(distance), system, required_m),
        lambda distance: fits_with(at(distance), system, required_m),
    )
    if found is None:
        return None
    nearest, held = found
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
