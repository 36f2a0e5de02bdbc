"""The order of work as a table, with a place to sign for each hold."""

from __future__ import annotations

from siteplan.findings.words import words_of
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.earth import stockpiles_of
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import SEQUENCE
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.tables.plan_names import on_plan
from siteplan.sheet.tables.specification import is_specified
from siteplan.specification.sequence import numbered, sequence

NOTE = (
    "Hold: nobody goes on before it is seen; whoever sees it signs with the date. The authority's "
    "own inspections come first, and its office says how long before it wants to be called."
)

_steps = kept(sequence)


def sequence_block(content: PlanContent, width: float) -> Block | None:
    """The order of work and its holds; None where nothing goes in the ground."""
    if not is_specified(content):
        return None
    flow = Flow(width, SEQUENCE)
    flow.heading("SEQUENCE AND HOLDS")
    flow.table(sequence_table(content))
    flow.gap(0.4)
    flow.paragraph(NOTE)
    return flow.block()


def sequence_table(content: PlanContent) -> Table:
    """One row for each step; a hold has its number where it is signed."""
    layout = content.layout
    steps = (
        numbered(_steps(content.site, layout, stockpiles_of(content))) if layout is not None else []
    )
    columns = (
        Column("step", "STEP", "right"), Column("work", "WORK", wrap=True),
        Column("hold", "SEEN BY, DATE"),
    )  # fmt: skip
    rows = tuple(
        (
            f"{number}",
            words_of(on_plan(step.told, content.site), content.site.unit, on_paper=True),
            f"HOLD {hold}" if hold else "",
        )
        for number, step, hold in steps
    )
    return Table(SEQUENCE, columns, rows)
