"""How far a rig stays below a power line as it travels with its mast lowered."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

from siteplan.units.lengths import parse_length, parse_voltage


@dataclass(frozen=True, slots=True)
class TravelRow:
    """A class of voltage and the clearance it asks for.

    Parameters
    ----------
    to_v
        Highest voltage of the class [V].
    clearance_m
        Least distance between equipment and line [m].
    printed
        The clearance as printed.
    """

    to_v: float
    clearance_m: float
    printed: str


@cache
def _table() -> tuple[str, tuple[TravelRow, ...]]:
    text = files("siteplan.earthwork").joinpath("travel.toml").read_text(encoding="utf-8")
    values = tomllib.loads(text)
    rows = tuple(
        TravelRow(parse_voltage(row["to"]), parse_length(row["clearance"], "ft"), row["clearance"])
        for row in values["row"]
    )
    return str(values["source"]), rows


def travel_source() -> str:
    """Document and section of the table."""
    return _table()[0]


def travel_row(voltage_v: float) -> TravelRow | None:
    """Row of a voltage [V]; None above the table, where the owner of the line decides.

    Examples
    --------
    >>> travel_row(13_800.0).printed, travel_row(600.0).printed, travel_row(2e6)
    ('6 ft', '4 ft', None)
    """
    return next((row for row in _table()[1] if voltage_v <= row.to_v), None)
