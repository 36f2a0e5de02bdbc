"""An audit: the layout of a drawing, measured and judged anew."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
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
from siteplan.audit.put_back import put_back
from siteplan.audit.rebuild import rebuilt
from siteplan.audit.redrawn import DrawnAnew, redrawn_findings
from siteplan.audit.set import set_findings
from siteplan.audit.settled import settled_by_drawing
from siteplan.audit.sheet_tables import sheet_tables
from siteplan.audit.tables import all_table_findings, moved_ties
from siteplan.audit.unmarked import unmarked_findings
from siteplan.available.ground import prepare
from siteplan.available.prepared import PreparedLot, lot_of
from siteplan.checks.check import check_layout
from siteplan.checks.model import Separation
from siteplan.checks.separations import separations
from siteplan.checks.typed import with_all_broken
from siteplan.demand.model import DemandError, Required
from siteplan.demand.required import required_of
from siteplan.design.converge import required_there as calculated_there
from siteplan.design.lay_out import with_way_in
from siteplan.design.loop_types import record_of
from siteplan.findings.model import Finding
from siteplan.layout.model import Layout
from siteplan.rules.ruleset import RuleSet
from siteplan.site.model import Site


def audit_drawing(
    path: str | Path, site: Site, anew: Callable[[], DrawnAnew] | None = None
) -> Audit:
    """Audit of a drawing against a site: its geometry measured, its words compared.

    Parameters
    ----------
    path
        The DXF file.
    site
        The site.
    anew
        Gives the site file as planned and drawn anew, over which the drawing is laid; asked for
        once the drawing could be read. None: then notes, lines of features, dimensions, bearings,
        scale and windows are not compared.

    Raises
    ------
    InputError
        The file is no plan of siteplan that can be read, or is of another scale or site.
    """
    drawing = read_drawing(Path(path))
    site = settled_by_drawing(site, drawing)
    drawing, moved = put_back(drawing, site)
    odd = [*_repaired(drawing), *moved, *boundary_findings(drawing, site), *loose_findings(drawing)]
    drawn = rebuilt(drawing, site)
    lot = lot_of(site)
    site = lot.site  # with the sizes that its rules leave
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
    compared += [*unmarked_findings(drawing), *set_findings(Path(path))]
    if anew is not None and drawing.is_marked:
        compared += redrawn_findings(drawing, layout, anew())
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


def required_there(layout: Layout, lot: PreparedLot) -> tuple[Required | None, Sequence[Finding]]:
    """What is required of a layout where it lies, and a warning where that is not known."""
    wanted = lot.site.exchanger
    try:
        required = required_of(wanted, layout.system)
        if required is not None and required.basis == "calculated" and not layout.loop.flow:
            ground = prepare(lot, record_of(layout.system).ground).ground
            required = calculated_there(lot.site, layout, ground) or required
    except DemandError as error:
        return None, [Finding("length-not-judged", values={"because": error.reason})]
    if required is None:
        return None, [Finding("length-not-stated")]
    return required, ()
