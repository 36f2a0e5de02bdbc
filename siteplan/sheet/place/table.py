"""Columns of a table, and how wide they are."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.sheet.model import Anchor
from siteplan.sheet.style.text import text_width

BODY_MM: Final = 2.05
"""Height of a capital in running text and in tables [mm]."""
CELL_MM: Final = 0.9
"""Free paper left and right in a table cell [mm]."""
LEAST_WRAP_MM: Final = 14.0


Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; ``wrap`` marks the one that takes what width is left."""

    title: str
    anchor: Anchor = "left"
    wrap: bool = False


def natural_widths(columns: Sequence[Column], rows: Sequence[Sequence[str]]) -> list[float]:
    """Width each column needs to keep its text on one line [mm]."""
    return [
        2 * CELL_MM
        + max(
            text_width(column.title, BODY_MM, bold=True),
            *(text_width(row[number], BODY_MM) for row in rows),
            0.0,
        )
        for number, column in enumerate(columns)
    ]


def column_widths(
    columns: Sequence[Column], rows: Sequence[Sequence[str]], total: float
) -> list[float]:
    """Widths that add up to ``total`` [mm]: spare width is shared, lack is the wrapping column's.

    Examples
    --------
    >>> column_widths([Column("ID"), Column("RULE", wrap=True)], [("B1", "one two")], 40.0)[1] > 30
    True
    """
    widths = natural_widths(columns, rows)
    spare = total - sum(widths)
    wraps = [number for number, column in enumerate(columns) if column.wrap]
    if len(wraps) > 1 and spare < 0.0:
        return _squeezed(widths, wraps, [_longest_word(rows, k) for k in wraps], spare)
    if wraps:
        for number in wraps:
            floor = min(widths[number], LEAST_WRAP_MM)
            widths[number] = max(widths[number] + spare / len(wraps), floor)
        return widths
    return [width + spare / len(widths) for width in widths]


def _longest_word(rows: Sequence[Sequence[str]], number: int) -> float:
    """Width that breaks no word of a column [mm]."""
    words = (word for row in rows for word in row[number].split())
    return 2 * CELL_MM + max((text_width(word, BODY_MM) for word in words), default=0.0)


def _squeezed(
    widths: list[float], wraps: list[int], floors: list[float], spare: float
) -> list[float]:
    """Widths less the lack, which the wrapping columns bear by what they have above their floor."""
    loose = [max(0.0, widths[k] - floor) for k, floor in zip(wraps, floors, strict=True)]
    share = min(1.0, -spare / sum(loose)) if sum(loose) else 0.0
    for k, free in zip(wraps, loose, strict=True):
        widths[k] -= share * free
    return widths
