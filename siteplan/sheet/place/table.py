"""A table: its columns, how wide they are, its rows, and what all are called for programs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.sheet.model import Anchor
from siteplan.sheet.style.text import room_width

BODY_MM: Final = 2.05
"""Height of a capital in running text and in tables [mm]."""
CELL_MM: Final = 0.9
"""Free paper left and right in a table cell [mm]."""
LEAST_WRAP_MM: Final = 14.0
HAIR_MM: Final = 0.01
"""More than its longest word has a column: else rounding alone would break that word [mm]."""

Row = tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table.

    Parameters
    ----------
    name
        What programs call it, whatever its title.
    title
        What people read above it.
    wrap
        Whether it breaks its text and takes what width is left.
    """

    name: str
    title: str
    anchor: Anchor = "left"
    wrap: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Columns and rows of text.

    Parameters
    ----------
    name
        What programs call it, whatever its heading.
    names
        What programs call each row; where none are given, by its first cell.
    """

    name: str
    columns: tuple[Column, ...]
    rows: tuple[Row, ...]
    names: tuple[str, ...] = ()

    @property
    def row_names(self) -> tuple[str, ...]:
        """What programs call each row."""
        return self.names or tuple(row[0] for row in self.rows)

    @property
    def natural_width(self) -> float:
        """Width that keeps every text on one line [mm]."""
        return sum(natural_widths(self))

    def part(self, start: int, end: int) -> Table:
        """Rows from one number up to another, without the latter."""
        return replace(self, rows=self.rows[start:end], names=self.names[start:end])

    def without(self, column: str) -> Table:
        """The table without a column; the same where it has none of that name."""
        left = [number for number, shown in enumerate(self.columns) if shown.name != column]
        return Table(
            self.name,
            tuple(self.columns[number] for number in left),
            tuple(tuple(row[number] for number in left) for row in self.rows),
            self.row_names,
        )


def natural_widths(table: Table) -> list[float]:
    """Width each column needs to keep its text on one line [mm]."""
    return [
        2 * CELL_MM
        + max(
            room_width(column.title, BODY_MM, bold=True),
            *(room_width(row[number], BODY_MM) for row in table.rows),
            0.0,
        )
        for number, column in enumerate(table.columns)
    ]


def column_widths(table: Table, total: float) -> list[float]:
    """Widths that add up to ``total`` [mm]: spare width is shared, lack is the wrapping column's.

    Examples
    --------
    >>> columns = (Column("id", "ID"), Column("rule", "RULE", wrap=True))
    >>> column_widths(Table("rules", columns, (("B1", "one two"),)), 40.0)[1] > 30
    True
    """
    widths = natural_widths(table)
    spare = total - sum(widths)
    wraps = [number for number, column in enumerate(table.columns) if column.wrap]
    # by what each has above its longest word, so that none is broken for the sake of another
    if len(wraps) > 1 and spare < 0.0:
        return _squeezed(widths, wraps, [_floor(table, k) for k in wraps], spare)
    if wraps:
        for number in wraps:
            floor = min(widths[number], LEAST_WRAP_MM)
            widths[number] = max(widths[number] + spare / len(wraps), floor)
        return widths
    return [width + spare / len(widths) for width in widths]


def _floor(table: Table, number: int) -> float:
    """Width that breaks neither a word of a column nor its title [mm]."""
    title = 2 * CELL_MM + room_width(table.columns[number].title, BODY_MM, bold=True)
    return max(title, _longest_word(table.rows, number))


def _longest_word(rows: Sequence[Row], number: int) -> float:
    """Width that breaks no word of a column [mm]."""
    longest_of = (word for row in rows for word in row[number].split())
    widest = max((room_width(word, BODY_MM) for word in longest_of), default=0.0)
    return 2 * CELL_MM + widest + HAIR_MM


def _squeezed(
    widths: list[float], wraps: list[int], floors: list[float], spare: float
) -> list[float]:
    """Widths less the lack, which the wrapping columns bear by what they have above their floor."""
    loose = [max(0.0, widths[k] - floor) for k, floor in zip(wraps, floors, strict=True)]
    share = min(1.0, -spare / sum(loose)) if sum(loose) else 0.0
    for k, free in zip(wraps, loose, strict=True):
        widths[k] -= share * free
    return widths
