"""What is no fault of a book, and worth a second look by whoever writes one."""

from __future__ import annotations

from collections.abc import Iterator

from siteplan.rule_books.figures import figures_apart
from siteplan.rule_books.model import Book

FIELD, RESERVE = "drainfield", "reserve area"


def hints(book: Book) -> Iterator[str]:
    """Sentences on what may have been forgotten, without a verdict."""
    if not book.authority:
        yield "authority is not named: PLAN REQUIREMENTS stand under it."
    if not (book.rules or book.bounds or book.duties or book.shown):
        yield "the book has no row."
    septic = {part for rule in book.rules if rule.subject == FIELD for part in rule.parts}
    reserve = {part for rule in book.rules if rule.subject == RESERVE for part in rule.parts}
    for part in sorted(septic - reserve):
        yield f"{part}: does the reserve area count as septic? It does only where it is listed."
    yield from figures_apart(book)
    for rule in book.rules:
        if rule.says == "as stated" and not rule.note:
            yield f"{rule.id}: note says where the number is found."
        if rule.says == "at least" and rule.distance_m == 0:
            yield f"{rule.id}: a distance of zero keeps nothing off."
