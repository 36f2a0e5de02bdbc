"""Which rule books a sheet means where it names rules: title, authority, document, when read."""

from __future__ import annotations

from typing import Final

from siteplan.rule_books.model import COMMON_PRACTICE, Book
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import Block, Flow

RULE_BOOKS: Final = "rule-books"
NO_DUTIES: Final = (
    "None of them has rows on permits, notices, inspections or records: ask the authority what it "
    "wants before and after the work."
)


def rule_books_block(content: PlanContent, width: float) -> Block | None:
    """One paragraph for each book that the site names; None where it names none."""
    books = [book for book in content.books if book.id in _named(content)]
    if not books:
        return None
    flow = Flow(width, RULE_BOOKS)
    flow.heading("RULE BOOKS")
    for book in books:
        flow.paragraph(book_words(book), name=book.id)
    if not any(book.duties for book in books):
        flow.paragraph(NO_DUTIES)
    return flow.block()


def _named(content: PlanContent) -> set[str]:
    """Ids of the books that the site file names, those of its own files among them."""
    shipped = {name for name in content.site.books if not name.endswith(".toml")}
    own = {book.id for book in content.books} if len(shipped) < len(content.site.books) else set()
    return (shipped | own) - {COMMON_PRACTICE}


def book_words(book: Book) -> str:
    """A book in a line: title, authority, document, when and how it was read, what is stale.

    Examples
    --------
    >>> from siteplan.rule_books.loader import load_book
    >>> book_words(load_book("delaware"))
    'Delaware: closed-loop geothermal wells. State of Delaware, 7 Del. Admin. Code; read 2026.'
    """
    standing = book.standing.words
    if not book.standing.superseded_on and book.stale:
        days = sorted({str(row.standing.superseded_on) for row in book.stale})
        standing += f", {len(book.stale)} rows SUPERSEDED from {', '.join(days)}"
    document = f", {book.document}" if book.document else ""
    authority = book.authority or "AUTHORITY NOT STATED"
    return f"{book.title}. {authority}{document}; read {book.read_on}{standing}."
