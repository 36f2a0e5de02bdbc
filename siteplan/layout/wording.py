"""Words that several engines use to say what stops a loop type."""

from __future__ import annotations

from siteplan.units import Rounding, format_length, to_unit

NO_AREA = "the separations leave no available area for {things}"
NO_WAY = "the header cannot reach the available area from any entry"


def both_units(length_m: float, rounding: Rounding = "nearest") -> str:
    """Length in feet and, in brackets, metres, for a sentence.

    Examples
    --------
    >>> both_units(6.096), both_units(10.0)
    ('20 ft (6.10 m)', '32.8 ft (10.00 m)')
    """
    feet = to_unit(length_m, "ft")
    decimals = 0 if abs(feet - round(feet)) < 1e-6 else 1
    in_feet = format_length(length_m, "ft", decimals, rounding=rounding)
    return f"{in_feet} ({format_length(length_m, 'm', 2, rounding=rounding)})"


def count_of(count: int, thing: str) -> str:
    """Number and noun.

    Examples
    --------
    >>> count_of(1, "bore"), count_of(7, "bore")
    ('1 bore', '7 bores')
    """
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"
