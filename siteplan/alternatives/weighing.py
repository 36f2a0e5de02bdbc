"""What each rule costs on this lot, and the changes that would make it fit."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.alternatives.other_entry import same_field_header
from siteplan.alternatives.remedies import Remedy, uncounted
from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.design.evaluate import Trial
from siteplan.design.lay_out import capacity_of
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.rule_books.model import Rule
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import System
from siteplan.units.lengths import FOOT

LEAST_SAVED_M: Final = FOOT
"""A header that is shorter by less is no shorter [m]."""


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
    header_m
        By how much the header of the field drawn would be shorter [m].
    crossings
        How many drives and utilities less it would cross.
    """

    rule: Rule
    features: tuple[str, ...]
    gain_m: float
    header_m: float = 0.0
    crossings: int = 0


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


def nothing_helps(weighing: Weighing, drawn: Trial) -> Reason | None:
    """That no change which was tried makes a lot fit; None where one does, or none was tried.

    Of a layout that only a fault beside its geometry stops that this is mended.
    """
    tried = drawn.layout is not None and drawn.required is not None and not drawn.has_room
    if not tried or weighing.remedies:
        return None
    return reason("fault-alone" if drawn.why.code == "stopped-by-fault" else "nothing-helps")


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
    """Each rule that takes ground or sends the header round, dearest first.

    The engine is run again for every rule; what a rule keeps off stays itself off limits. The
    header is led again to the field as it is drawn.
    """
    base = capacity_of(lot, trial.system)
    header_rules = lot.area("header", reach_m=0.0).keep_outs if trial.fits else ()
    kept: dict[Rule, list[str]] = {}
    for keep_out in (*trial.keep_outs, *header_rules):
        names = kept.setdefault(keep_out.rule, [])
        if keep_out.feature not in names:
            names.append(keep_out.feature)
    costs = []
    for rule, features in kept.items():
        free = lot.with_rules(_without(lot.rules, rule))
        gain_m = max(0.0, capacity_of(free, trial.system) - base)
        header_m, crossings = _header_saved(lot, free, trial)
        costs.append(Cost(rule, tuple(features), gain_m, header_m, crossings))
    ranked = sorted(costs, key=lambda cost: (-cost.gain_m, -cost.header_m, -cost.crossings))
    return tuple(
        cost for cost in ranked if cost.gain_m > TOLERANCE or cost.header_m or cost.crossings
    )


def _header_saved(lot: PreparedLot, free: PreparedLot, trial: Trial) -> tuple[float, int]:
    """Length [m] and crossings that the header of the field drawn spares on another ground.

    Compared with the header drawn, or with the one that is found again where that is better: what
    leading it again saves is not what the rule costs.
    """
    layout = trial.layout
    if not trial.fits or layout is None or layout.header is None or layout.by_hand:
        return 0.0, 0
    found = []
    for each in (lot, free):
        ground = prepare(each, record_of(trial.system).ground).ground
        options = lot.site.exchanger.horizontal
        found.append(same_field_header(ground, layout, layout.header, options))
    again, freed = found
    if freed is None:
        return 0.0, 0
    known = [header for header in (layout.header, again) if header is not None]
    length_m = min(header.length_m for header in known) - freed.length_m
    crossings = min(len(header.crossings) for header in known) - len(freed.crossings)
    worth = length_m >= LEAST_SAVED_M
    # a crossing less for a longer way is a choice, not a saving
    spared = max(0, crossings) if length_m >= -TOLERANCE else 0
    return (length_m if worth and crossings >= 0 else 0.0), spared


def _without(rules: RuleSet, rule: Rule) -> RuleSet:
    return rules.relaxed(rule, 0.0) if rule.distance_m > 0 else rules.without(rule)
