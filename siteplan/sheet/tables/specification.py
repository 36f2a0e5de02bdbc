"""The specification as a table: what each clause is about, what it asks, and who says so."""

from __future__ import annotations

from siteplan.findings.words import figure_words
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.marks import SPECIFICATION
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.tables.plan_names import on_plan
from siteplan.sheet.tables.source_words import source_indent
from siteplan.specification.clauses import specification


def is_specified(content: PlanContent) -> bool:
    """Whether there is something to specify: what was built has been."""
    layout = content.layout
    return layout is not None and bool(layout.elements) and content.built is None


def specification_block(content: PlanContent, width: float) -> Block | None:
    """What is to be built, clause by clause; None where nothing goes in the ground."""
    if not is_specified(content):
        return None
    flow = Flow(width, SPECIFICATION)
    flow.heading("SPECIFICATION")
    table, sources = specification_table(content)
    flow.table(table)
    flow.gap(0.4)
    for number, source in enumerate(sources, 1):
        flow.paragraph(source, indent=source_indent(sources), lead=f"[{number}]")
    return flow.block()


def specification_table(content: PlanContent) -> tuple[Table, tuple[str, ...]]:
    """One row for each clause, and the sources that its numbers stand for."""
    unit, layout = content.site.unit, content.layout
    clauses = specification(content.site, layout, content.conditions) if layout else ()
    said = (on_plan(clause, content.site) for clause in clauses)
    told = [figure_words(clause, unit, on_paper=True) for clause in said]
    sources = tuple(dict.fromkeys(source for _, _, source in told))
    columns = (
        Column("of", "ITEM", wrap=True), Column("asked", "SPECIFICATION", wrap=True),
        Column("by", "BY", "center"),
    )  # fmt: skip
    rows = tuple(
        (about.upper(), asked, f"[{sources.index(source) + 1}]") for about, asked, source in told
    )
    return Table(SPECIFICATION, columns, rows, tuple(about for about, _, _ in told)), sources
