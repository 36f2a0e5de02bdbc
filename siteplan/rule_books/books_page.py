"""The table of books in docs/rule-books.md: ``python -m siteplan.rule_books.books_page PAGE``."""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

from siteplan.rule_books.keys import lines
from siteplan.rule_books.loader import book_ids, load_book
from siteplan.rule_books.model import COMMON_PRACTICE, Book
from siteplan.vocabulary.loop_types import all_parts

TITLES = {
    "book": "Of the book", "rule": "Of a `[[rule]]`", "when": "Of `when`",
    "bound": "Of a `[[bound]]`", "duty": "Of a `[[duty]]`", "shown": "Of a `[[shown]]`",
}  # fmt: skip
PLURAL = {
    "bore": "bores", "trench": "trenches", "coil": "pond coils", "header": "header",
    "supply well": "supply wells", "return well": "return wells",
}  # fmt: skip


def covers(book: Book) -> str:
    """What a book covers, by its rows.

    Examples
    --------
    >>> covers(load_book("petersburg-ne"))
    'supply wells, return wells; duties'
    """
    parts = [PLURAL[part] for part in all_parts() if any(part in row.parts for row in book.rules)]
    bound = list(dict.fromkeys(bound.of for bound in book.bounds))
    pieces = [", ".join(parts), ", ".join(bound)]
    pieces += ["what the plan shows"] if book.shown else []
    pieces += ["duties"] if book.duties else []
    return "; ".join(piece for piece in pieces if piece)


def read_words(book: Book, *, strong: str = "**") -> str:
    """When and how a book was read, and whether it is stale, that between ``strong`` marks."""
    words = [] if book.id == COMMON_PRACTICE else [book.read_on]
    words += ["quoted"] if book.standing.read == "quoted" else []
    words += ["recommended"] if book.standing.status == "recommended" else []
    if book.stale:
        whole = book.standing.superseded_on is not None
        words.append(f"{strong}{'superseded' if whole else 'partly superseded'}{strong}")
    return ", ".join(words)


def table() -> str:
    """Lines of the table, one a book."""
    return "\n".join(_lines())


def _lines() -> Iterator[str]:
    yield "| id | authority | document | what it covers | read |"
    yield "| --- | --- | --- | --- | --- |"
    for book in map(load_book, book_ids()):
        document = book.document or "several, see its rows"
        yield (
            f"| `{book.id}` | {book.authority} | {document} | {covers(book)} | {read_words(book)} |"
        )


def key_tables() -> str:
    """What the keys of a book are for, a table each."""
    pieces = []
    for name, title in TITLES.items():
        pieces += [f"{title}:", "", "| key | what it is for |", "| --- | --- |", *lines(name), ""]
    return "\n".join(pieces[:-1])


def with_tables(text: str) -> str:
    """A page with its tables of books and keys brought up to date."""
    for name, made in (("books", table()), ("keys", key_tables())):
        start, end = f"<!-- {name} -->", f"<!-- end of {name} -->"
        before, _, rest = text.partition(start)
        text = f"{before}{start}\n{made}\n{end}{rest.partition(end)[2]}"
    return text


if __name__ == "__main__":
    page = Path(sys.argv[1])
    page.write_text(with_tables(page.read_text(encoding="utf-8")), encoding="utf-8")
