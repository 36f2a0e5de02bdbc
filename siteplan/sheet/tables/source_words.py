"""Sources as a sheet names them: document and section, below a table under their numbers."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from siteplan.findings.words import COMMON, without_disclaimer
from siteplan.rule_books.model import COMMON_PRACTICE, OWN_BOOK, SAFETY
from siteplan.units.model import UnitSystem

TWO_DIGITS: Final = 10
INDENT_MM, DIGIT_MM = 5.5, 1.5
"""What the number of a source takes before it, and a second digit of it."""


def source_indent(sources: Sequence[str]) -> float:
    """What the numbers of so many sources take before them [mm]."""
    return INDENT_MM if len(sources) < TWO_DIGITS else INDENT_MM + DIGIT_MM


def source_words(book: str, source: str, unit: UnitSystem) -> str:
    """Document and section that a rule comes from, without the name that its book has here.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> source_words("maine", "10-144 CMR ch. 232, ch. 6 s. 600", US)
    '10-144 CMR ch. 232, ch. 6 s. 600'
    >>> source_words("common-practice", "common practice, no source", US)
    'common practice'
    >>> source_words("this site", "owner's wish", US)
    "this design: owner's wish"
    >>> source_words("us-safety", "29 CFR 1926.1408, Table A", METRIC)
    'US practice, 29 CFR 1926.1408, Table A'
    """
    said = without_disclaimer(source)
    if book == COMMON_PRACTICE:
        return COMMON if said == COMMON else f"{COMMON}: {said}"
    if book == OWN_BOOK:
        return f"this design: {said}"
    return f"{unit.us_law}{said}" if book == SAFETY else said
