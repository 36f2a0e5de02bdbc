"""Sheets of text, tables and details: blocks filled into columns, page after page."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass, field, replace
from typing import Final

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import XY, Paper, Polyline, Primitive, Text
from siteplan.sheet.pages.strip import PAD_MM
from siteplan.sheet.pages.title_block import revisions_block, seal_block, title_block
from siteplan.sheet.place.blocks import BLOCK_GAP_MM, Block
from siteplan.sheet.style.styles import layer
from siteplan.sheet.style.text import text_width

COLUMN_MM: Final = 100.0
"""About how wide a column is [mm]."""

Writer = Callable[[PlanContent, float], Block | None]
"""Writes a block of a width [mm], or nothing."""
Written = tuple[Block | None, bool]
"""What a writer wrote, and whether it takes two columns."""
SLACK_MM: Final = 0.1
"""Text that reaches so little beyond its column has room in it [mm]."""


@dataclass(frozen=True, slots=True)
class Column:
    """A column of a page: its left edge, its width, and how low its text may reach [mm].

    Parameters
    ----------
    start_mm
        Height at its top taken by what stands over it and a neighbour [mm].
    joined
        Whether that neighbour is the one before it.
    """

    left_mm: float
    width_mm: float
    bottom_mm: float
    start_mm: float = 0.0
    joined: bool = False


@dataclass(slots=True)
class Page:
    """A page being filled: its columns, and what stands in them so far."""

    columns: list[Column]
    blocks: list[tuple[Block, XY]] = field(default_factory=list)
    """With the upper left corner of each [mm]."""
    place: int = 0
    """Column that is being filled."""
    used_mm: float = 0.0
    """Height taken in it [mm]."""
    aside_mm: float = 0.0
    """Height taken at the top of the column of the title block, where that has one alone [mm]."""

    @property
    def items(self) -> list[Primitive]:
        """What is drawn on it."""
        return [item for block, corner in self.blocks for item in block.at(*corner)]

    @property
    def written(self) -> Iterator[Primitive]:
        """The same, wherever on the page it is."""
        return (item for block, _ in self.blocks for run in block.runs for item in run.items)

    def put(self, block: Block, left: float, top: float) -> None:
        """Put a block with its upper left corner at a place [mm]."""
        self.blocks.append((block, (left, top)))

    def next_column(self) -> None:
        """Go on at the top of the next column."""
        self.place += 1
        self.used_mm = self.columns[self.place].start_mm if self.place < len(self.columns) else 0.0

    def widen(self) -> None:
        """Make one column of the present one and the next."""
        left, other = self.columns[self.place : self.place + 2]
        wide = left.width_mm + other.width_mm
        self.columns[self.place : self.place + 2] = [replace(left, width_mm=wide)]

    def divide(self) -> None:
        """Make two columns again of a wide one, below what stands in it."""
        both = self.columns[self.place]
        half = replace(both, width_mm=both.width_mm / 2, start_mm=self.used_mm)
        other = replace(half, left_mm=half.left_mm + half.width_mm, joined=True)
        self.columns[self.place : self.place + 1] = [half, other]

    @property
    def widens(self) -> bool:
        """Whether the present column and the next are empty; the last keeps the title block."""
        if self.place >= len(self.columns) - 2:
            return False
        here, other = self.columns[self.place : self.place + 2]
        return self.used_mm == here.start_mm == other.start_mm


@dataclass(frozen=True, slots=True)
class Form:
    """How pages are divided.

    Parameters
    ----------
    column_mm
        About how wide a column is [mm].
    apart
        Whether each block begins a column of its own.
    side_mm
        Width of a further column for seal and title block; 0: they stand in the last one [mm].
    """

    paper: Paper
    column_mm: float
    apart: bool = False
    side_mm: float = 0.0

    @property
    def filled_mm(self) -> float:
        """Width of all columns that are filled [mm]."""
        return self.paper.width_mm - 2 * self.paper.margin_mm - self.side_mm

    @property
    def count(self) -> int:
        """Number of columns of a page that are filled."""
        return max(1, round(self.filled_mm / self.column_mm))

    @property
    def width_mm(self) -> float:
        """Width of a column that is filled [mm]."""
        return self.filled_mm / self.count

    @property
    def top_mm(self) -> float:
        """Upper edge of the columns [mm]."""
        return self.paper.height_mm - self.paper.margin_mm - 1.0


@dataclass(frozen=True, slots=True)
class Filling:
    """How columns are filled.

    Parameters
    ----------
    whole_mm
        A block no taller than this goes on to the next column rather than being parted, where that
        holds all of it [mm].
    page
        Number of the page whose columns are filled to no more than a depth, from 0; -1: none.
    depth_mm
        That depth [mm].
    """

    whole_mm: float = 0.0
    page: int = -1
    depth_mm: float = math.inf


FULL: Final = Filling()
"""Every column as far down as it goes."""


def table_form(paper: Paper) -> Form:
    """Pages of tables."""
    return Form(paper, COLUMN_MM)


def pages(content: PlanContent, writers: Iterable[Writer], form: Form) -> list[Page]:
    """Pages with what the writers write, in their order; the last column keeps room below.

    What takes two columns comes first, so that no column is left empty for it.
    """
    return filled_with(content, [written(content, writer, form) for writer in writers], form)


def filled_with(
    content: PlanContent, blocks: Iterable[Written], form: Form, filling: Filling = FULL
) -> list[Page]:  # fmt: skip
    """Pages with blocks that are written already."""
    kept = _lower(content, form, number=1)[0]
    filled: list[Page] = []
    for block, wide in sorted(blocks, key=lambda pair: not pair[1]):
        if form.apart and filled and block is not None and filled[-1].used_mm > 0.0:
            filled[-1].next_column()
        left = block
        while left is not None:
            left = _put(filled, left, form, filling, wide=wide, kept_mm=kept)
    return filled


def written(content: PlanContent, writer: Writer, form: Form) -> Written:
    """The block in one column, or over two where its text needs them, and which it is."""
    width = form.width_mm
    block = writer(content, width - 2 * PAD_MM)
    if block is None or right_end(block) <= width - 2 * PAD_MM + SLACK_MM:
        return block, False
    return writer(content, 2 * width - 2 * PAD_MM), True


def right_end(block: Block) -> float:
    """How far the text of a block reaches to the right [mm]."""
    share = {"left": 1.0, "center": 0.5, "right": 0.0}
    return max(
        (
            item.at[0] + share[item.anchor] * text_width(item.text, item.height_mm, bold=item.bold)
            for item in block.items
            if isinstance(item, Text)
        ),
        default=0.0,
    )


def _columns(form: Form, kept_mm: float) -> list[Column]:
    """Columns of a page, left to right, the last one with room for the title block."""
    left, bottom = form.paper.margin_mm, form.paper.margin_mm + 1.0
    widths = [form.width_mm] * form.count + ([form.side_mm] if form.side_mm else [])
    lefts = [left + sum(widths[:k]) for k in range(len(widths))]
    kept = [0.0] * (len(widths) - 1) + [kept_mm]
    return [
        Column(left, width, bottom + height)
        for left, width, height in zip(lefts, widths, kept, strict=True)
    ]


def put_aside(page: Page, block: Block, form: Form) -> None:
    """Put a block at the top of the column of the title block."""
    page.put(block, page.columns[-1].left_mm + PAD_MM, form.top_mm)
    page.aside_mm = block.height_mm + block.gap_mm


def area_filled(page: Page, form: Form) -> float:
    """How much of the columns of a page is taken, up to where it was filled last [mm2]."""
    rooms = [column.width_mm * (form.top_mm - column.bottom_mm) for column in page.columns]
    here = page.columns[page.place : page.place + 1]
    return sum(rooms[: page.place]) + sum(column.width_mm * page.used_mm for column in here)


def share_filled(page: Page, form: Form) -> float:
    """How much of the columns of a page is taken [-]."""
    rooms = (column.width_mm * (form.top_mm - column.bottom_mm) for column in page.columns)
    return area_filled(page, form) / sum(rooms)


def _put(
    filled: list[Page], block: Block, form: Form, filling: Filling, *, wide: bool, kept_mm: float
) -> Block | None:
    """Put as much of a block as there is room for; what is left of it."""
    top = form.top_mm
    page, column = _place(filled, form, wide=wide, kept_mm=kept_mm)
    deepest = top - column.bottom_mm
    depth = filling.depth_mm if filling.page == len(filled) - 1 else math.inf
    tallest = min(filling.whole_mm, deepest - column.start_mm)
    if block.height_mm <= tallest:
        if page.used_mm > column.start_mm and page.used_mm + block.height_mm > min(depth, deepest):
            page.next_column()
            return block
        depth = deepest
    room = min(depth, deepest) - page.used_mm
    upper, rest = block, None
    if block.height_mm > room:
        parted = block.parted(room)
        if parted is None and page.used_mm > 0.0:
            page.next_column()
            return block
        # rows taller than usual are parted sooner; a block that no column holds is drawn whole: the
        # look at the plotted sheet finds it
        upper, rest = parted or block.parted(room, least=1) or (block, None)
    page.put(upper, column.left_mm + PAD_MM, top - page.used_mm)
    page.used_mm += upper.height_mm + upper.gap_mm
    if rest is not None:
        page.next_column()
    elif wide:
        page.divide()
    return rest


def _place(filled: list[Page], form: Form, *, wide: bool, kept_mm: float) -> tuple[Page, Column]:
    """The page and column to go on in: the next one of the right width."""
    size = form.width_mm
    page = filled[-1] if filled else Page([])
    while page.place < len(page.columns) - bool(form.side_mm):
        column = page.columns[page.place]
        if (column.width_mm > 1.5 * size) == wide:
            return page, column
        if wide and page.widens:
            page.widen()
        else:
            page.next_column()
    filled.append(Page(_columns(form, kept_mm)))
    if wide:
        filled[-1].widen()
    return filled[-1], filled[-1].columns[0]


def _lower(content: PlanContent, form: Form, *, number: int) -> tuple[float, list[Block]]:
    """Seal and title block of a sheet, and the height they take [mm]."""
    width = (form.side_mm or form.width_mm) - 2 * PAD_MM
    scale = "AS SHOWN" if content.titles[number - 1] == "DETAILS" else "NONE"
    revised = revisions_block(content, width)
    title = title_block(content, width, scale=scale, number=number)
    blocks = [seal_block(width), *([revised] if revised else []), title]
    return sum(block.height_mm + BLOCK_GAP_MM for block in blocks), blocks


def page_primitives(
    content: PlanContent, page: Page, form: Form, *, number: int
) -> tuple[Primitive, ...]:
    """Everything on a page but its frame: columns, rules between them, seal and title block."""
    paper = form.paper
    top, bottom = paper.height_mm - paper.margin_mm, paper.margin_mm
    rules = [
        _rule((column.left_mm, bottom), (column.left_mm, top - column.joined * column.start_mm))
        for column in page.columns[1:]
    ]
    last = page.columns[-1]
    items: list[Primitive] = [*page.items, *rules]
    y = bottom + 1.0
    for block in reversed(_lower(content, form, number=number)[1]):
        y += block.height_mm
        items.extend(block.at(last.left_mm + PAD_MM, y))
        items.append(_rule((last.left_mm, y), (last.left_mm + last.width_mm, y)))
        y += BLOCK_GAP_MM - 1.0
    return tuple(items)


def _rule(start: XY, end: XY) -> Polyline:
    return Polyline((start, end), "rule", layer("frame"), "paper")
