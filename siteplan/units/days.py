"""Days of the year, such as the coldest one: read from a site file, and told."""

from __future__ import annotations

from typing import Final

from siteplan.units.lengths import UnitError

MONTHS: Final = (
    ("January", 31),
    ("February", 28),
    ("March", 31),
    ("April", 30),
    ("May", 31),
    ("June", 30),
    ("July", 31),
    ("August", 31),
    ("September", 30),
    ("October", 31),
    ("November", 30),
    ("December", 31),
)
"""Months of a year of 365 days, with their days."""
YEAR: Final = 365
SHORTEST_NAME: Final = 3


def parse_day(value: str | float) -> float:
    """Day of the year of ``"3 February"`` or ``34``, from 1 to 365.

    Raises
    ------
    UnitError
        No such day.

    Examples
    --------
    >>> parse_day("3 February"), parse_day("1 Mar"), parse_day(34)
    (34.0, 60.0, 34.0)
    """
    if isinstance(value, str):
        day = _named(value)
    else:
        whole = not isinstance(value, bool) and isinstance(value, (int, float))
        day = float(value) if whole and 1 <= value <= YEAR else None
    if day is None:
        raise UnitError(f"{value!r} is no day of a year; write '3 February', or 34.")
    return day


def _named(text: str) -> float | None:
    number, _, name = text.strip().partition(" ")
    before, word = 0, name.strip().lower().rstrip(".")
    for month, days in MONTHS:
        if len(word) >= SHORTEST_NAME and month.lower().startswith(word):
            known = number.isdecimal() and 1 <= int(number) <= days
            return float(before + int(number)) if known else None
        before += days
    return None


def format_day(day: float) -> str:
    """Date of a day of the year, which may lie beyond its end.

    Examples
    --------
    >>> format_day(34.0), format_day(364.6), format_day(365.6)
    ('3 February', '31 December', '1 January')
    """
    left = (round(day) - 1) % YEAR + 1
    for month, days in MONTHS:
        if left <= days:
            return f"{left} {month}"
        left -= days
    raise AssertionError(day)
