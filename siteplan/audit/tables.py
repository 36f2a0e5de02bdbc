"""Every table of the sheet, written anew from what is drawn and compared."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

from siteplan.audit.cells import cell_findings
from siteplan.audit.expected import expected_tables
from siteplan.audit.figures import unit_rounding
from siteplan.audit.marked import SheetBlock, sheet_blocks
from siteplan.audit.model import Drawing, Rebuilt
from siteplan.audit.piped import piped
from siteplan.audit.sentences import sentence_findings
from siteplan.audit.words import drawn_fault, on_sheet, place
from siteplan.available.prepared import PreparedLot
from siteplan.checks.model import Separation
from siteplan.demand.model import Required
from siteplan.findings.model import Finding, reason
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.setting_out import stakes_of
from siteplan.sheet.content.side_lines import corners_named
from siteplan.sheet.content.stakes import SettingOut, set_out
from siteplan.sheet.content.ties import LETTERS, TiePoint, tie_corners
from siteplan.sheet.marks import BASE_LINES, ELEMENTS, HEADER, TAPES
from siteplan.sheet.tables.setting_out import SET_OUT
from siteplan.site.model import Site

STAKED: Final = (ELEMENTS, TAPES, HEADER, BASE_LINES)
"""Tables that say how stakes are set out."""
NEAR_M: Final = 0.005
"""A tie point farther than this from every corner has been moved [m]."""


def all_table_findings(
    drawing: Drawing, rebuilt: Rebuilt, lot: PreparedLot,
    judged: tuple[Layout, Required | None, tuple[Separation, ...]], *, as_drawn: bool,
) -> Iterator[Finding]:  # fmt: skip
    """What differs in the tables of the sheet.

    Parameters
    ----------
    judged
        The layout drawn, what is required of it, and its distances.
    as_drawn
        Whether header and elements are as the sheet lists them. Where not, pipes are not compared.
    """
    site = lot.site
    layout, required, rows = judged
    blocks = sheet_blocks(drawing.sheet_words)
    staked = staked_as_printed(drawing, blocks, site, layout)
    content = PlanContent(
        site=site, layout=layout, keep_outs=(), separations=rows, fits=True, verdict="",
        required=required or Required(0.0, "given", reason("length-not-known")), staked=staked,
    )  # fmt: skip
    laid = piped(layout, required, lot) if as_drawn and required is not None else None
    if laid is None:
        yield Finding("not-compared")
    tables = expected_tables(content, laid)
    rounding = unit_rounding(site.unit, rebuilt.rounded_m)
    yield from _tapes_of_none(blocks, {tie.name for tie in staked.ties})
    yield from cell_findings(blocks, tables, rounding)
    if laid is not None:
        yield from sentence_findings(blocks, laid, site.unit, rounding)


def _drawn_ties(drawing: Drawing) -> tuple[TiePoint, ...]:
    """Tie points as drawn, by their letters; in the order of the letters where marks are lost."""
    places = [symbol for symbol in drawing.symbols if symbol.block == "TIE"]
    known = all(symbol.mark is not None for symbol in places)
    names = [symbol.mark.row for symbol in places if symbol.mark is not None] if known else LETTERS
    return tuple(TiePoint(name, symbol.at, "") for name, symbol in zip(names, places, strict=False))


def staked_as_printed(
    drawing: Drawing, blocks: Sequence[SheetBlock], site: Site, layout: Layout
) -> SettingOut:
    """Every stake taped or set off from what the sheets say it is, at the places drawn.

    What the sheets do not say is taken from the first points there are, so that it differs.
    """
    ties = _drawn_ties(drawing)
    pegs = [
        (symbol.mark.row, symbol.at)
        for symbol in drawing.symbols
        if symbol.block == "PEG" and symbol.mark is not None
    ]
    places = stakes_of(layout)
    said = dict(_said(blocks))
    usual = [tie.name for tie in ties[:2]]
    assigned = {name: said.get(name, usual) for name, _ in (*pegs, *places)}
    return set_out(site, places, (ties, pegs), assigned)


def _tapes_of_none(blocks: Sequence[SheetBlock], drawn: set[str]) -> Iterator[Finding]:
    """Tapes from tie points that are not drawn."""
    for block in blocks:
        for row, names in _said([block]):
            letters = [letter for name in names for letter in corners_named(name) or (name,)]
            for letter in (name for name in letters if name in LETTERS and name not in drawn):
                where = on_sheet(block.name, block.sheet)
                told = reason("tape-of-none", where=where, row=row, tie=letter)
                yield drawn_fault("table", told, row)


def _said(blocks: Sequence[SheetBlock]) -> Iterator[tuple[str, list[str]]]:
    """By the names of stakes the letters of their tie points, or the name of their base line."""
    for block in blocks:
        for row in block.rows if block.name in STAKED else ():
            cells = [
                block.said(row, column)[0].split()
                for column in sorted(block.columns)
                if column.startswith(SET_OUT)
            ]
            names = [cell[0] for cell in cells if cell]
            if names:
                lined = len(next(cell for cell in cells if cell)) == 1
                yield row, names[:1] if lined else names


def moved_ties(drawing: Drawing, site: Site) -> Iterator[Finding]:
    """Tie points that lie at no corner."""
    corners = [corner.at for corner in tie_corners(site)]
    for tie in _drawn_ties(drawing):
        if all(math.dist(tie.at, corner) > NEAR_M for corner in corners):
            told = reason("tie-off-corner", tie=tie.name, place=place(tie.at))
            yield drawn_fault("tie", told, tie.name)
