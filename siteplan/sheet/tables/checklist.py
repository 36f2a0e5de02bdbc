"""What the authority's books want shown, and what on the sheets answers it."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

from siteplan.advisories.requirements import lacking, title_block_finding, with_radius
from siteplan.findings.model import Reason
from siteplan.findings.words import words_of
from siteplan.rules.ruleset import rules_of
from siteplan.sheet.content.content import TABLES, PlanContent
from siteplan.sheet.place.blocks import Block, Face, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.style.text import kept_together

NO_LIST = (
    "No rule book of this site lists what a plan must show. Ask the authority for its list before "
    "the package is handed in."
)


@cache
def answers() -> dict[str, str]:
    """What answers a wish of a book, by the wish."""
    text = files("siteplan.sheet.tables").joinpath("answers.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def checklist_block(content: PlanContent, width: float) -> Block:
    """One row for each thing that a book wants shown; what is missing says so."""
    flow = Flow(width, "checklist")
    flow.heading("PLAN REQUIREMENTS")
    rows = tuple(
        (
            shown.what,
            shown.printed,
            _answer(content, shown.what, lacking(content.site, with_radius(shown, book))),
        )
        for book in rules_of(content.site).books
        for shown in book.shown
    )
    for finding in title_block_finding(content.site.project):
        flow.paragraph(words_of(finding, content.site.unit), Face(bold=True, style="text-alarm"))
        flow.gap(0.8)
    if not rows:
        flow.paragraph(NO_LIST)
        return flow.block()
    columns = (
        Column("wanted", "REQUIRED"), Column("as", "AS"), Column("answer", "SHOWN ON", wrap=True),
    )  # fmt: skip
    flow.table(Table(flow.about, columns, rows))
    flow.gap(0.4)
    for book in rules_of(content.site).books:
        if book.shown:
            sources = "; ".join(dict.fromkeys(shown.source for shown in book.shown))
            flow.paragraph(kept_together(f"{book.title}: {sources}. {book.caution}"))
    return flow.block()


def _answer(content: PlanContent, wanted: str, missing: Reason | None) -> str:
    if missing is not None:
        return f"MISSING: {words_of(missing, content.site.unit)}"
    return answers()[wanted].format(tables=content.sheet_of(TABLES) or "L1")
