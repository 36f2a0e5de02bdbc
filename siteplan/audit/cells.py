"""The tables of the sheets, cell by cell, compared with what the layout drawn gives."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from siteplan.audit.expected import Expected, cells_of
from siteplan.audit.figures import Rounding, alike, figure, same_figures
from siteplan.audit.marked import Place, SheetBlock, blocks_of
from siteplan.audit.words import block_words, drawn_fault, on_sheet
from siteplan.findings.model import Finding, reason
from siteplan.sheet.marks import ELEMENTS, HEADER, SEPARATIONS, TAPES, TOLD_ELSEWHERE
from siteplan.sheet.place.table import Table

MEASURED: Final = {
    ELEMENTS: (
        "east", "north", "start-east", "start-north", "end-east", "end-north", "length", "depth",
    ),
    SEPARATIONS: ("provided",),
}  # fmt: skip
"""Columns whose figures are compared with the geometry, not with words."""
ELSEWHERE: Final = (ELEMENTS, TAPES, SEPARATIONS)
"""Tables of whose rows it is judged elsewhere whether something drawn gives them."""
ON_PLAN: Final = (ELEMENTS, HEADER, SEPARATIONS)
"""Tables that the plan sheet always has, at least by their headings."""


def cell_findings(
    blocks: Sequence[SheetBlock], tables: Sequence[Expected], rounding: Rounding
) -> Iterator[Finding]:
    """Each cell that differs, and each row, heading and table too many or missing."""
    for table in tables:
        there = list(blocks_of(blocks, table.name))
        for block in there:
            yield from _heading_findings(block, table, rounding)
            yield from _block_findings(block, table, rounding)
        if table.whole:
            yield from _missing(table, there)
    yield from _absent(tables, blocks)


def _heading_findings(block: SheetBlock, table: Expected, rounding: Rounding) -> Iterator[Finding]:
    where = on_sheet(block.name, block.sheet)
    if not block.is_headed and table.form_of(block) not in table.below:
        yield drawn_fault("table", reason("heading-gone", where=where))
    for said in block.headings if table.heading else ():
        if not same_figures(said, table.heading, rounding):
            told = reason("heading-differs", where=where, said=said, drawn=table.heading)
            yield drawn_fault("table", told)


def _block_findings(block: SheetBlock, table: Expected, rounding: Rounding) -> Iterator[Finding]:
    form = table.form_of(block)
    wanted = cells_of(form)
    known = frozenset(form.row_names)
    for row in block.rows:
        if row in known:
            for column in form.columns:
                yield from _cell_findings((row, column.name), (block, form), wanted, rounding)
        elif table.name not in ELSEWHERE:
            where = on_sheet(block.name, block.sheet)
            yield drawn_fault("table", reason("row-of-nothing", where=where, row=row), row)


def _cell_findings(
    place: Place, where: tuple[SheetBlock, Table], wanted: Mapping[Place, str], rounding: Rounding
) -> Iterator[Finding]:
    block, form = where
    row, column = place
    measured = column in MEASURED.get(block.name, ()) and figure(wanted[place]) is not None
    for said in block.said(*place):
        same = figure(said) is not None if measured else alike(said, wanted[place], rounding)
        if not same:
            title = next(shown.title for shown in form.columns if shown.name == column)
            label = wanted[row, form.columns[0].name] if block.name == SEPARATIONS else row
            told = reason(
                "cell-differs",
                where=on_sheet(block.name, block.sheet),
                row=label,
                column=title,
                said=said or reason("nothing"),
                drawn=wanted[place] or reason("nothing"),
            )
            yield drawn_fault("table", told, row)


def _missing(table: Expected, blocks: Sequence[SheetBlock]) -> Iterator[Finding]:
    """Rows that the plan sheet lacks, or all other sheets together, where they have the table."""
    listed = {row for block in blocks for row in block.rows}
    for group in _groups(blocks):
        if any(block.is_cut for block in group):
            continue
        there = {row for block in group for row in block.rows}
        for name in table.form_of(group[0]).row_names:
            # an element that no sheet lists is told as such
            told = table.name in ELSEWHERE and name not in listed
            if name not in there and not told:
                where = on_sheet(table.name, group[0].sheet)
                yield drawn_fault("table", reason("row-gone", where=where, row=name), name)


def _groups(blocks: Sequence[SheetBlock]) -> Iterator[list[SheetBlock]]:
    """Blocks with rows on the plan sheet, and those on the others, which share a table."""
    for on_plan in (True, False):
        group = [block for block in blocks if (block.sheet == 1) == on_plan and block.rows]
        if group:
            yield group


def _absent(tables: Sequence[Expected], blocks: Sequence[SheetBlock]) -> Iterator[Finding]:
    """Tables that the other sheets have to have, where there are any, and the plan sheet has."""
    others = {block.name for block in blocks if block.sheet > 1}
    plan = {block.name for block in blocks if block.sheet == 1}
    # a plan sheet without room for them says on which sheet they stand
    on_plan = () if TOLD_ELSEWHERE in plan else ON_PLAN
    for table in tables:
        if not any(form.rows for form in table.forms) or table.name == TAPES:
            continue
        lacking = others and table.name not in others
        if lacking or (table.name in on_plan and table.name not in plan):
            code = "table-gone-from-sheets" if lacking else "table-gone-from-plan"
            yield drawn_fault("table", reason(code, block=block_words(table.name).lower()))
