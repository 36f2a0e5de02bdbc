"""Figures that a row prints beside those that the plan is checked by."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final, Literal

from siteplan.rule_books.model import Book, Bound, Duty
from siteplan.units.lengths import parse_length
from siteplan.units.pressures import parse_pressure

NEAR: Final = 0.02
"""How far apart two writings of one figure may be, as 3 ft and 0.9 m are."""
NUMBER: Final = r"(\d[\d,]*(?:\.\d+)?)"
Of = Literal["pressure", "length", "minutes", "share", "ratio", "times", "days"]
FIGURES: Final[dict[Of, re.Pattern[str]]] = {
    "pressure": re.compile(rf"{NUMBER}\s*(psi|kPa|bar)\b", re.IGNORECASE),
    "length": re.compile(rf"{NUMBER}\s*(feet|foot|ft|inches|inch|in|m|cm|mm)\b"),
    "minutes": re.compile(rf"{NUMBER}\s*(hours?|hrs?|h|minutes?|min)\b"),
    "share": re.compile(rf"{NUMBER}\s*(%|percent\b)"),
    "ratio": re.compile(rf"\b(?:SDR|DR)[ -]?{NUMBER}()"),
    "times": re.compile(rf"{NUMBER}\s*(x|times)\b"),
    "days": re.compile(rf"{NUMBER}\s*(?:business |working )?(hours?|hrs?|h|days?|weeks?)\b"),
}
"""How a figure of each kind is printed: the number, then its unit."""
RANGE: Final = re.compile(rf"{NUMBER}\s*(?:to|or|-|–)\s*{NUMBER}\s*([^\s\d;,.]+)")
"""Two figures with one unit, as in 0.6 to 1.2 m."""
FEET: Final = {"feet": "ft", "foot": "ft", "inches": "in", "inch": "in"}
DAYS: Final = {"h": 1 / 24, "d": 1.0, "w": 7.0}


@dataclass(frozen=True, slots=True)
class Checked:
    """A figure of a row by which the plan is checked.

    Parameters
    ----------
    of
        What it is a figure of.
    key
        Key of the row that has it.
    value
        The figure: Pa, m, minutes, a share of one, a ratio or a number.
    """

    of: Of
    key: str
    value: float


def apart(bound: Bound) -> tuple[Checked, ...]:
    """What a bound is checked by where its text prints figures of the kind, and none is that.

    Examples
    --------
    >>> test = Bound("t", "test pressure", (), "100 psi for 1 h", "s. 1", least=689476, minutes=15)
    >>> [figure.key for figure in apart(test)]
    ['minutes']
    """
    return tuple(
        each
        for each in _checked(bound)
        for printed in (list(_printed(bound.printed, each.of)),)
        if printed and not any(_alike(each.value, other) for other in printed)
    )


def figures_apart(book: Book) -> Iterator[str]:
    """Rows that print one figure and are checked by another, in words."""
    for bound in book.bounds:
        for figure in apart(bound):
            yield (
                f"{bound.id}: {figure.key} is what the plan is checked by, and printed = "
                f'"{bound.printed}" has another figure; which is right?'
            )
    for duty in book.duties:
        if _due_apart(duty):
            yield f'{duty.id}: due = "{duty.due}", and printed = "{duty.printed}"; which is right?'
    for rule in book.rules:
        if rule.variance_m is not None and rule.variance_m > rule.distance_m > 0:
            yield f"{rule.id}: its variance is more than its distance; are they swapped?"


def _due_apart(duty: Duty) -> bool:
    due, printed = (list(_printed(text, "days")) for text in (duty.due, duty.printed))
    return bool(due and printed) and not any(_alike(due[0], other) for other in printed)


def _checked(bound: Bound) -> Iterator[Checked]:
    if bound.least and bound.of in ("test pressure", "cover"):
        yield Checked("pressure" if bound.of == "test pressure" else "length", "least", bound.least)
    if bound.minutes:
        yield Checked("minutes", "minutes", bound.minutes)
    if bound.operating:
        yield Checked("times", "operating", bound.operating)
    if bound.share is not None:
        yield Checked("share", "share", bound.share)
    if bound.solids is not None:
        yield Checked("share", "solids", bound.solids)
    if bound.dimension_ratio is not None:
        yield Checked("ratio", "dimension_ratio", bound.dimension_ratio)


def _printed(text: str, of: Of) -> Iterator[float]:
    """Figures of one kind in a text."""
    for number, unit in FIGURES[of].findall(RANGE.sub(r"\1 \3 to \2 \3", text)):
        value = float(number.replace(",", ""))
        if of == "pressure":
            yield parse_pressure(f"{value} {unit}")
        elif of == "length":
            yield parse_length(f"{value} {FEET.get(unit, unit)}", "")
        elif of == "minutes":
            yield value * (60.0 if unit[0] == "h" else 1.0)
        elif of == "days":
            yield value * DAYS[unit[0]]
        else:
            yield value / 100 if of == "share" else value


def _alike(value: float, other: float) -> bool:
    return abs(value - other) <= NEAR * max(abs(value), abs(other))
