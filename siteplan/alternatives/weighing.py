"""What each rule costs on this lot, and the changes that would make it fit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from siteplan.alternatives.remedies import Remedy, uncounted
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.design.lay_out import capacity_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.rule_books.model import Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import System


@dataclass(frozen=True, slots=True)
class Cost:
    """What one rule costs.

    Parameters
    ----------
    rule
        The rule.
    features
        Ids of what it keeps off on this lot.
    gain_m
        Exchanger length the lot would gain if the rule alone were absent [m].
    """

    rule: Rule
    features: tuple[str, ...]
    gain_m: float


@dataclass(frozen=True, slots=True)
class Weighing:
    """Costs ranked from the dearest, and remedies where the lot does not fit.

    Parameters
    ----------
    system
        Loop type the costs are of.
    costs, remedies
        Both empty where they were not asked for.
    """

    system: System
    costs: tuple[Cost, ...] = ()
    remedies: tuple[Remedy, ...] = ()


def weigh(
    lot: PreparedLot,
    drawn: Trial,
    remedies: Sequence[Remedy] = (),
    *,
    asked: bool = False,
    progress: Callable[[str], None] = lambda _: None,
) -> Weighing:
    """Costs of the rules for the loop type drawn, beside the remedies of all."""
    bare = Weighing(drawn.system, (), tuple(remedies))
    # nothing to compare rules by
    if drawn.layout is None or drawn.required is None or uncounted(lot.site, drawn.system):
        return bare
    # no rule helps a lot that has room, and what is wrong with its pipes says itself what does
    enough = drawn.layout.length_m >= drawn.required.length_m - TOLERANCE
    if enough and not drawn.layout.obstacle and not drawn.fits and not asked:
        return bare
    progress("weighing the rules")
    return Weighing(drawn.system, costs_of(lot, drawn), bare.remedies)


def costs_of(lot: PreparedLot, trial: Trial) -> tuple[Cost, ...]:
    """Each rule that takes ground, with the length its absence alone would gain, dearest first.

    The engine is run again for every rule; what a rule keeps off stays itself off limits.
    """
    base = capacity_of(lot, trial.system)
    kept: dict[Rule, list[str]] = {}
    for keep_out in trial.keep_outs:
        kept.setdefault(keep_out.rule, []).append(keep_out.feature)
    costs = [
        Cost(rule, tuple(features), max(0.0, capacity_of(free, trial.system) - base))
        for rule, features in kept.items()
        for free in (lot.with_rules(_without(lot.rules, rule)),)
    ]
    ranked = sorted(costs, key=lambda cost: -cost.gain_m)
    return tuple(cost for cost in ranked if cost.gain_m > TOLERANCE)


def _without(rules: RuleSet, rule: Rule) -> RuleSet:
    return rules.relaxed(rule, 0.0) if rule.distance_m > 0 else rules.without(rule)
