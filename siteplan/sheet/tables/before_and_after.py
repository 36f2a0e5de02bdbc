"""What the authority's books have people do before, at and after the work, with the deadlines."""

from __future__ import annotations

from typing import Final

from siteplan.advisories.duties import Asked, duties_on
from siteplan.findings.words import capitalised, without_disclaimer
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.tables.source_words import source_indent

BEFORE_AND_AFTER: Final = "before-and-after"
NOTE: Final = (
    "No drawing answers these: whoever does one signs with the date. Times are the authority's "
    "own; ask it from when it counts them."
)


def before_and_after_block(content: PlanContent, width: float) -> Block | None:
    """One row for each duty; None where no book of the site has any."""
    layout = content.layout
    system = content.site.exchanger.order[0] if layout is None else layout.system
    asked = duties_on(content.site, content.books, system)
    if not asked:
        return None
    flow = Flow(width, BEFORE_AND_AFTER)
    flow.heading("BEFORE AND AFTER")
    flow.table(duty_table(asked))
    flow.gap(0.4)
    flow.paragraph(NOTE)
    sources = _sources(asked)
    for number, source in enumerate(sources, 1):
        flow.paragraph(source, indent=source_indent(sources), lead=f"[{number}]")
    return flow.block()


def duty_table(asked: tuple[Asked, ...]) -> Table:
    """When, what, by when, who asks it, and room to sign."""
    columns = (
        Column("stage", "WHEN"), Column("what", "WHAT", wrap=True), Column("due", "TIME"),
        Column("rule", "RULE", "center"), Column("done", "SIGNED"),
    )  # fmt: skip
    sources = _sources(asked)
    rows = tuple(
        (
            each.duty.stage.upper(),
            f"{each.duty.of.capitalize()}: {each.duty.printed}",
            each.duty.due,
            f"[{sources.index(_source(each)) + 1}]",
            "",
        )
        for each in asked
    )
    return Table(
        BEFORE_AND_AFTER, columns, rows, tuple(f"{each.book.id}/{each.duty.id}" for each in asked)
    )


def _sources(asked: tuple[Asked, ...]) -> list[str]:
    return list(dict.fromkeys(map(_source, asked)))


def _source(each: Asked) -> str:
    duty = each.duty
    origin = without_disclaimer(duty.source) + duty.standing.words
    return capitalised(f"{origin} ({without_disclaimer(duty.note)})" if duty.note else origin)
