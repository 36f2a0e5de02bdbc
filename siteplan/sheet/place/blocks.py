"""Blocks of the strip: text and tables flowing down a column of known width."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final, NamedTuple

from siteplan.sheet.marks import AGAIN, HEADING, Mark
from siteplan.sheet.model import XY, Anchor, Polygon, Polyline, Primitive, Symbol, Text, moved
from siteplan.sheet.place.table import BODY_MM, CELL_MM, Column, Table, column_widths
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import wrapped

HEADING_MM: Final = 2.7
PITCH_MM: Final = 3.15
"""Distance of base lines in running text [mm]."""
ROW_MM: Final = 3.7
BLOCK_GAP_MM: Final = 2.6
"""Free paper between two blocks [mm]."""
AGAIN_MM: Final = 4.4
"""Height of the title over a table that goes on [mm]."""
LEAST_LINES: Final = 3
"""Lines or rows of a block that stay together at its top."""
LEAST_LEFT: Final = 2
"""Lines of a paragraph, or rows of a table, that stay together where it is parted."""


@dataclass(frozen=True, slots=True)
class Face:
    """How text is set: height of a capital [mm], weight and style."""

    height: float = BODY_MM
    bold: bool = False
    style: str = "text"


BODY: Final = Face()
STRONG: Final = Face(bold=True)
QUIET: Final = Face(style="text-existing")


class Cut(NamedTuple):
    """A place where a block may go on in the next column.

    Parameters
    ----------
    depth_mm
        Below the upper edge of the block [mm].
    above
        Number of primitives above it.
    again
        What is written once more above the rest: the head of a table; hangs from (0, 0).
    again_mm
        Its height [mm].
    lonely
        Whether one line of a paragraph or one row of a table would stand alone, above or below.
    """

    depth_mm: float
    above: int
    again: tuple[Primitive, ...] = ()
    again_mm: float = 0.0
    lonely: bool = False


@dataclass(frozen=True, slots=True)
class Run:
    """Primitives of a block one after another, and how far up each is to be moved, in turn [mm].

    A long table is parted again and again to find out how it fills columns best: what it consists
    of is moved once, where it is drawn.
    """

    items: tuple[Primitive, ...]
    ups: tuple[float, ...] = ()

    def at(self, x: float, y: float) -> Iterator[Primitive]:
        """The primitives moved up, then to a place on paper [mm]."""
        for item in self.items:
            yield moved(item, x, y, ups=self.ups)


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
    runs: tuple[Run, ...]
    gap_mm: float = BLOCK_GAP_MM
    cuts: tuple[Cut, ...] = ()

    @property
    def items(self) -> tuple[Primitive, ...]:
        """The primitives."""
        return self.at(0.0, 0.0)

    def at(self, x: float, y: float) -> tuple[Primitive, ...]:
        """The primitives with the upper left corner at a place on paper."""
        return tuple(item for run in self.runs for item in run.at(x, y))

    def parted(self, height_mm: float, *, least: int = LEAST_LINES) -> tuple[Block, Block] | None:
        """What of the block stands in a height [mm], and the rest; None where no cut allows it.

        ``least``: lines or rows that stay together at its top.
        """
        near = [cut for cut in self.cuts[least - 1 :] if cut.depth_mm <= height_mm]
        if not near:
            return None
        # better a line of free paper than a line alone
        cut = next((cut for cut in reversed(near) if not cut.lonely), near[-1])
        up, gone = cut.depth_mm - cut.again_mm, cut.above - len(cut.again)
        above, below = self._split(cut.above)
        later = tuple(
            # as a whole: of long tables there are thousands
            Cut(later.depth_mm - up, later.above - gone, later.again, later.again_mm, later.lonely)
            for later in self.cuts
            if later.above > cut.above
        )
        lifted = (Run(run.items, (*run.ups, up)) for run in below)
        rest = Block(self.height_mm - up, (Run(cut.again), *lifted), self.gap_mm, later)
        return Block(cut.depth_mm, above, self.gap_mm), rest

    def _split(self, count: int) -> tuple[tuple[Run, ...], tuple[Run, ...]]:
        """Runs of the first primitives, so many, and those of the rest."""
        above, below = [], []
        for run in self.runs:
            above.append(Run(run.items[: max(count, 0)], run.ups))
            below.append(Run(run.items[max(count, 0) :], run.ups))
            count -= len(run.items)
        return tuple(above), tuple(below)


@dataclass(frozen=True, slots=True)
class _Places:
    """Where the cells of a row stand, and what row of what table it is; the head has no name."""

    table: str
    row: str
    columns: Sequence[Column]
    widths: Sequence[float]
    left: float


class Flow:
    """Writes downwards from the top of a column.

    Parameters
    ----------
    about
        What programs call the block: the mark that its text carries into the drawing.
    """

    def __init__(self, width_mm: float, about: str) -> None:
        self.width = width_mm
        self.about = about
        self.depth = 0.0
        self.items: list[Primitive] = []
        self.cuts: list[Cut] = []
        self.title = ""
        self.tabled = False

    def block(self, *, gap_mm: float = BLOCK_GAP_MM) -> Block:
        """What was written so far."""
        cuts = tuple(cut for cut in self.cuts if cut.above < len(self.items))
        return Block(self.depth, (Run(tuple(map(self._marked, self.items))),), gap_mm, cuts)

    def _marked(self, item: Primitive) -> Primitive:
        """The primitive; a text that was drawn without a mark gets that of the block."""
        if isinstance(item, Text) and item.mark is None:
            return replace(item, mark=Mark(self.about))
        return item

    def gap(self, height_mm: float) -> None:
        """Leave paper free."""
        self.depth += height_mm

    def text(
        self, text: str, x: float, face: Face = BODY, *, anchor: Anchor = "left",
        mark: Mark | None = None,
    ) -> None:  # fmt: skip
        """Write one line with its base line at the present depth."""
        at = (x, -self.depth)
        where = layer("sheet-text")
        line = Text(text, at, face.height, face.style, where, "paper", 0.0, anchor, face.bold, mark)
        self.items.append(line)

    def heading(self, text: str) -> None:
        """Write a heading over a rule."""
        self.title = text
        lines = wrapped(text, self.width, HEADING_MM, bold=True)
        for number, line in enumerate(lines):
            self.depth += HEADING_MM + 1.1
            mark = Mark(self.about, column=HEADING, line=number)
            self.text(line, 0.0, Face(HEADING_MM, bold=True), mark=mark)
        self.depth += 1.1
        self.line("rule")
        self.depth += 0.9

    def paragraph(
        self, text: str, face: Face = BODY, *, indent: float = 0.0, lead: str = "", name: str = ""
    ) -> None:
        """Write wrapped text, with ``lead`` (a number) hanging in the indent.

        ``name`` is what programs call it, where they have to find it.
        """
        pitch = face.height * PITCH_MM / BODY_MM
        width = self.width - indent
        lines = wrapped(text, width, face.height, bold=face.bold)
        for number, line in enumerate(lines):
            self.depth += pitch
            if number == 0 and lead:
                self.text(lead, 0.0, face)
            self.text(line, indent, face, mark=Mark(self.about, column=name, line=number))
            lonely = _is_lonely(number + 1, len(lines))
            self.cuts.append(Cut(self.depth + 0.8, len(self.items), *self._named(), lonely))

    def caption(self, text: str, *, name: str) -> None:
        """Write what stands over a table in bold, and is not parted from it."""
        before = len(self.cuts)
        self.paragraph(text, STRONG, name=name)
        del self.cuts[before:]

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

    def symbol(self, name: str, at: XY, size: float, style: str, *, angle_deg: float = 0.0) -> None:
        """Draw a symbol at (x, depth), turned counter-clockwise."""
        where = layer("legend")
        place = (at[0], -at[1])
        self.items.append(Symbol(name, place, size, style, where, "paper", angle_deg))

    def table(self, table: Table, *, left: float = 0.0, width: float | None = None) -> None:
        """Write a table; the wrapping column breaks its text, the others keep theirs whole."""
        total = self.width if width is None else width
        columns, count = table.columns, len(table.rows)
        widths = column_widths(table, total)
        top, first, self.tabled = self.depth, len(self.items), True
        self.shade(left, total, ROW_MM)
        place = _Places(table.name, "", columns, widths, left)
        self._row(place, [(column.title,) for column in columns], STRONG)
        self.line("rule", left=left, right=left + total)
        head = self._again(self.items[first:], top)
        head_mm = self.depth - top + AGAIN_MM
        for number, (name, row) in enumerate(zip(table.row_names, table.rows, strict=True), 1):
            cells = [
                wrapped(cell, size - 2 * CELL_MM, BODY_MM) if column.wrap else (cell,)
                for cell, column, size in zip(row, columns, widths, strict=True)
            ]
            self._row(replace(place, row=name), cells, BODY)
            self.line("hair", left=left, right=left + total)
            again = (head, head_mm) if number < count else self._named()
            self.cuts.append(Cut(self.depth, len(self.items), *again, _is_lonely(number, count)))

    def _named(self) -> tuple[tuple[Primitive, ...], float]:
        """What stands over words below a table that go on in the next column, and its height [mm].

        They would be read as words on what stands there.
        """
        named = self.tabled and self.title
        return (self._again((), 0.0), AGAIN_MM) if named else ((), 0.0)

    def _again(self, head: Sequence[Primitive], top: float) -> tuple[Primitive, ...]:
        """The head of a table under its title, for the next column."""
        title = Flow(self.width, self.about)
        title.depth = AGAIN_MM - 1.2
        named = wrapped(f"{self.title}, CONTINUED", self.width, BODY_MM, bold=True)
        title.text(named[0], 0.0, STRONG, mark=Mark(self.about, column=AGAIN))
        return (*title.items, *(moved(item, 0.0, top - AGAIN_MM) for item in head))

    def _row(self, place: _Places, cells: Sequence[tuple[str, ...]], face: Face) -> None:
        top = self.depth
        tallest = max(len(cell) for cell in cells)
        for number in range(tallest):
            self.depth = top + (ROW_MM + BODY_MM) / 2 + number * PITCH_MM
            edge = place.left
            for column, cell, size in zip(place.columns, cells, place.widths, strict=True):
                if number < len(cell):
                    x = {
                        "left": edge + CELL_MM, "center": edge + size / 2,
                        "right": edge + size - CELL_MM,
                    }[column.anchor]  # fmt: skip
                    mark = Mark(place.table, place.row, column.name, number)
                    self.text(cell[number], x, face, anchor=column.anchor, mark=mark)
                edge += size
        self.depth = top + ROW_MM + (tallest - 1) * PITCH_MM


def _is_lonely(above: int, count: int) -> bool:
    """Whether, of so many lines or rows, too few would stand above a cut or below it.

    Examples
    --------
    >>> [_is_lonely(above, 4) for above in (1, 2, 3, 4)]
    [True, False, True, False]
    """
    return above < count and min(above, count - above) < LEAST_LEFT


def side_by_side(flow: Flow, table: Table, *, together: int = 1) -> None:
    """The table in as many parts side by side as the width takes.

    Parameters
    ----------
    together
        So many rows belong together and are not parted.
    """
    needed, count = table.natural_width + 1.0, len(table.rows)
    parts = max(1, min(int((flow.width + 2.0) / (needed + 2.0)), math.ceil(count / 4)))
    tall = together * math.ceil(count / parts / together)
    parts = max(1, math.ceil(count / max(tall, 1)))
    width = (flow.width - 2.0 * (parts - 1)) / parts
    top = deepest = flow.depth
    before = len(flow.cuts)
    for part in range(parts):
        flow.depth = top
        piece = table.part(part * tall, (part + 1) * tall)
        flow.table(piece, left=part * (width + 2.0), width=width)
        deepest = max(deepest, flow.depth)
    if parts > 1:
        # parts beside each other cannot be cut one by one
        del flow.cuts[before:]
    flow.depth = deepest
