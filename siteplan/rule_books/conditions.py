"""When a rule binds, as a book writes it."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.hydraulics.fluids import antifreeze_of, fluid_names
from siteplan.reading import Table, did_you_mean
from siteplan.rule_books.when import LIES, OWNERS, PIPES, Condition, Range
from siteplan.units.lengths import parse_flow, parse_length, parse_power, parse_voltage
from siteplan.units.written import UnitError

UNKNOWN = "unknown"
BOUNDS = ("over", "from", "to", "below")


@cache
def materials() -> Mapping[str, tuple[str, ...]]:
    """Words for fluid, grout, pipe and marking that a book may name."""
    text = files("siteplan.rule_books").joinpath("materials.toml").read_text(encoding="utf-8")
    words = {key: tuple(names) for key, names in tomllib.loads(text).items()}
    known = dict.fromkeys(antifreeze_of(name) for name in fluid_names())
    return words | {"fluid": (*known, *words["fluid"])}


def read_names(table: Table, key: str, of: str) -> tuple[str, ...]:
    """Materials that a key names; what is not known is a fault."""
    names, known = table.words(key), materials()[of]
    for name in names:
        if name not in known:
            table.fault(key, f"{name!r} is not a known {of};", did_you_mean(name, known))
    return names


def read_condition(table: Table) -> Condition:
    """Condition of a rule's ``when`` table; a plain ``use`` key of a rule counts too."""
    when = table.table("when")
    voltage = when.raw("voltage")
    condition = Condition(
        use=when.text("use") or table.text("use"),
        pump_rate=read_range(when, "pump_rate", parse_flow),
        daily_flow=read_range(when, "daily_flow", parse_flow),
        loop_flow=read_range(when, "loop_flow", parse_flow),
        voltage=None if voltage == UNKNOWN else read_range(when, "voltage", parse_voltage),
        voltage_unknown=voltage == UNKNOWN,
        pipe=when.choice("pipe", PIPES, ""),
        owner=when.choice("owner", OWNERS, ""),
        lies=when.choice("lies", LIES, ""),
        fluid=read_names(when, "fluid", "fluid"),
        other_fluid=read_names(when, "other_fluid", "fluid"),
        depth=read_range(when, "depth", parse_depth),
        power=read_range(when, "power", parse_power),
        words=_words(when.values),
    )
    when.finish()
    return condition


def parse_depth(value: Any) -> float:
    """Depth, or a distance within which one holds [m].

    Raises
    ------
    UnitError
        It is no length, or below zero.
    """
    depth = parse_length(value, "")
    if depth < 0:
        raise UnitError(f"{value!r} is too small. Give zero or more.")
    return depth


def _words(when: Mapping[str, Any]) -> str:
    """Condition in words, such as ``public, pump rate over 10 gpm to 25 gpm``."""
    pieces = []
    for key, value in when.items():
        name = "" if key == "use" else f"{key.replace('_', ' ')} "
        bounds = value.items() if isinstance(value, dict) else ()
        limits = " ".join(f"{bound} {limit}" for bound, limit in bounds)
        said = " or ".join(map(str, value)) if isinstance(value, list) else value
        pieces.append(f"{name}{limits or said}")
    return ", ".join(pieces)


def read_range(table: Table, key: str, parse: Callable[[Any], float]) -> Range | None:
    """Range of a table such as ``{ over = "10 gpm", to = "25 gpm" }``; None without one."""
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
