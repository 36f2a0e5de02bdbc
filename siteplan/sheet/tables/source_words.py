"""Sources below a table, under the numbers that its rows have."""

from __future__ import annotations

from collections.abc import Sequence

TWO_DIGITS = 10
INDENT_MM, DIGIT_MM = 5.5, 1.5
"""What the number of a source takes before it, and a second digit of it."""


def source_indent(sources: Sequence[str]) -> float:
    """What the numbers of so many sources take before them [mm]."""
    return INDENT_MM if len(sources) < TWO_DIGITS else INDENT_MM + DIGIT_MM
