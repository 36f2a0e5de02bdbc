"""Whether a rule binds a feature: what is not stated counts as holding."""

from __future__ import annotations

from siteplan.rule_books.model import Condition
from siteplan.site.model import Feature


def binds(condition: Condition, feature: Feature, loop_flow_m3s: float | None) -> bool:
    """Whether a condition holds for a feature, or might: what is not stated counts as holding.

    Only an unstated voltage does not, because the safety rules have a row for it.
    """
    if not uses_meet(condition.use, feature.use):
        return False
    if condition.voltage_unknown:
        return feature.voltage_v is None
    if condition.voltage is not None and feature.voltage_v is None:
        return False
    stated = (
        (condition.pump_rate, feature.pump_rate_m3s),
        (condition.daily_flow, feature.daily_flow_m3s),
        (condition.loop_flow, loop_flow_m3s),
        (condition.voltage, feature.voltage_v),
    )
    return all(wanted is None or value is None or wanted.holds(value) for wanted, value in stated)


def certain(condition: Condition, feature: Feature) -> bool:
    """Whether a condition holds by what the feature states, not only because it might."""
    wanted = condition.use.split()
    return feature.use.split()[: len(wanted)] == wanted and not unstated(condition, feature)


def unstated(condition: Condition, feature: Feature) -> tuple[str, ...]:
    """Keys that a feature does not state and on which the class of a rule turns."""
    turns_on = {
        "pump_rate": (condition.pump_rate, feature.pump_rate_m3s),
        "daily_flow": (condition.daily_flow, feature.daily_flow_m3s),
    }
    return tuple(key for key, (wanted, value) in turns_on.items() if wanted and value is None)


def uses_meet(first: str, second: str) -> bool:
    """Whether two uses can mean the same thing: one begins with the words of the other.

    Examples
    --------
    >>> uses_meet("public", "public municipal"), uses_meet("private", "public")
    (True, False)
    >>> uses_meet("", "private"), uses_meet("public municipal", "public community")
    (True, False)
    """
    words_here, other = first.split(), second.split()
    shared = min(len(words_here), len(other))
    return words_here[:shared] == other[:shared]
