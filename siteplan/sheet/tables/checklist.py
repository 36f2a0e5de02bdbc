"""What the authority's books want shown, and what on the sheets answers it."""

from __future__ import annotations

import tomllib
from functools import cache
from importlib.resources import files

from siteplan.advisories.requirements import lacking_of, named, title_block_finding
from siteplan.findings.words import words_of
from siteplan.rule_books.model import Book, Shown
from siteplan.sheet.content.content import DETAILS, PlanContent
from siteplan.sheet.marks import CORNERS, ELEMENTS, SEPARATIONS, SPECIFICATION
from siteplan.sheet.place.blocks import Block, Face, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.style.formats import short_mark

NO_LIST = (
    "No rule book named for this lot lists what a plan must show. Ask the authority for its list "
    "before the package is handed in."
)

CHECKLIST = "checklist"
PLACED = (ELEMENTS, SEPARATIONS, CORNERS, SPECIFICATION, CHECKLIST)
"""Blocks of the tables that an answer may name."""


@cache
def answers() -> dict[str, str]:
    """What answers a wish of a book, by the wish."""
    text = files("siteplan.sheet.tables").joinpath("answers.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def checklist_block(content: PlanContent, width: float) -> Block:
    """One row for each thing that an authority wants shown; what is missing says so."""
    flow = Flow(width, CHECKLIST)
    flow.heading("PLAN REQUIREMENTS")
    # in another column a list of the authority would have no heading
    flow.tabled = True
    for finding in title_block_finding(content.site.project):
        told = words_of(finding, content.site.unit, on_paper=True)
        flow.paragraph(told, Face(bold=True, style="text-alarm"))
        flow.gap(0.8)
    books = [book for book in content.books if book.shown]
    if not books:
        flow.paragraph(NO_LIST)
        return flow.block()
    for book in books:
        flow.caption(book.authority.upper(), name=book.id)
        flow.gap(0.6)
        flow.table(_table_of(content, book))
        flow.gap(0.4)
        asked = (f"{shown.source}{shown.standing.words}" for shown in book.shown)
        sources = "; ".join(dict.fromkeys(asked))
        flow.paragraph(f"Asked by {sources}. {book.caution}")
        flow.gap(0.8)
    return flow.block()


def _location_sheet(content: PlanContent) -> str:
    """Number of the sheet with the location: the last one of details, the plan without them."""
    sheets = [
        number
        for number, title in zip(content.numbers, content.titles, strict=False)
        if title == DETAILS
    ]
    return sheets[-1] if sheets else "L1"


def _table_of(content: PlanContent, book: Book) -> Table:
    """What one authority wants shown, and the sheet and block that show it; what is missing."""
    columns = (Column("wanted", "REQUIRED"), Column("answer", "SHOWN ON", wrap=True))
    unit = content.site.unit
    rows = tuple(
        (
            ": ".join(filter(None, (named(shown, unit), shown.printed))),
            _answer(content, shown, book),
        )
        for shown in book.shown
    )
    return Table(CHECKLIST, columns, rows, tuple(f"{book.id}/{shown.what}" for shown in book.shown))


def _answer(content: PlanContent, shown: Shown, book: Book) -> str:
    missing = lacking_of(content.site, shown, book)
    if missing is not None:
        return f"MISSING: {words_of(missing, content.site.unit, on_paper=True)}"
    searched = content.site.searched_m
    return answers()[shown.what].format(
        searched=""
        if searched is None
        else short_mark(searched, content.site.unit, rounding="down"),
        **{block: content.sheet_with(block) for block in PLACED},
        location=_location_sheet(content),
    )
