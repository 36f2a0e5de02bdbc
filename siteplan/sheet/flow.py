"""Blocks of the strip: text and tables flowing down a column of known width."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.sheet.model import XY, Anchor, Polygon, Polyline, Primitive, Symbol, Text, moved
from siteplan.sheet.styles import layer
from siteplan.sheet.text import text_width, wrapped

BODY_MM: Final = 2.05
HEADING_MM: Final = 2.7
PITCH_MM: Final = 3.15
"""Distance of base lines in running text [mm]."""
ROW_MM: Final = 3.7
CELL_MM: Final = 0.9
"""Free paper left and right in a table cell [mm]."""
BLOCK_GAP_MM: Final = 2.6
"""Free paper between two blocks [mm]."""
LEAST_WRAP_MM: Final = 14.0


@dataclass(frozen=True, slots=True)
class Face:
    """How text is set: height of a capital [mm], weight and style."""

    height: float = BODY_MM
    bold: bool = False
    style: str = "text"


BODY: Final = Face()
STRONG: Final = Face(bold=True)
QUIET: Final = Face(style="text-existing")


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of the strip; its primitives hang from (0, 0), the upper left corner [mm].

    Parameters
    ----------
    gap_mm
        Free paper below it [mm].
    """

    height_mm: float
    items: tuple[Primitive, ...]
    gap_mm: float = BLOCK_GAP_MM

    def at(self, x: float, y: float) -> tuple[Primitive, ...]:
        """The primitives with the upper left corner at a place on paper."""
        return tuple(moved(item, x, y) for item in self.items)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a table; ``wrap`` marks the one that takes what width is left."""

    title: str
    anchor: Anchor = "left"
    wrap: bool = False


class Flow:
    """Writes downwards from the top of a column."""

    def __init__(self, width_mm: float) -> None:
        self.width = width_mm
        self.depth = 0.0
        self.items: list[Primitive] = []

    def block(self, *, gap_mm: float = BLOCK_GAP_MM) -> Block:
        """What was written so far."""
        return Block(self.depth, tuple(self.items), gap_mm)

    def gap(self, height_mm: float) -> None:
        """Leave paper free."""
        self.depth += height_mm

    def text(self, text: str, x: float, face: Face = BODY, *, anchor: Anchor = "left") -> None:
        """Write one line with its base line at the present depth."""
        at = (x, -self.depth)
        where = layer("sheet-text")
        line = Text(text, at, face.height, face.style, where, "paper", 0.0, anchor, face.bold)
        self.items.append(line)

    def heading(self, text: str) -> None:
        """Write a heading over a rule."""
        lines = wrapped(text, self.width, HEADING_MM, bold=True)
        for line in lines:
            self.depth += HEADING_MM + 1.1
            self.text(line, 0.0, Face(HEADING_MM, bold=True))
        self.depth += 1.1
        self.line("rule")
        self.depth += 0.9

    def paragraph(
        self, text: str, face: Face = BODY, *, indent: float = 0.0, lead: str = ""
    ) -> None:
        """Write wrapped text, with ``lead`` (a number) hanging in the indent."""
        pitch = face.height * PITCH_MM / BODY_MM
        width = self.width - indent
        for number, line in enumerate(wrapped(text, width, face.height, bold=face.bold)):
            self.depth += pitch
            if number == 0 and lead:
                self.text(lead, 0.0, face)
            self.text(line, indent, face)

    def line(self, style: str, *, left: float = 0.0, right: float | None = None) -> None:
        """Draw a rule across the column at the present depth."""
        end = self.width if right is None else right
        points = ((left, -self.depth), (end, -self.depth))
        self.items.append(Polyline(points, style, layer("table"), "paper"))

    def box(self, style: str, corner: XY, width: float, height: float) -> None:
        """Draw a box from its upper left corner (x, depth)."""
        x, y = corner[0], -corner[1]
        ring = ((x, y), (x + width, y), (x + width, y - height), (x, y - height))
        self.items.append(Polyline(ring, style, layer("table"), "paper", closed=True))

    def shade(self, left: float, width: float, height: float) -> None:
        """Fill a strip below the present depth."""
        top = -self.depth
        ring = (
            (left, top),
            (left + width, top),
            (left + width, top - height),
            (left, top - height),
        )
        self.items.append(Polygon((ring,), "shade", layer("table"), "paper"))

    def symbol(self, name: str, at: XY, size: float, style: str) -> None:
        """Draw a symbol at (x, depth)."""
        where = layer("legend")
        self.items.append(Symbol(name, (at[0], -at[1]), size, style, where, "paper"))

    def table(
        self, columns: Sequence[Column], rows: Iterable[Sequence[str]], *, left: float = 0.0,
        width: float | None = None,
    ) -> None:  # fmt: skip
        """Write a table; the wrapping column breaks its text, the others keep theirs whole."""
        total = self.width if width is None else width
        body = [tuple(row) for row in rows]
        widths = column_widths(columns, body, total)
        self.shade(left, total, ROW_MM)
        self._row(columns, [(column.title,) for column in columns], widths, left, bold=True)
        self.line("rule", left=left, right=left + total)
        for row in body:
            cells = [
                wrapped(cell, size - 2 * CELL_MM, BODY_MM) if column.wrap else (cell,)
                for cell, column, size in zip(row, columns, widths, strict=True)
            ]
            self._row(columns, cells, widths, left)
            self.line("hair", left=left, right=left + total)

    def _row(
        self, columns: Sequence[Column], cells: Sequence[tuple[str, ...]],
        widths: Sequence[float], left: float, *, bold: bool = False,
    ) -> None:  # fmt: skip
        top = self.depth
        tallest = max(len(cell) for cell in cells)
        for number in range(tallest):
            self.depth = top + (ROW_MM + BODY_MM) / 2 + number * PITCH_MM
            edge = left
            for column, cell, size in zip(columns, cells, widths, strict=True):
                if number < len(cell):
                    x = {
                        "left": edge + CELL_MM, "center": edge + size / 2,
                        "right": edge + size - CELL_MM,
                    }[column.anchor]  # fmt: skip
                    self.text(cell[number], x, STRONG if bold else BODY, anchor=column.anchor)
                edge += size
        self.depth = top + ROW_MM + (tallest - 1) * PITCH_MM


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
    if wraps:
        for number in wraps:
            floor = min(widths[number], LEAST_WRAP_MM)
            widths[number] = max(widths[number] + spare / len(wraps), floor)
        return widths
    return [width + spare / len(widths) for width in widths]
