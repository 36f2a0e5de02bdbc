"""Days of the year, such as the coldest one: read from a site file, and told."""

from __future__ import annotations

import math
import re
from typing import Final

from siteplan.units.written import UnitError

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
    >>> parse_day("3 February"), parse_day("Mar 1"), parse_day(34)
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
    number, _, name = re.sub(r"[\s-]+", " ", text.strip()).partition(" ")
    if name.isdecimal():
        number, name = name, number
    before, word = 0, name.lower().rstrip(".")
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


DAY_S: Final = 86_400.0
DAYS_A_YEAR: Final = 365.0


def format_duration(seconds: float) -> str:
    """How long something lasts, rounded down: in days, from two years on in years.

    Examples
    --------
    >>> format_duration(24.9 * 86400), format_duration(3.57 * 365 * 86400)
    ('24 days', '3.5 years')
    >>> format_duration(86400.0), format_duration(3e11)
    ('1 day', 'more than 1,000 years')
    """
    days = seconds / DAY_S
    years = days / DAYS_A_YEAR
    if years > 1000:
        return "more than 1,000 years"
    if years >= 2:
        return f"{math.floor(years * 10) / 10:.1f} years"
    whole = math.floor(days)
    return "1 day" if whole == 1 else f"{whole} days"
