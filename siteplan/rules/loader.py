"""From TOML to rules: the books of the package, and the own rules of a site file."""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from typing import Any

from siteplan.errors import Fault, RuleError
from siteplan.reading import Table, did_you_mean
from siteplan.rules.model import OWN_BOOK, PARTS, PROPERTY_LINE, Part, Rule
from siteplan.site.kinds import kinds

ELEMENT_PARTS: tuple[Part, ...] = tuple(part for part in PARTS if part != "header")
"""What a rule binds that does not say for what: everything but the header."""


@dataclass(frozen=True, slots=True)
class Book:
    """A rule book: where its rules come from, when they were read, and the rules."""

    id: str
    title: str
    authority: str
    date_read: str
    caution: str
    rules: tuple[Rule, ...]


@cache
def book_ids() -> tuple[str, ...]:
    """Ids of the books in the package, sorted."""
    folder = files("siteplan.rules").joinpath("books")
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
    text = files("siteplan.rules").joinpath("books", f"{book_id}.toml").read_text(encoding="utf-8")
    return read_book(tomllib.loads(text), f"{book_id}.toml")


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
        date_read=str(table.raw("date_read")),
        caution=table.text("caution", "Verify with the authority before use."),
        rules=tuple(
            read_rule(rule, book=table.text("id")) for rule in table.tables("rule", _rule_name)
        ),
    )
    table.finish()
    faults.extend(_duplicates(book, where))
    if faults:
        raise RuleError(faults)
    return book


def read_rule(table: Table, *, book: str) -> Rule:
    """Rule of one ``[[rule]]`` table; its faults go where the table's go."""
    for key, example in (
        ("from", 'from = "property line"'),
        ("distance", 'distance = "10 ft"'),
        ("source", 'source = "document, section" or "common practice, no source"'),
    ):
        table.required(key, example)
    if table.has("source") and not table.text("source"):
        table.fault("source", "is empty.", 'Name document and section, or "common practice".')
    subject = table.text("from")
    subjects = (PROPERTY_LINE, *kinds())
    if subject and subject not in subjects:
        table.fault("from", f"{subject!r} is not a feature kind;", did_you_mean(subject, subjects))
    rule = Rule(
        id=table.text("id", subject.replace(" ", "-")),
        subject=subject,
        parts=_parts(table),
        distance_m=table.length("distance", 0.0),
        printed=_printed(table, book),
        book=book,
        source=table.text("source"),
        use=table.choice("use", ("private", "public"), ""),
    )
    table.finish()
    return rule


def _printed(table: Table, book: str) -> str:
    value = table.raw("distance")
    if isinstance(value, str):
        return value
    if value is not None and book != OWN_BOOK:
        table.fault("distance", f"{value!r} has no unit.", 'Write it as printed, e.g. "10 ft".')
    return f"{value:g} {table.unit}" if isinstance(value, (int, float)) else ""


def _parts(table: Table) -> tuple[Part, ...]:
    words = table.words("for")
    for word in words:
        if word not in PARTS:
            table.fault("for", f"{word!r} is not a part;", did_you_mean(word, PARTS))
    known = tuple(word for word in words if word in PARTS)
    return known or ELEMENT_PARTS


def _rule_name(values: Mapping[str, Any], number: int) -> str:
    return f"rule {values.get('id', number)!r}"


def _duplicates(book: Book, where: str) -> list[Fault]:
    seen: set[str] = set()
    faults = []
    for rule in book.rules:
        if rule.id in seen:
            faults.append(Fault(where, f"rule id {rule.id!r} is used twice.", "Rename one."))
        seen.add(rule.id)
    return faults
