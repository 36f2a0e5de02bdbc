"""When a rule binds: reading conditions, and judging them against a feature."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from siteplan.reading import Table
from siteplan.rules.model import Condition, Range
from siteplan.site.model import Feature
from siteplan.units import parse_flow, parse_voltage

UNKNOWN = "unknown"
BOUNDS = ("over", "from", "to", "below")


def read_condition(table: Table) -> Condition:
    """Condition of a rule's ``when`` table; a plain ``use`` key of a rule counts too."""
    when = table.table("when")
    voltage = when.raw("voltage")
    condition = Condition(
        use=when.text("use") or table.text("use"),
        pump_rate=_range(when, "pump_rate", parse_flow),
        daily_flow=_range(when, "daily_flow", parse_flow),
        loop_flow=_range(when, "loop_flow", parse_flow),
        voltage=None if voltage == UNKNOWN else _range(when, "voltage", parse_voltage),
        voltage_unknown=voltage == UNKNOWN,
        words=_words(when.values),
    )
    when.finish()
    return condition


def _words(when: Mapping[str, Any]) -> str:
    """Condition in words, such as ``public, pump rate over 10 gpm to 25 gpm``."""
    pieces = []
    for key, value in when.items():
        name = "" if key == "use" else f"{key.replace('_', ' ')} "
        bounds = value.items() if isinstance(value, dict) else ()
        limits = " ".join(f"{bound} {limit}" for bound, limit in bounds)
        pieces.append(f"{name}{limits or value}")
    return ", ".join(pieces)


def _range(table: Table, key: str, parse: Callable[[Any], float]) -> Range | None:
    if not table.has(key):
        return None
    bounds = table.table(key)
    values = {bound: bounds.quantity(bound, parse) for bound in BOUNDS}
    bounds.finish()
    low = values["over"] if values["over"] is not None else values["from"]
    high = values["to"] if values["to"] is not None else values["below"]
    if low is None and high is None:
        bounds.fault("", "has no bound.", f"Give one of: {', '.join(BOUNDS)}.")
    return Range(
        low=low if low is not None else 0.0,
        high=high if high is not None else float("inf"),
        low_in=values["over"] is None,
        high_in=values["to"] is not None or values["below"] is None,
    )


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
    one, other = first.split(), second.split()
    shared = min(len(one), len(other))
    return one[:shared] == other[:shared]
