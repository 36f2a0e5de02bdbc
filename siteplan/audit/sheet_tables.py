"""What the tables of the sheet say, read back from its lines of text."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.audit.model import XY, Word
from siteplan.site.model import DisplayUnit

ROW: Final = 0.15
"""Heights of text within which two words stand in one row or one column."""
PITCH: Final = 3.2
"""Heights of text beyond which a row no longer belongs to the table above it."""
SEPARATIONS: Final = "FROM – TO"
SIDE: Final = "SIDE"
"""How the title begins of the column that only the table of property corners has."""
_TITLES: Final = re.compile(r"(SIDE|EAST|NORTH|START|END|FROM|LENGTH|DEPTH|TILT|TOWARDS)\b")
_COUNT: Final = re.compile(r"(\d+) (BORES?|TRENCH(?:ES)?|POND COILS?|WELLS?)\b")
_HEADER: Final = re.compile(r"HEADER (?:TRENCH )?([\d,.]+) (?:ft|m)\b")
_NUMBER: Final = re.compile(r"-?[\d,]+(?:\.\d+)?")


@dataclass(frozen=True, slots=True)
class Listed:
    """A place that the sheet lists under a name, such as ``B1``, ``T1 end`` or ``H2`` [m].

    ``length_m`` is the length or depth that stands beside it; None where none does.
    """

    name: str
    at: XY
    length_m: float | None = None


@dataclass(frozen=True, slots=True)
class PrintedRow:
    """A row of the table of separations: from what to what, and the distance provided [m]."""

    name: str
    provided_m: float
    step_m: float


@dataclass(frozen=True, slots=True)
class SheetTables:
    """Everything of the sheet's text that geometry can be compared with.

    ``count`` is the number of elements in the heading of their table; None where none is found.
    """

    places: tuple[Listed, ...]
    separations: tuple[PrintedRow, ...]
    count: int | None
    header_m: float | None


def sheet_tables(words: Sequence[Word], unit: DisplayUnit) -> SheetTables:
    """Tables of a sheet from its text."""
    counts = [int(found[1]) for word in words if (found := _COUNT.match(word.text))]
    header = [found[1] for word in words if (found := _HEADER.match(word.text))]
    return SheetTables(
        places=tuple(_places(words, unit)),
        separations=tuple(_separations(words, unit)),
        count=counts[0] if counts else None,
        header_m=_length(header[0], unit) if header else None,
    )


def _places(words: Sequence[Word], unit: DisplayUnit) -> Iterator[Listed]:
    for head in words:
        if head.text != "ID":
            continue
        columns = _columns(head, words)
        if any(title.startswith(SIDE) for title, _ in columns):
            continue
        for row in _rows(head, words):
            cells = {title: _cell(row, at, words) for title, at in columns}
            yield from _listed(row.text, cells, unit)


def _columns(head: Word, words: Sequence[Word]) -> list[tuple[str, float]]:
    """Titles beside the word ID, up to the next part of the table, and their places."""
    level = [w for w in words if _level(w, head) and w.at[0] > head.at[0]]
    level.sort(key=lambda word: word.at[0])
    found = []
    for word in level:
        if not _TITLES.match(word.text):
            break
        found.append((word.text, word.at[0]))
    return found


def _rows(head: Word, words: Sequence[Word]) -> Iterator[Word]:
    """First cells of the rows below a title, as far as the table goes."""
    below = [w for w in words if abs(w.at[0] - head.at[0]) <= ROW * head.height]
    below = sorted((w for w in below if w.at[1] < head.at[1]), key=lambda word: -word.at[1])
    last = head.at[1]
    for word in below:
        if word.text == "ID" or last - word.at[1] > PITCH * head.height:
            return
        last = word.at[1]
        yield word


def _level(word: Word, head: Word) -> bool:
    return abs(word.at[1] - head.at[1]) <= ROW * head.height


def _cell(row: Word, at: float, words: Sequence[Word]) -> str:
    """Text of a row in a column."""
    return next(
        (
            word.text
            for word in words
            if _level(word, row) and abs(word.at[0] - at) <= ROW * row.height
        ),
        "",
    )


def _listed(name: str, cells: dict[str, str], unit: DisplayUnit) -> Iterator[Listed]:
    size = cells.get("LENGTH") or cells.get("DEPTH") or ""
    length = _length(size, unit)
    pairs = (f"EAST {unit}", f"NORTH {unit}"), ("START E", "START N"), ("END E", "END N")
    for suffix, (east, north) in zip(("", "", " end"), pairs, strict=True):
        x, y = _length(cells.get(east, ""), unit), _length(cells.get(north, ""), unit)
        if x is not None and y is not None:
            yield Listed(name + suffix, (x, y), length if not suffix else None)


def _length(text: str, unit: DisplayUnit) -> float | None:
    """Length of a number with or without its mark [m]."""
    found = _NUMBER.search(text)
    return float(found[0].replace(",", "")) * unit.metres if found else None


def _separations(words: Sequence[Word], unit: DisplayUnit) -> Iterator[PrintedRow]:
    for head in words:
        if head.text != SEPARATIONS:
            continue
        provided = next(w for w in words if w.text == "PROV'D" and _level(w, head))
        lines = [*_rows(head, words)]
        name, figure = "", ""
        for line in lines:
            cell = _cell(line, provided.at[0], words)
            if cell and name:
                yield from _printed(name, figure, unit)
            name, figure = (line.text, cell) if cell else (f"{name} {line.text}", figure)
        yield from _printed(name, figure, unit)


def _printed(name: str, figure: str, unit: DisplayUnit) -> Iterator[PrintedRow]:
    value = _length(figure, unit)
    if value is not None:
        decimals = len(figure.partition(".")[2].rstrip("' m"))
        yield PrintedRow(name, value, 10.0**-decimals * unit.metres)
