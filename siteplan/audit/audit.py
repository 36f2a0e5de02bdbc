"""An audit: the layout of a drawing, measured and judged anew."""

from __future__ import annotations

import dataclasses
from collections.abc import Iterable, Sequence
from pathlib import Path

from siteplan.audit.compare import (
    attribute_findings,
    boundary_findings,
    loose_findings,
    printed_findings,
    table_findings,
)
from siteplan.audit.drawing import read_drawing
from siteplan.audit.labels import label_findings
from siteplan.audit.marked import sheet_blocks
from siteplan.audit.model import Audit, Drawing
from siteplan.audit.rebuild import rebuilt
from siteplan.audit.settled import settled_by_drawing
from siteplan.audit.sheet_tables import sheet_tables
from siteplan.audit.tables import all_table_findings, moved_ties
from siteplan.audit.unmarked import unmarked_findings
from siteplan.available.access import way_in
from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.checks.check import check_layout
from siteplan.checks.model import Separation
from siteplan.checks.separations import separations
from siteplan.checks.typed import with_all_broken
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import laid_out, required_of
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Finding
from siteplan.layout.model import Access, Layout
from siteplan.layout.piping.pipes import with_pipes
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site


def audit_drawing(path: str | Path, site: Site) -> Audit:
    """Audit of a drawing against a site: its geometry measured, its words compared.

    Raises
    ------
    InputError
        The file is no plan of siteplan that can be read, or is of another scale or site.
    """
    drawing = read_drawing(Path(path))
    site = settled_by_drawing(site, drawing)
    odd = [*_repaired(drawing), *boundary_findings(drawing, site), *loose_findings(drawing)]
    drawn = rebuilt(drawing, site)
    lot = lot_of(site)
    layout = with_way_in(drawn.layout, lot)
    required, short = required_there(layout, lot)
    rows, broken = judged(layout, site, lot.rules, (required, drawn.rounded_m))
    compared = [*attribute_findings(drawn, site), *moved_ties(drawing, site)]
    # without marks nothing tells one table from another, and words are not read
    if drawing.is_marked:
        tables = sheet_tables(sheet_blocks(drawing.sheet_words), site.unit)
        compared += table_findings(drawn, tables, site)
        compared += printed_findings(rows, tables, site)
        compared += label_findings(drawing)
        # pipes follow from what is drawn: once that differs every row would, and hide the cause
        as_drawn = not any(
            finding.severity == "error" for finding in (*odd, *drawn.findings, *compared)
        )
        judged_as = (layout, required, rows)
        compared += all_table_findings(drawing, drawn, lot, judged_as, as_drawn=as_drawn)
    compared += unmarked_findings(drawing)
    findings = [*broken, *short, *odd, *drawn.findings, *compared]
    return Audit(drawing.name, site, layout, required, rows, tuple(dict.fromkeys(findings)))


def _repaired(drawing: Drawing) -> Iterable[Finding]:
    for fault in drawing.repaired:
        yield Finding("repaired", values={"drawing": drawing.name, "fault": fault})


def judged(
    layout: Layout, site: Site, rules: RuleSet, needed: tuple[Required | None, float]
) -> tuple[tuple[Separation, ...], tuple[Finding, ...]]:
    """Distances of a layout as its plan has them, and every finding on each of its elements.

    Parameters
    ----------
    needed
        What is required, and what the lengths known may lack of it by rounding [m].
    """
    required, lacking = needed
    rows = separations(site, layout, rules)
    every = tuple(dict.fromkeys(with_all_broken(rows, site, layout, rules)))
    length = max(required.length_m - lacking, 0.0) if required else 0.0
    return rows, check_layout(site, layout, every, length)


def with_way_in(layout: Layout, lot: PreparedLot) -> Layout:
    """The layout with the way in of its machine, found anew for where its elements lie."""
    reached = lot.machine_ground(layout.system)
    if reached is None:
        return layout
    way = way_in(lot.site, reached, layout.elements, lot.memory)
    access = Access(way, reached.machine.width_m, machine=reached.machine.kind)
    return dataclasses.replace(layout, access=access)


def required_there(layout: Layout, lot: PreparedLot) -> tuple[Required | None, Sequence[Finding]]:
    """What is required of a layout where it lies, and a warning where that is not known."""
    wanted = lot.site.exchanger
    try:
        required = required_of(wanted, layout.system)
        if required is not None and required.basis == "calculated" and not layout.loop.flow:
            required = _calculated_there(layout, lot) or required
    except DemandError as error:
        return None, [Finding("length-not-judged", values={"because": error.reason})]
    if required is None:
        return None, [Finding("length-not-stated")]
    return required, ()


def _calculated_there(layout: Layout, lot: PreparedLot) -> Required | None:
    """Calculated length for bores where they lie, and for the flow in their circuits."""
    site, record = lot.site, record_of(layout.system)
    ground = prepare(lot, record.ground).ground
    laid = laid_out(with_pipes(layout, site.exchanger, ground=ground))
    return required_of(site.exchanger, layout.system, laid=laid)
