"""``siteplan rules [BOOK [OTHER]]``: list the books, show one, compare two."""

from __future__ import annotations

import argparse

from rich.table import Table

from siteplan.cli.report import Terminal, columns
from siteplan.errors import Fault, RuleError
from siteplan.rule_books.loader import book_ids, load_book
from siteplan.rule_books.model import Book, Rule

Row = tuple[str, str]
MOST = 2
"""Books compared at once."""


def run_rules(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan rules``."""
    terminal = Terminal(quiet=False)
    if len(arguments.books) > MOST:
        fault = Fault("siteplan rules", f"compares {MOST} books, not more.", "Name two.")
        raise RuleError([fault])
    books = [load_book(book) for book in arguments.books]
    if not books:
        terminal.show(columns(("id", "title", "rules", "read"), map(_line, book_ids())))
    elif len(books) == 1:
        _show(terminal, books[0])
    else:
        terminal.show(_compare(books[0], books[1]))
    return 0


def _line(book_id: str) -> tuple[str, ...]:
    book = load_book(book_id)
    return book.id, book.title, str(len({rule.id for rule in book.rules})), book.read_on


def _show(terminal: Terminal, book: Book) -> None:
    quoted = " (as quoted by an authority's page)" if book.standing.read == "quoted" else ""
    terminal.say(f"{book.title}: {book.authority}")
    terminal.say(f"{book.document or 'no document'}{quoted}, read {book.read_on}. {book.caution}")
    if book.note:
        terminal.say(book.note)
    headings = ("from", "for", "says", "measured", "source")
    terminal.show(columns(headings, (_row(rule) for rule in book.rules)))
    for shown in book.shown:
        terminal.say(f"on the plan: {shown.what} {shown.printed} ({shown.source})")


def _row(rule: Rule) -> tuple[str, ...]:
    source = f"{rule.source} ({rule.note})" if rule.note else rule.source
    return rule.subject, ", ".join(rule.parts), _says(rule), rule.measure, source


def _says(rule: Rule) -> str:
    asks = rule.printed if rule.says == "at least" else f"{rule.says} {rule.printed}".strip()
    return f"{asks} ({rule.when.words})" if rule.when.words else asks


def _compare(first: Book, second: Book) -> Table:
    """Table of what two books say of the same part and subject."""
    rules_first, other = _by_pair(first), _by_pair(second)
    pairs = list(dict.fromkeys([*rules_first, *other]))
    rows = [(*pair, rules_first.get(pair, "-"), other.get(pair, "-")) for pair in sorted(pairs)]
    return columns(("part", "from", first.id, second.id), rows)


def _by_pair(book: Book) -> dict[Row, str]:
    said: dict[Row, list[str]] = {}
    for rule in book.rules:
        for part in rule.parts:
            said.setdefault((part, rule.subject), []).append(_says(rule))
    return {pair: "; ".join(dict.fromkeys(sayings)) for pair, sayings in said.items()}
