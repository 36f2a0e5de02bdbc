"""The tables of the sheet, cell by cell, compared with what the layout drawn gives."""

from __future__ import annotations

import re
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.audit.drawing import APART_MM
from siteplan.audit.expected import KEYS, Expected, plain, row_names
from siteplan.audit.grid import Grid, grids
from siteplan.audit.model import Word
from siteplan.audit.words import drawn_fault
from siteplan.checks.model import Finding
from siteplan.units.model import UnitSystem

_NUMBER: Final = re.compile(r"\d[\d,]*(?:\.\d+)?")
_TAPE: Final = re.compile(r"(?:FROM|START|END) [ABC]$")
_OWN: Final = {
    "PROPERTY CORNERS AND SIDES": re.compile(r"P\d+$"),
    "TABLE OF CIRCUITS": re.compile(r"CIR-"),
    "HEADER TRENCH": re.compile(r"H\d+$"),
    "HEADER PIPES": re.compile(""), "TAKE-OFF": re.compile(""),
}  # fmt: skip
"""How rows are named that can belong to but one table, by its heading."""
BESIDE: Final = {
    "ID": (
        "EAST ft", "EAST m", "NORTH ft", "NORTH m", "START E", "START N", "END E", "END N",
        "LENGTH", "DEPTH", "FROM A", "FROM B", "FROM C", "START A", "START B", "START C",
        "END A", "END B", "END C", "TILT °", "TOWARDS °", "PIPE",
    ),
    "FROM": ("TO",), "ITEM": ("SIZE",), "FROM – TO": ("PROV'D",),
}  # fmt: skip
"""Titles that tables have besides those compared, by the first one."""


@dataclass(frozen=True, slots=True)
class Rounding:
    """What rounded words may explain: the unit [m], and what lengths read may lack [m]."""

    unit_m: float
    lacking_m: float


def cell_findings(
    words: Sequence[Word], tables: Sequence[Expected], rounding: Rounding
) -> Iterator[Finding]:
    """Each cell that differs, and each row too many or missing."""
    for first in dict.fromkeys(table.first for table in tables):
        there = [table for table in tables if table.first == first]
        titles = {title for table in there for title in table.titles}
        found = sorted(
            grids(words, first, {*titles, *BESIDE.get(first, ())}),
            key=lambda grid: (grid.at[0], -grid.at[1]),
        )
        seen: dict[str, set[str]] = {}
        for grid in found:
            yield from _grid_findings(grid, there, rounding, seen)
        for table in there:
            yield from _missing(table, seen.get(table.name))


def _grid_findings(
    grid: Grid, tables: Sequence[Expected], rounding: Rounding, seen: dict[str, set[str]]
) -> Iterator[Finding]:
    count = 2 if "SIZE" in grid.titles else KEYS.get(grid.titles[0], 1)
    joint = " " if "SIZE" in grid.titles else " – "
    named = [plain(joint.join(row[:count])) for row in grid.rows]
    for name, row in zip(row_names([(one,) for one in named], 1), grid.rows, strict=True):
        table = next((one for one in tables if name in one.rows), None)
        if table is None:
            yield from _unknown(name, tables, grid)
            continue
        seen.setdefault(table.name, set()).add(name)
        for title, text in zip(grid.titles[count:], row[count:], strict=True):
            yield from _cell_findings((name, title), plain(text), (table, grid), rounding)


def _cell_findings(
    key: tuple[str, str], said: str, where: tuple[Expected, Grid], rounding: Rounding
) -> Iterator[Finding]:
    table, grid = where
    name, title = key
    place = f"{table.name} on sheet {sheet_number(grid.at)}, {name}, {title}"
    if key in table.cells:
        wanted = table.cells[key]
        if not alike(said, wanted, rounding):
            words = f"{place}: the sheet says {said or 'nothing'}, what is drawn gives "
            words += f"{wanted or 'nothing'}. Mend the one or the other."
            yield drawn_fault("table", words, name)
    elif _TAPE.match(title) and said:
        words = f"{place}: no tie point {title[-1]} is drawn. Draw it again."
        yield drawn_fault("table", words, name)


def _unknown(name: str, tables: Sequence[Expected], grid: Grid) -> Iterator[Finding]:
    for table in tables:
        own = _OWN.get(table.name)
        if own is not None and own.match(name):
            where = f"{table.name} on sheet {sheet_number(grid.at)}"
            words = f"{where} has a row {name}, which nothing drawn gives. Mend the table."
            yield drawn_fault("table", words, name)


def _missing(table: Expected, seen: set[str] | None) -> Iterator[Finding]:
    """Rows that a table lacks, where the sheets have it at all."""
    if not table.whole or not seen:
        return
    for name in table.rows:
        if name not in seen:
            yield drawn_fault("table", f"{table.name} lacks the row {name}. Write it again.", name)


def sheet_number(at: tuple[float, float]) -> int:
    """Number of the sheet on which a place lies, from 1."""
    return int(at[0] // APART_MM) + 1


def alike(said: str, wanted: str, rounding: Rounding) -> bool:
    """Whether a cell says what is wanted; where lengths read were rounded, to the last decimal."""
    if said == wanted:
        return True
    if _NUMBER.sub("#", said) != _NUMBER.sub("#", wanted):
        return False
    return all(
        abs(_value(one) - _value(other)) <= _slack(other, rounding)
        for one, other in zip(_NUMBER.findall(said), _NUMBER.findall(wanted), strict=True)
    )


def _value(text: str) -> float:
    return float(text.replace(",", ""))


def _slack(text: str, rounding: Rounding) -> float:
    """What two figures may differ by: nothing, unless lengths were read from rounded words."""
    if rounding.lacking_m == 0.0:
        return 1e-9
    decimals = len(text.partition(".")[2])
    return float(10.0**-decimals + 2 * rounding.lacking_m / rounding.unit_m)


def unit_rounding(unit: UnitSystem, lacking_m: float) -> Rounding:
    """Rounding of a drawing whose lengths, read from words, lack so much together [m]."""
    return Rounding(unit.metres, lacking_m)
