"""``siteplan rules [BOOK [OTHER]]``: list the books, show one, compare two, check one's own."""

from __future__ import annotations

import argparse
from collections.abc import Iterator, Sequence
from datetime import date
from pathlib import Path

from rich.table import Table

from siteplan.cli.report import Terminal, columns
from siteplan.errors import Fault, RuleError
from siteplan.reading import load_toml
from siteplan.rule_books.books_page import covers, read_words
from siteplan.rule_books.coverage import (
    EVERYWHERE,
    MEANS,
    NO_DUTIES,
    has_duties,
    local_books,
    place_named,
    places,
    stale_words,
)
from siteplan.rule_books.hints import hints
from siteplan.rule_books.keys import helped
from siteplan.rule_books.loader import book_ids, book_named, load_book, read_book
from siteplan.rule_books.model import Book, Rule

Row = tuple[str, ...]
FEDERAL = ("us-class-v",)
"""Books that hold in every state."""
BESIDE = "county, town or body: name it where it is yours"
OLD = "plans made under the old text"
CAUTION = (
    "Texts were read in November 2026, some of them in part: verify with the authority before use."
)
MOST = 2
"""Books compared at once."""


CHECK = "check"
"""Word in front of the file of a book that is to be checked."""


def run_rules(arguments: argparse.Namespace) -> int:
    """Exit code of ``siteplan rules``."""
    terminal = Terminal(quiet=False)
    if arguments.place == EVERYWHERE:
        terminal.show(columns(("place", "found", "books"), _everywhere()))
        return 0
    if arguments.place:
        _tell(terminal, arguments.place)
        return 0
    if arguments.books[:1] == [CHECK]:
        return _check(terminal, arguments.books[1:])
    if len(arguments.books) > MOST:
        fault = Fault("siteplan rules", f"compares {MOST} books, not more.", "Name two.")
        raise RuleError([fault])
    books = [book_named(book, Path()) for book in arguments.books]
    if not books:
        terminal.show(columns(("id", "title", "rows", "read"), map(_line, book_ids())))
    elif len(books) == 1:
        _show(terminal, books[0])
    else:
        terminal.show(_compare(books[0], books[1]))
    return 0


def _everywhere() -> Iterator[Row]:
    """Every place that was looked for, what was found, and its books."""
    for place in (place for kind in places().values() for place in kind):
        yield place.name, place.status, ", ".join((*place.books, *place.beside))


def _tell(terminal: Terminal, name: str) -> None:
    """What was found for a place, and which books to combine."""
    place = place_named(name)
    local, own = local_books(name, place)
    if local:
        terminal.say(_local_words(local, own))
    why = f" {place.why[0].upper()}{place.why[1:]}." if place.why else ""
    terminal.say(f"{place.name}: {place.status}. That is: {MEANS[place.status]}.{why}")
    if place.books and not has_duties(place):
        terminal.say(NO_DUTIES)
    named = [(book, "state or country") for book in place.books]
    named += [(book, OLD if _is_old(book) else BESIDE) for book in place.beside]
    if place in places()["states"]:
        named += [(book, "everywhere in the United States, for a return well") for book in FEDERAL]
    rows = [
        (book, load_book(book).title + stale_words(book), covers(load_book(book)), where)
        for book, where in named
    ]
    if rows:
        terminal.show(columns(("id", "title", "what it covers", "for"), rows))
    ids = [*place.books, *own]
    if not ids:
        terminal.say(f"No book holds in all of {place.name}: name the one of your place, if any.")
    else:
        written = ", ".join(f'"{book}"' for book in ids)
        terminal.say(f"[rules] books = [{written}], and the county's and the town's beside them.")
    terminal.say(CAUTION)


def _local_words(local: str, own: Sequence[str]) -> str:
    """Whether there is a book of a county or town."""
    if own:
        return f"{local}: {', '.join(own)}."
    return (
        f"{local}: no book of it is here. Not every county and town was looked for: ask it for its "
        "own rules, and write them down (docs/rule-books.md; siteplan rules check TOWN.toml)."
    )


def _is_old(book: str) -> bool:
    day = load_book(book).standing.superseded_on
    return day is not None and day <= date.today()


def _check(terminal: Terminal, names: list[str]) -> int:
    """Exit code of a check of books in files: every fault with the line that helps."""
    if not names:
        fault = Fault("siteplan rules check", "names no file.", "siteplan rules check TOWN.toml")
        raise RuleError([fault])
    for name in names:
        try:
            book = read_book(load_toml(Path(name)), Path(name).name)
        except RuleError as error:
            raise RuleError([helped(fault) for fault in error.faults]) from None
        rows = (book.rules, book.bounds, book.duties, book.shown)
        rules, bounds, duties, shown = map(len, rows)
        terminal.say(
            f"{name}: no fault. Rules: {rules}; bounds: {bounds}; duties: {duties}; things to "
            f"show: {shown}."
        )
        for hint in hints(book):
            terminal.say(f"  - {hint}")
        _show(terminal, book)
    return 0


def _line(book_id: str) -> tuple[str, ...]:
    book = load_book(book_id)
    beside = (*book.bounds, *book.duties, *book.shown)
    rows = len({rule.id for rule in book.rules}) + len(beside)
    return book.id, book.title, str(rows), read_words(book, strong="")


def _show(terminal: Terminal, book: Book) -> None:
    quoted = " (as quoted by an authority's page)" if book.standing.read == "quoted" else ""
    terminal.say(f"{book.title}: {book.authority or 'no authority named'}")
    terminal.say(f"{book.document or 'no document'}{quoted}, read {book.read_on}. {book.caution}")
    if book.superseded_by and book.stale:
        days = sorted({row.standing.superseded_on for row in book.stale}, key=str)
        since = ", ".join(day.isoformat() for day in days if day is not None)
        terminal.say(f"SUPERSEDED, all of it or in part, by {book.superseded_by} from {since}.")
    if book.replaces:
        terminal.say(f"Stands in the place of {book.replaces}.")
    if book.note:
        terminal.say(book.note)
    headings = ("from", "for", "says", "measured", "source")
    terminal.show(columns(headings, (_row(rule) for rule in book.rules)))
    for bound in book.bounds:
        terminal.say(f"{bound.of}: {bound.printed} ({bound.source}{bound.standing.words})")
    for duty in book.duties:
        due = f", {duty.due}" if duty.due else ""
        terminal.say(
            f"{duty.stage}, {duty.of}: {duty.printed}{due} ({duty.source}{duty.standing.words})"
        )
    for shown in book.shown:
        told = " ".join(filter(None, (shown.what, shown.printed)))
        terminal.say(f"on the plan: {told} ({shown.source}{shown.standing.words})")


def _row(rule: Rule) -> tuple[str, ...]:
    source = rule.source + rule.standing.words
    source = f"{source} ({rule.note})" if rule.note else source
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
