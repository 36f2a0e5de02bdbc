"""What a site file could state so that a laxer class of a rule holds, tried before it is named."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import replace

from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.design.evaluate import try_system
from siteplan.findings.model import Reason, reason
from siteplan.rule_books.model import Range, Rule
from siteplan.rules.conditions import binds, unstated
from siteplan.site.model import Feature, System
from siteplan.vocabulary.loop_types import loop_type

BELOW = 0.999
"""Of the bound of a class so much is tried as a flow below it [-]."""


def statements(lot: PreparedLot, system: System) -> Iterator[Reason]:
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
                    yield from _tried(lot, system, feature, (rule, key, bound))


def _lower_bound(rule: Rule, key: str) -> float | None:
    """Flow below which a rule would not hold; None where there is no such flow [m3/s]."""
    wanted: Range | None = getattr(rule.when, key)
    return wanted.low if wanted is not None and 0 < wanted.low < math.inf else None


def _tried(
    lot: PreparedLot, system: System, feature: Feature, turning: tuple[Rule, str, float]
) -> Iterator[Reason]:
    rule, key, bound = turning
    stated = (
        replace(feature, daily_flow_m3s=BELOW * bound)
        if key == "daily_flow"
        else replace(feature, pump_rate_m3s=BELOW * bound)
    )
    features = tuple(stated if other.id == feature.id else other for other in lot.site.features)
    site = replace(lot.site, features=features)
    if not try_system(lot_of(site, earlier=lot.memory), system).fits:
        return
    laxer = next(
        (
            other
            for other in lot.rules.rules
            if (other.subject, other.book) == (rule.subject, rule.book)
            and set(other.parts) & set(rule.parts)
            and unstated(other.when, feature)
            and binds(other.when, stated, None)
        ),
        None,
    )
    if laxer is not None:
        yield reason(
            "state-a-flow",
            feature=feature.id,
            kind=feature.kind,
            key=key,
            when=laxer.when.words,
            printed=laxer.printed,
            instead=rule.printed,
        )
