"""When a rule binds, as a book writes it."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any

from siteplan.reading import Table
from siteplan.rule_books.model import Condition, Range
from siteplan.units.lengths import parse_flow, parse_voltage

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
