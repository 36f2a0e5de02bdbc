"""What the sheets say, found by the marks of their texts: neither place nor wording counts."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest

from siteplan.audit.model import Word
from siteplan.sheet.marks import AGAIN, HEADING, MORE

Place = tuple[str, str]
"""Row and column; what is in no row has an empty one."""


@dataclass(frozen=True, slots=True)
class SheetBlock:
    """A table or another block on one sheet.

    Parameters
    ----------
    texts
        What stands in each place: more than one text where it is written more than once.
    """

    name: str
    sheet: int
    texts: Mapping[Place, tuple[str, ...]]

    @property
    def rows(self) -> tuple[str, ...]:
        """Names of its rows, in their order."""
        return tuple(dict.fromkeys(row for row, _ in self.texts if row))

    @property
    def columns(self) -> frozenset[str]:
        """Names of its columns, with those of its paragraphs."""
        return frozenset(column for _, column in self.texts)

    @property
    def headings(self) -> tuple[str, ...]:
        """Its heading, as often as it is written; empty where it goes on from another column."""
        return self.texts.get(("", HEADING), ())

    @property
    def is_headed(self) -> bool:
        """Whether it has a heading, of whatever kind."""
        return bool(self.headings) or ("", AGAIN) in self.texts

    @property
    def is_cut(self) -> bool:
        """Whether it says that it leaves out rows."""
        return ("", MORE) in self.texts

    def said(self, row: str, column: str) -> tuple[str, ...]:
        """Every text in a place; one that is empty where none is there."""
        return self.texts.get((row, column), ("",))


def sheet_blocks(texts: Sequence[Word]) -> tuple[SheetBlock, ...]:
    """Every block of every sheet, by the marks of its texts."""
    blocks: dict[tuple[int, str], dict[Place, list[Word]]] = {}
    for word in texts:
        if word.mark is not None:
            places = blocks.setdefault((word.sheet, word.mark.block), {})
            places.setdefault((word.mark.row, word.mark.column), []).append(word)
    return tuple(
        SheetBlock(name, sheet, {place: _texts(there) for place, there in places.items()})
        for (sheet, name), places in sorted(blocks.items(), key=lambda item: item[0])
    )


def _texts(texts: Sequence[Word]) -> tuple[str, ...]:
    """The texts in one place, each put together from its lines."""
    lines: dict[int, list[str]] = {}
    for word in texts:
        assert word.mark is not None
        lines.setdefault(word.mark.line, []).append(word.text)
    ordered = [lines[number] for number in sorted(lines)]
    return tuple(plain(" ".join(parts)) for parts in zip_longest(*ordered, fillvalue=""))


def blocks_of(blocks: Sequence[SheetBlock], name: str) -> Iterator[SheetBlock]:
    """Blocks of a name, in the order of the sheets."""
    return (block for block in blocks if block.name == name)


def plain(text: str) -> str:
    """Text with single spaces, none of which keeps words together."""
    return " ".join(text.replace("\u00a0", " ").split())
