"""What a site file could state so that a laxer class of a rule holds, tried before it is named."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from siteplan.alternatives.screening import fits_with
from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.findings.model import Reason, reason
from siteplan.rule_books.model import Rule
from siteplan.rule_books.when import Range
from siteplan.rules.conditions import binds, unstated
from siteplan.site.model import Feature, System
from siteplan.vocabulary.loop_types import loop_type

FLOWS = ("daily_flow", "pump_rate")
"""What a feature may state as a flow; what else it leaves open is no matter of a bound."""
BELOW = 0.999
"""Of the bound of a class so much is tried as a flow below it [-]."""


def statements(lot: PreparedLot, system: System, required_m: float) -> Iterator[Reason]:
    """Flows of drainfields and wells that are not stated, and below which the lot fits."""
    parts = (*loop_type(system).parts, "header")
    for feature in lot.site.features:
        seen = set()
        for part in parts:
            for rule in lot.rules.holding(part, feature):
                for key in unstated(rule.when, feature):
                    bound = _lower_bound(rule, key)
                    if bound is None or (key, bound) in seen:
                        continue
                    # one statement helps all parts: it is tried once
                    seen.add((key, bound))
                    yield from _tried(lot, (system, required_m), feature, (rule, key, bound))


def all_stated(lot: PreparedLot, system: System) -> tuple[PreparedLot, Reason] | None:
    """The lot with every flow below its lowest bound, and what to state; None: all is stated."""
    parts = (*loop_type(system).parts, "header")
    features, told = [], []
    for feature in lot.site.features:
        lowest: dict[str, tuple[float, Rule]] = {}
        for part in parts:
            for rule in lot.rules.holding(part, feature):
                for key in unstated(rule.when, feature):
                    bound = _lower_bound(rule, key)
                    if bound is not None and bound < lowest.get(key, (math.inf, rule))[0]:
                        lowest[key] = bound, rule
        stated = feature
        for key, (bound, rule) in lowest.items():
            stated = _with_flow(stated, key, bound)
            laxer = _laxer(lot, rule, feature, stated)
            when = "" if laxer is None else laxer.when.words
            named = {"key": key, "feature": feature.id, "when": when}
            told.append(reason("flow-below", **named, below_m3s=bound))
        features.append(stated)
    if not told:
        return None
    site = replace(lot.site, features=tuple(features))
    return lot_of(site, earlier=lot.memory), reason("flows-stated", flows=tuple(told))


def _with_flow(feature: Feature, key: str, bound: float) -> Feature:
    """A feature that states a flow just below a bound [m3/s]."""
    if key == "daily_flow":
        return replace(feature, daily_flow_m3s=BELOW * bound)
    return replace(feature, pump_rate_m3s=BELOW * bound)


def _lower_bound(rule: Rule, key: str) -> float | None:
    """Flow below which a rule would not hold; None where there is no such flow [m3/s]."""
    if key not in FLOWS:
        return None
    wanted: Range | None = getattr(rule.when, key)
    return wanted.low if wanted is not None and 0 < wanted.low < math.inf else None


def _tried(
    lot: PreparedLot,
    wanted: tuple[System, float],
    feature: Feature,
    turning: tuple[Rule, str, float],
) -> Iterator[Reason]:
    (system, required_m), (rule, key, bound) = wanted, turning
    stated = _with_flow(feature, key, bound)
    features = tuple(stated if other.id == feature.id else other for other in lot.site.features)
    site = replace(lot.site, features=features)
    held = fits_with(lot_of(site, earlier=lot.memory), system, required_m)
    if held is None:
        return
    laxer = _laxer(lot, rule, feature, stated)
    if laxer is not None:
        yield reason(
            "state-a-flow",
            feature=feature.id,
            kind=feature.kind,
            key=key,
            below_m3s=bound,
            when=laxer.when.words,
            printed=laxer.printed,
            instead=rule.printed,
            screened=held.screened,
        )


def _laxer(lot: PreparedLot, rule: Rule, feature: Feature, stated: Feature) -> Rule | None:
    """The rule that holds in place of another once a flow is stated; None: none does."""
    return next(
        (
            other
            for other in lot.rules.rules
            if (other.subject, other.book) == (rule.subject, rule.book)
            and set(other.parts) & set(rule.parts)
            and unstated(other.when, feature)
            and binds(other.when, stated)
        ),
        None,
    )
