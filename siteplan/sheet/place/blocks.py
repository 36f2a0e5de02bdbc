"""Blocks of the strip: text and tables flowing down a column of known width."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.sheet.model import XY, Anchor, Polygon, Polyline, Primitive, Symbol, Text, moved
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import kept_together, text_width, wrapped

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
AGAIN_MM: Final = 4.4
"""Height of the title over a table that goes on [mm]."""
LEAST_LINES: Final = 3
"""Lines or rows of a block that stay together at its top."""


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
class Cut:
    """A place where a block may go on in the next column.

    Parameters
    ----------
    depth_mm
        Below the upper edge of the block [mm].
    count
        Number of primitives above it.
    again
        What is written once more above the rest: the head of a table; hangs from (0, 0).
    again_mm
        Its height [mm].
    """

    depth_mm: float
    count: int
    again: tuple[Primitive, ...] = ()
    again_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Block:
    """A piece of the strip; its primitives hang from (0, 0), the upper left corner [mm].

    Parameters
    ----------
    gap_mm
        Free paper below it [mm].
    cuts
        Where it may go on in the next column, from the top down.
    """

    height_mm: float
    items: tuple[Primitive, ...]
    gap_mm: float = BLOCK_GAP_MM
    cuts: tuple[Cut, ...] = ()

    def at(self, x: float, y: float) -> tuple[Primitive, ...]:
        """The primitives with the upper left corner at a place on paper."""
        return tuple(moved(item, x, y) for item in self.items)

    def parted(self, height_mm: float) -> tuple[Block, Block] | None:
        """What of the block stands in a height [mm], and the rest; None where no cut allows it."""
        near = [cut for cut in self.cuts[LEAST_LINES - 1 :] if cut.depth_mm <= height_mm]
        if not near:
            return None
        cut = near[-1]
        up = cut.depth_mm - cut.again_mm
        below = tuple(moved(item, 0.0, up) for item in self.items[cut.count :])
        later = tuple(
            Cut(one.depth_mm - up, one.count - cut.count + len(cut.again), one.again, one.again_mm)
            for one in self.cuts
            if one.count > cut.count
        )
        upper = Block(cut.depth_mm, self.items[: cut.count], self.gap_mm)
        return upper, Block(self.height_mm - up, (*cut.again, *below), self.gap_mm, later)


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
        self.cuts: list[Cut] = []
        self.title = ""

    def block(self, *, gap_mm: float = BLOCK_GAP_MM) -> Block:
        """What was written so far."""
        cuts = tuple(cut for cut in self.cuts if cut.count < len(self.items))
        return Block(self.depth, tuple(self.items), gap_mm, cuts)

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
        self.title = text
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
            self.cuts.append(Cut(self.depth + 0.8, len(self.items)))

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
        top, first = self.depth, len(self.items)
        self.shade(left, total, ROW_MM)
        self._row(columns, [(column.title,) for column in columns], widths, left, bold=True)
        self.line("rule", left=left, right=left + total)
        head = self._again(self.items[first:], top)
        head_mm = self.depth - top + AGAIN_MM
        for number, row in enumerate(body, 1):
            cells = [
                wrapped(kept_together(cell), size - 2 * CELL_MM, BODY_MM)
                if column.wrap
                else (cell,)
                for cell, column, size in zip(row, columns, widths, strict=True)
            ]
            self._row(columns, cells, widths, left)
            self.line("hair", left=left, right=left + total)
            again = (head, head_mm) if number < len(body) else ((), 0.0)
            self.cuts.append(Cut(self.depth, len(self.items), *again))

    def _again(self, head: Sequence[Primitive], top: float) -> tuple[Primitive, ...]:
        """The head of a table under its title, for the next column."""
        title = Flow(self.width)
        title.depth = AGAIN_MM - 1.2
        named = wrapped(f"{self.title}, CONTINUED", self.width, BODY_MM, bold=True)
        title.text(named[0], 0.0, STRONG)
        return (*title.items, *(moved(item, 0.0, top - AGAIN_MM) for item in head))

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
