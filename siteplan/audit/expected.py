"""What the tables of the sheet have to say of the layout drawn: written as the plan writes them."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.layout.model import Layout, Trench
from siteplan.quantities.take_off import take_off
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.pages.table_sheets import corner_rows, header_stake_rows, take_off_rows
from siteplan.sheet.place.blocks import Column
from siteplan.sheet.tables.circuits import circuit_rows
from siteplan.sheet.tables.elements import element_rows, tape_rows
from siteplan.sheet.tables.header import piece_row
from siteplan.sheet.tables.separations import separation_rows
from siteplan.sheet.tables.staking import bent_trenches, staking_rows
from siteplan.site.model import Site
from siteplan.units.systems import UNIT_SYSTEMS

Table = tuple[Sequence[Column], Sequence[Sequence[str]]]
KEYS: Final = {"FROM": 2}
"""Columns that name a row together, by the first title; else one does."""
PIECE_COLUMNS: Final = tuple(Column(title) for title in ("FROM", "TO", "TRENCH", "PIPES IN IT"))
"""Columns of the table of header pipes."""
COMPARED_ELSEWHERE: Final = ("EAST", "NORTH", "LENGTH", "DEPTH", "START E", "START N", "END E",
                             "END N")  # fmt: skip
"""Columns of elements that are measured against the geometry, not against words."""


@dataclass(frozen=True, slots=True)
class Expected:
    """A table that a sheet may have.

    Parameters
    ----------
    name
        Its heading.
    first
        Title of its first column.
    cells
        Text by name of row and title of column.
    whole
        Whether a sheet that has it has all its rows.
    """

    name: str
    first: str
    cells: Mapping[tuple[str, str], str]
    whole: bool = False

    @property
    def rows(self) -> tuple[str, ...]:
        """Names of its rows, in their order."""
        return tuple(dict.fromkeys(row for row, _ in self.cells))

    @property
    def titles(self) -> tuple[str, ...]:
        """Titles of its columns but the first."""
        return tuple(dict.fromkeys(title for _, title in self.cells))


def expected_tables(content: PlanContent, piped: Layout | None) -> tuple[Expected, ...]:
    """Tables of what is drawn; of pipes only where those are known.

    Parameters
    ----------
    content
        Site, layout drawn, tie points drawn, distances measured.
    piped
        The layout with its circuits and header pipes; None where they are not to be compared.
    """
    site, layout = content.site, content.layout
    assert layout is not None
    unit, ties = site.unit, content.tie_points
    found = [Expected("PROPERTY CORNERS AND SIDES", "ID", _cells(corner_rows(site)), whole=True)]
    if layout.elements:
        told = _cells(element_rows(layout, unit, ties)) | _cells(
            tape_rows(layout.elements, ties, unit)
        )
        kept = {key: text for key, text in told.items() if not _is_measured(key[1])}
        found.append(Expected("TABLE OF ELEMENTS", "ID", kept))
    rows = [row for row in separation_rows(content)[1] if row[2]]
    cells = _cells((separation_rows(content)[0], rows))
    kept = {key: text for key, text in cells.items() if key[1] != "PROV'D"}
    found.append(Expected("SEPARATIONS", "FROM – TO", kept))
    if piped is not None:
        found += _pipe_tables(site, piped, content)
    return tuple(found)


def _pipe_tables(site: Site, layout: Layout, content: PlanContent) -> Iterator[Expected]:
    """Tables of header, circuits, header pipes, take-off and bent trenches."""
    unit = site.unit
    if layout.header is not None:
        stakes = header_stake_rows(layout, unit, content.tie_points)
        yield Expected("HEADER TRENCH", "ID", _cells(stakes))
    yield Expected("TABLE OF CIRCUITS", "ID", _cells(circuit_rows(layout, unit)), whole=True)
    pieces = layout.piping.pieces if layout.piping is not None else ()
    rows = [piece_row(one, layout, unit) for one in pieces]
    yield Expected("HEADER PIPES", "FROM", _cells((PIECE_COLUMNS, rows)), whole=True)
    columns, rows = take_off_rows(take_off(site, layout), unit)
    yield Expected("TAKE-OFF", "ITEM", _cells((columns, rows)), whole=True)
    yield Expected("STAKING OF BENT TRENCHES", "PIECE", _pieces(bent_trenches(layout), site))


def _pieces(trenches: Iterable[Trench], site: Site) -> dict[tuple[str, str], str]:
    """Cells of bent trenches, in both forms of their table."""
    wide, narrow = staking_rows(trenches, site.unit)
    return _cells(wide) | _cells(narrow)


def _is_measured(title: str) -> bool:
    return title.startswith(COMPARED_ELSEWHERE)


def _cells(table: Table) -> dict[tuple[str, str], str]:
    """Text by name of row and title of column."""
    columns, rows = table
    titles = [column.title for column in columns]
    count = KEYS.get(titles[0], 1)
    names = row_names(rows, count)
    return {
        (name, title): plain(text)
        for name, row in zip(names, rows, strict=True)
        for title, text in zip(titles[count:], row[count:], strict=True)
    }


CENTERS: Final = frozenset(unit.center for unit in UNIT_SYSTEMS.values())
"""Name of the row of an arc's middle, which every arc has."""


def row_names(rows: Sequence[Sequence[str]], count: int) -> list[str]:
    """Name of each row; one that repeats a name takes that of the row before it as well."""
    found: list[str] = []
    for row in rows:
        name = plain(" – ".join(row[:count]))
        if name in found or name in CENTERS:
            name = f"{name} after {found[-1]}" if found else name
        found.append(name)
    return found


def plain(text: str) -> str:
    """Text with single spaces, none of which keeps words together."""
    return " ".join(text.replace("\u00a0", " ").split())
