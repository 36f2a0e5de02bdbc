"""What on a sheet is one table, and what the title block: each becomes one block of the drawing."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

from siteplan.export.drawing.paragraphs import Paragraph, Thing
from siteplan.sheet.marks import HEADING, TITLE_BLOCK, Mark
from siteplan.sheet.model import XY, Polygon, Polyline
from siteplan.sheet.style.styles import layer

TITLE, TABLE = "TITLE-", "TABLE-"
"""How the names of blocks begin that stand for a part of a sheet."""
SHADE: Final = "shade"
"""Style of what lies under the head of a table."""
NEAR_MM: Final = 0.05
"""What two edges may differ by and be one [mm]."""
BELOW: Final = 1.3
"""From the last base line of a table down to its last rule, at most, in heights of a capital."""


@dataclass(frozen=True, slots=True, eq=False)
class Boxed:
    """Things of a sheet that a drafter moves as one.

    Parameters
    ----------
    name
        What they are, such as ``TABLE-L1-SEPARATIONS-1``.
    corner
        Upper left of them on paper [mm].
    things
        In drawing order.
    """

    name: str
    corner: XY
    things: tuple[Thing, ...]

    @property
    def is_title(self) -> bool:
        """Whether it is the title block, whose text is what a drafter fills in."""
        return self.name.startswith(TITLE)


@dataclass(slots=True, eq=False)
class _Part:
    """The title block, or one head of a table and the rows below it.

    Parameters
    ----------
    head
        Lower edge of the head [mm].
    low
        How far down it goes [mm].
    own
        Identities of what belongs to it.
    """

    block: str
    left: float
    right: float
    top: float
    head: float
    low: float
    own: set[int] = field(default_factory=set)

    def is_below(self, at: XY) -> bool:
        """Whether a place lies in the head or below it."""
        return self.left <= at[0] <= self.right and at[1] <= self.top

    def add(self, paragraph: Paragraph) -> None:
        """Take a paragraph."""
        last = paragraph.lines[-1]
        self.low = min(self.low, last.at[1] - BELOW * last.height_mm)
        self.own.add(id(paragraph))


def boxed(things: Sequence[Thing], sheet: str) -> tuple[Thing | Boxed, ...]:
    """The things of a sheet, those of a table or of the title block put together."""
    parts = (*_tables(things), *_title(things))
    for part in parts:
        part.own.update(_rules(part, things))
    names = dict(zip(map(id, parts), _names(parts, sheet), strict=True))
    owner = {thing: part for part in parts for thing in part.own}
    result: list[Thing | Boxed] = []
    given: set[int] = set()
    for thing in things:
        own = owner.get(id(thing))
        if own is None:
            result.append(thing)
        elif id(own) not in given:
            given.add(id(own))
            inside = tuple(thing for thing in things if owner.get(id(thing)) is own)
            result.append(Boxed(names[id(own)], (own.left, own.top), inside))
    return tuple(result)


def tag_of(mark: Mark) -> str:
    """Tag of a field of the title block.

    Examples
    --------
    >>> tag_of(Mark("title-block", column="prepared-by", line=1))
    'PREPARED_BY_2'
    """
    name = "TITLE" if mark.column == HEADING else mark.column.upper().replace("-", "_")
    return f"{name}_{mark.line + 1}" if mark.line else name


def _names(parts: Sequence[_Part], sheet: str) -> Iterator[str]:
    """Name of each part; those of one table are counted."""
    counted: dict[str, int] = {}
    for part in parts:
        counted[part.block] = counted.get(part.block, 0) + 1
        if part.block == TITLE_BLOCK:
            yield f"{TITLE}{sheet}"
        else:
            yield f"{TABLE}{sheet}-{part.block.upper()}-{counted[part.block]}"


def _marked(things: Sequence[Thing]) -> Iterator[tuple[Paragraph, Mark]]:
    """Paragraphs on paper that say what they are."""
    for thing in things:
        if isinstance(thing, Paragraph) and thing.lines[0].space == "paper":
            mark = thing.lines[0].mark
            if mark is not None:
                yield thing, mark


def _tables(things: Sequence[Thing]) -> list[_Part]:
    """Heads of tables with the rows below each; a table that goes on elsewhere has several."""
    marked = list(_marked(things))
    parts = []
    for thing in things:
        if isinstance(thing, Polygon) and thing.style == SHADE and thing.space == "paper":
            xs, ys = zip(*thing.rings[0], strict=True)
            edges = (min(xs), max(xs), max(ys), min(ys))
            block = _block_in(edges, marked)
            if block:
                parts.append(_Part(block, *edges, min(ys), {id(thing)}))
    for paragraph, mark in marked:
        part = _part_of(paragraph, mark, parts)
        if part is not None:
            part.add(paragraph)
    return parts


def _block_in(
    edges: tuple[float, float, float, float], marked: Sequence[tuple[Paragraph, Mark]]
) -> str:
    """The table whose column titles lie between edges; empty where none do."""
    left, right, top, low = edges
    return next(
        (
            mark.block
            for paragraph, mark in marked
            if not mark.row
            and left <= paragraph.lines[0].at[0] <= right
            and low <= paragraph.lines[0].at[1] <= top
        ),
        "",
    )


def _part_of(paragraph: Paragraph, mark: Mark, parts: Sequence[_Part]) -> _Part | None:
    """The nearest head above a cell, or around it; None for what is no cell."""
    at = paragraph.lines[0].at
    own = [part for part in parts if part.block == mark.block and part.is_below(at)]
    nearest = min(own, key=lambda part: part.top, default=None)
    if nearest is None or mark.row:
        return nearest
    # what is in no row is the title of a column, or a paragraph below the table
    return nearest if at[1] >= nearest.head else None


def _title(things: Sequence[Thing]) -> Iterator[_Part]:
    """The title block."""
    own = [field for field, mark in _marked(things) if mark.block == TITLE_BLOCK]
    if own:
        firsts = [field.lines[0] for field in own]
        left = min(first.at[0] for first in firsts)
        right = max(first.at[0] + field.width_mm for first, field in zip(firsts, own, strict=True))
        top = max(first.at[1] + first.height_mm for first in firsts)
        part = _Part(TITLE_BLOCK, left, right, top, top, top)
        for field in own:
            part.add(field)
        yield part


def _rules(part: _Part, things: Sequence[Thing]) -> Iterator[int]:
    """Identities of the rules across a part."""
    for thing in things:
        if isinstance(thing, Polyline) and thing.layer == layer("table") and len(thing.points) == 2:
            (x, y), (end_x, end_y) = sorted(thing.points)
            level = abs(end_y - y) <= NEAR_MM and part.low <= y <= part.top
            begins = abs(x - part.left) <= NEAR_MM
            # the title block is as wide as its rules, a table's rules as wide as its head
            ends = part.block == TITLE_BLOCK or abs(end_x - part.right) <= NEAR_MM
            if thing.space == "paper" and level and begins and ends:
                yield id(thing)
