"""From TOML to rules: the books of the package, and the own rules of a site file."""

from __future__ import annotations

import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.errors import Fault, RuleError
from siteplan.reading import Table, did_you_mean
from siteplan.rule_books.bounds import (
    bound_name,
    needs_source,
    read_bound,
    read_parts,
    source_of,
)
from siteplan.rule_books.conditions import read_condition
from siteplan.rule_books.model import (
    ANYWHERE,
    MEASURES,
    OWN_BOOK,
    PROPERTY_LINE,
    SAYS,
    SHOWN,
    SUPPLY_WELL,
    Book,
    Rule,
    Says,
    Shown,
)
from siteplan.units.lengths import parse_length
from siteplan.vocabulary.kinds import kinds
from siteplan.vocabulary.loop_types import element_parts

WITHOUT_DISTANCE: tuple[Says, ...] = ("not allowed", "not regulated")


@cache
def book_ids() -> tuple[str, ...]:
    """Ids of the books in the package, sorted."""
    folder = files("siteplan.rule_books").joinpath("shipped")
    return tuple(
        sorted(entry.name[:-5] for entry in folder.iterdir() if entry.name.endswith(".toml"))
    )


@cache
def load_book(book_id: str) -> Book:
    """Book of the package.

    Raises
    ------
    RuleError
        No such book, or a book with faults (all of them).
    """
    if book_id not in book_ids():
        fault = Fault(
            "[rules], books", f"{book_id!r} is not a book;", did_you_mean(book_id, book_ids())
        )
        raise RuleError([fault])
    file = files("siteplan.rule_books").joinpath("shipped", f"{book_id}.toml")
    return read_book(tomllib.loads(file.read_text(encoding="utf-8")), f"{book_id}.toml")


def read_book(values: Mapping[str, Any], where: str) -> Book:
    """Book from the content of a TOML file.

    Raises
    ------
    RuleError
        Every fault of the book.
    """
    faults: list[Fault] = []
    table = Table(values, where, faults)
    for key, example in (("id", '"maine"'), ("title", '"..."'), ("date_read", "2026-01-31")):
        table.required(key, f"{key} = {example}")
    book = Book(
        id=table.text("id"),
        title=table.text("title"),
        authority=table.text("authority"),
        document=table.text("document"),
        date_read=str(table.raw("date_read")),
        caution=table.text("caution", "Verify with the authority before use."),
        rules=tuple(
            rule
            for entry in table.tables("rule", _rule_name)
            for rule in read_rules(entry, book=table.text("id"), document=table.text("document"))
        ),
        shown=tuple(
            _shown(entry, table.text("document"))
            for entry in table.tables("shown", lambda _, number: f"shown {number}")
        ),
        quoted=table.raw("quoted") is True,
        note=table.text("note"),
        bounds=tuple(
            read_bound(entry, document=table.text("document"))
            for entry in table.tables("bound", bound_name)
        ),
    )
    table.finish()
    for key in ("rule", "bound"):
        faults.extend(_duplicates(values, where, key))
    if faults:
        raise RuleError(faults)
    return book


def read_rules(table: Table, *, book: str, document: str = "") -> tuple[Rule, ...]:
    """Rules of one ``[[rule]]`` table, one for each subject; faults go where the table's go."""
    says = _word(table, "says", SAYS, SAYS[0])
    for key, example in (
        ("from", 'from = "property line"'),
        ("source", 'source = "section" or "common practice, no source"'),
        *((("distance", 'distance = "10 ft"'),) if says not in WITHOUT_DISTANCE else ()),
    ):
        table.required(key, example)
    needs_source(table)
    rule = Rule(
        id=table.text("id", "-".join(table.words("from")).replace(" ", "-")),
        subject="",
        parts=read_parts(table, element_parts()),
        distance_m=table.length("distance", 0.0),
        printed=_printed(table, book),
        book=book,
        source=source_of(table.text("source"), document),
        says=says,
        measure=_word(table, "measure", MEASURES, MEASURES[0]),
        when=read_condition(table),
        note=table.text("note"),
        variance_m=table.length("variance", 0.0) if table.has("variance") else None,
    )
    subjects = tuple(_subjects(table))
    table.finish()
    return tuple(replace(rule, subject=subject) for subject in subjects)


def _subjects(table: Table) -> Iterator[str]:
    known = (PROPERTY_LINE, SUPPLY_WELL, ANYWHERE, *kinds())
    for subject in table.words("from"):
        if subject in known:
            yield subject
        else:
            table.fault("from", f"{subject!r} is not a feature kind;", did_you_mean(subject, known))


def _word(table: Table, key: str, known: tuple[Any, ...], default: Any) -> Any:
    return table.choice(key, known, default)


def _printed(table: Table, book: str) -> str:
    value = table.raw("distance")
    if isinstance(value, str):
        return value
    if value is not None and book != OWN_BOOK:
        table.fault("distance", f"{value!r} has no unit.", 'Write it as printed, e.g. "10 ft".')
    return f"{value:g} {table.unit}" if isinstance(value, (int, float)) else ""


def _shown(table: Table, document: str) -> Shown:
    table.required("what", 'what = "search radius"')
    table.required("source", 'source = "section"')
    what, value = table.choice("what", SHOWN, ""), table.raw("value")
    if isinstance(value, str):
        number: float | None = table.quantity("value", lambda text: parse_length(text, ""))
    else:
        number = float(value) if isinstance(value, (int, float)) else None
    shown = Shown(what, number, str(value or ""), source_of(table.text("source"), document))
    table.finish()
    return shown


def _rule_name(values: Mapping[str, Any], number: int) -> str:
    return f"rule {values.get('id', number)!r}"


def _duplicates(values: Mapping[str, Any], where: str, key: str) -> list[Fault]:
    rules = values.get(key)
    rows = rules if isinstance(rules, list) else []
    names = [row.get("id") for row in rows if isinstance(row, dict)]
    twice = sorted({str(name) for name in names if name is not None and names.count(name) > 1})
    return [Fault(where, f"{key} id {name!r} is used twice.", "Rename one.") for name in twice]
