"""What the tables of the sheet have to say of the layout drawn: written as the plan writes them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from siteplan.audit.marked import Place, SheetBlock, plain
from siteplan.layout.model import Layout
from siteplan.quantities.take_off import dug_length, take_off
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.header_points import header_points
from siteplan.sheet.content.ties import stake_names
from siteplan.sheet.marks import (
    BASE_LINES,
    CIRCUITS,
    CORNERS,
    ELEMENTS,
    GROUPS,
    HEADER,
    PIECES,
    SEPARATIONS,
    STAKING,
    TAKE_OFF,
    TAPES,
)
from siteplan.sheet.pages.table_sheets import corner_table, take_off_table
from siteplan.sheet.place.table import Table
from siteplan.sheet.tables.circuits import circuit_table, circuits_title
from siteplan.sheet.tables.elements import (
    LENGTH,
    element_table,
    elements_title,
    header_table,
    header_title,
    short_table,
)
from siteplan.sheet.tables.groups import group_table, short_group_table
from siteplan.sheet.tables.header import piece_table
from siteplan.sheet.tables.pipes import short_take_off
from siteplan.sheet.tables.separations import separation_table
from siteplan.sheet.tables.setting_out import peg_table, setting_table
from siteplan.sheet.tables.staking import bent_trenches, staking_tables
from siteplan.site.model import Site
from siteplan.units.model import UnitSystem


@dataclass(frozen=True, slots=True)
class Expected:
    """A table that a sheet may have.

    Parameters
    ----------
    name
        What its texts are marked with.
    forms
        The table in each form in which the sheets may have it.
    whole
        Whether a sheet that has it and does not say that it is cut has all its rows.
    heading
        Its heading, the figures of which are compared; empty where it is compared elsewhere.
    below
        Forms that stand below another table, under its heading.
    """

    name: str
    forms: tuple[Table, ...]
    whole: bool = True
    heading: str = ""
    below: tuple[Table, ...] = ()

    def form_of(self, block: SheetBlock) -> Table:
        """The form that a block has: the one of whose columns it has the most and lacks least."""

        def rank(table: Table) -> tuple[int, int]:
            names = {column.name for column in table.columns}
            return len(names & block.columns), -len(names - block.columns)

        return max(self.forms, key=rank)


def cells_of(table: Table) -> dict[Place, str]:
    """What stands in each cell, by the names of its row and column."""
    return {
        (name, column.name): plain(text)
        for name, row in zip(table.row_names, table.rows, strict=True)
        for column, text in zip(table.columns, row, strict=True)
    }


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
    tables = [Expected(CORNERS, (corner_table(site),))]
    if layout.elements:
        tables += _element_tables(piped or layout, site.unit, content)
    if content.separations:
        # which pair is the nearest is judged with the distances measured
        tables.append(Expected(SEPARATIONS, (separation_table(content),), whole=False))
    if piped is not None:
        tables += _pipe_tables(site, piped, content)
    return tuple(tables)


def _element_tables(layout: Layout, unit: UnitSystem, content: PlanContent) -> Iterator[Expected]:
    """Coordinates with and without tapes and lengths, and tapes by element and by stake."""
    out = content.setting_out
    whole, short = element_table(layout, unit, out), short_table(layout, unit)
    alone = element_table(layout, unit, None)
    forms = (whole, alone, short, alone.without(LENGTH.name), short.without(LENGTH.name))
    yield Expected(ELEMENTS, forms, heading=elements_title(layout, unit))
    names = tuple(name for element in layout.elements for name in stake_names(element))
    tapes = (setting_table(out, names, unit),)
    yield Expected(TAPES, tapes, whole=False, below=tapes)
    if out.pegs:
        yield Expected(BASE_LINES, (peg_table(out, unit),))


def _pipe_tables(site: Site, layout: Layout, content: PlanContent) -> Iterator[Expected]:
    """Tables of header, circuits, header pipes, take-off and bent trenches."""
    unit = site.unit
    if layout.header is not None:
        points = header_table(header_points(layout), unit, content.setting_out)
        yield Expected(HEADER, (points,))
    if layout.circuits:
        table = circuit_table(layout, unit)
        yield Expected(CIRCUITS, (table,), heading=circuits_title(layout))
    if layout.piping is not None and layout.piping.groups:
        # the plan sheet tells them shorter
        short = short_group_table(layout, unit)
        yield Expected(GROUPS, (group_table(layout, unit), short), below=(short,))
    if layout.piping is not None and layout.piping.pieces:
        yield Expected(PIECES, (piece_table(layout, unit),))
    items = take_off(site, layout)
    if items:
        yield Expected(TAKE_OFF, (take_off_table(items, unit), short_take_off(items, unit)))
    bent = bent_trenches(layout)
    if bent:
        yield Expected(STAKING, staking_tables(bent, unit))


def header_words(layout: Layout, site: Site) -> str:
    """The line on the header drawn; empty where none is."""
    if layout.header is None:
        return ""
    return header_title(layout.header, site.unit, dug_m=dug_length(site, layout.header))
