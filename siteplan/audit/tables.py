"""Every table of the sheet, written anew from what is drawn and compared."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

from siteplan.audit.cells import cell_findings
from siteplan.audit.expected import expected_tables
from siteplan.audit.figures import unit_rounding
from siteplan.audit.marked import sheet_blocks
from siteplan.audit.model import Drawing, Rebuilt
from siteplan.audit.sentences import sentence_findings
from siteplan.audit.words import drawn_fault, place
from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot
from siteplan.checks.model import Separation
from siteplan.demand.model import Required
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Finding, reason
from siteplan.layout.model import Layout
from siteplan.layout.piping.pipes import with_pipes
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.ties import LETTERS, TiePoint, tie_corners, walls_of
from siteplan.site.model import Site

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
    ties = _drawn_ties(drawing, site)
    content = PlanContent(
        site=site, layout=layout, keep_outs=(), separations=rows, fits=True, verdict="",
        required=required or Required(0.0, "given", reason("length-not-known")), ties=ties,
    )  # fmt: skip
    piped = _piped(layout, required, lot) if as_drawn and required is not None else None
    if piped is None:
        yield Finding("not-compared")
    tables, blocks = expected_tables(content, piped), sheet_blocks(drawing.sheet_words)
    rounding = unit_rounding(site.unit, rebuilt.rounded_m)
    yield from cell_findings(blocks, tables, rounding)
    if piped is not None:
        yield from sentence_findings(blocks, piped, site.unit, rounding)


def _piped(layout: Layout, required: Required, lot: PreparedLot) -> Layout:
    """The layout with circuits and header pipes, laid as the plan lays them."""
    ground = prepare(lot, record_of(layout.system).ground).ground
    return with_pipes(layout, lot.site.exchanger, required.flow_m3s, ground=ground)


def _drawn_ties(drawing: Drawing, site: Site) -> tuple[TiePoint, ...]:
    """Tie points as drawn, by their letters; in the order of the letters where marks are lost."""
    walls = walls_of(site)
    places = [symbol for symbol in drawing.symbols if symbol.block == "TIE"]
    known = all(symbol.mark is not None for symbol in places)
    names = [symbol.mark.row for symbol in places if symbol.mark is not None] if known else LETTERS
    return tuple(
        TiePoint(name, symbol.at, "", walls) for name, symbol in zip(names, places, strict=False)
    )


def moved_ties(drawing: Drawing, site: Site) -> Iterator[Finding]:
    """Tie points that lie at no corner."""
    corners = [at for at, _ in tie_corners(site)]
    for tie in _drawn_ties(drawing, site):
        if all(math.dist(tie.at, corner) > NEAR_M for corner in corners):
            told = reason("tie-off-corner", tie=tie.name, place=place(tie.at))
            yield drawn_fault("tie", told, tie.name)
