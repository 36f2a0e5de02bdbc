"""Tables of a sheet, read back from its lines of text: titles, rows, and cells that wrap."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.audit.model import Word
from siteplan.audit.sheet_tables import ROW

WRAPPED: Final = 1.67
"""Heights of text up to which a line goes on in the cell of the line above it."""
APART: Final = 4.4
"""Heights of text beyond which a line no longer belongs to the table above it."""


@dataclass(frozen=True, slots=True)
class Grid:
    """A table as printed: its titles, the first one first, and its rows.

    ``at`` is the place of its first title, on paper; sheets lie one beside the other [mm].
    """

    at: tuple[float, float]
    titles: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def grids(words: Sequence[Word], first: str, others: Iterable[str]) -> Iterator[Grid]:
    """Every table that begins with a title, with what of the other titles stands beside it."""
    known = frozenset(others)
    for head in words:
        if head.text != first:
            continue
        columns = [(first, head.at[0]), *_beside(head, words, known)]
        if len(columns) > 1:
            yield Grid(head.at, tuple(title for title, _ in columns), tuple(
                _rows(head, [at for _, at in columns], words)
            ))  # fmt: skip


def _beside(head: Word, words: Sequence[Word], known: frozenset[str]) -> Iterator[
    tuple[str, float]
]:  # fmt: skip
    """Titles to the right of the first one and their places, up to what is none of the table's."""
    level = [
        one for one in words
        if abs(one.at[1] - head.at[1]) <= ROW * head.height and one.at[0] > head.at[0]
    ]  # fmt: skip
    for one in sorted(level, key=lambda word: word.at[0]):
        if one.text not in known:
            return
        yield one.text, one.at[0]


def _rows(head: Word, places: Sequence[float], words: Sequence[Word]) -> Iterator[tuple[str, ...]]:
    cells = [""] * len(places)
    last = head.at[1]
    for level, line in _lines(head, places, words):
        gap = last - level
        if gap > APART * head.height or line[0] == head.text:
            break
        if gap > WRAPPED * head.height:
            if any(cells):
                yield tuple(cells)
            cells = list(line)
        else:
            cells = [f"{one} {more}".strip() for one, more in zip(cells, line, strict=True)]
        last = level
    if any(cells):
        yield tuple(cells)


def _lines(
    head: Word, places: Sequence[float], words: Sequence[Word]
) -> list[tuple[float, list[str]]]:
    """Lines below a title from the top down: their level, and their text in each column."""
    slack = ROW * head.height
    found: list[tuple[float, list[str]]] = []
    below = (one for one in words if one.at[1] < head.at[1] - slack)
    for word in sorted(below, key=lambda one: -one.at[1]):
        column = next((k for k, x in enumerate(places) if abs(word.at[0] - x) <= slack), None)
        if column is None:
            continue
        if not found or found[-1][0] - word.at[1] > slack:
            found.append((word.at[1], [""] * len(places)))
        found[-1][1][column] = word.text
    return found
