"""Words that several engines use to say what stops a loop type."""

from __future__ import annotations

from siteplan.site.model import DisplayUnit
from siteplan.units.lengths import ROUNDING_SLACK, Rounding, format_length, to_unit

NO_AREA = "the separations leave no available area for {things}"
NO_WAY = "the header cannot reach the available area from any entry"


def in_words(length_m: float, unit: DisplayUnit, rounding: Rounding = "nearest") -> str:
    """Length for a sentence, without decimals where it has none.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> in_words(6.096, US), in_words(10.0, US), in_words(10.0, METRIC)
    ('20 ft', '32.8 ft', '10 m')
    """
    length = to_unit(length_m, unit)
    decimals = 0 if abs(length - round(length)) < ROUNDING_SLACK else 1
    return format_length(length_m, unit, decimals, rounding=rounding)


def no_more_than(most_m: float, unit: DisplayUnit) -> str:
    """Length that no arrangement exceeds, for a sentence, rounded up.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC
    >>> no_more_than(100.2, METRIC)
    'no arrangement holds more than 101 m'
    """
    return f"no arrangement holds more than {format_length(most_m, unit, 0, rounding='up')}"


def count_of(count: int, thing: str) -> str:
    """Number and noun.

    Examples
    --------
    >>> count_of(1, "bore"), count_of(7, "bore")
    ('1 bore', '7 bores')
    """
    return f"{count} {thing}" if count == 1 else f"{count} {thing}s"
