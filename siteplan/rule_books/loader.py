"""From TOML to rules: the books of the package, and the own rules of a site file."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Iterator, Mapping
from dataclasses import replace
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Any, Final

from siteplan.errors import Fault, RuleError
from siteplan.reading import Table, did_you_mean, load_toml
from siteplan.rule_books.bounds import (
    bound_name,
    needs_source,
    read_bound,
    read_parts,
    source_of,
)
from siteplan.rule_books.conditions import parse_depth, read_condition, read_range
from siteplan.rule_books.duties import duty_name, read_duty
from siteplan.rule_books.meant import judge_meant, word_meant
from siteplan.rule_books.model import (
    ANYWHERE,
    EACH_OTHER,
    MEASURES,
    OWN_BOOK,
    PROPERTY_LINE,
    SAYS,
    SHOWN,
    SUPPLY_WELL,
    WITHOUT_DISTANCE,
    Book,
    Rule,
    Says,
    Shown,
)
from siteplan.rule_books.standing import AS_READ, Standing, read_standing
from siteplan.rule_books.when import Range
from siteplan.units.lengths import parse_length
from siteplan.vocabulary.kinds import hint_of_kind, kind_called, kinds
from siteplan.vocabulary.loop_types import element_parts

NAME: Final = re.compile(r"[a-z0-9-]+")
DAY: Final = re.compile(r"\d{4}(-\d\d(-\d\d)?)?")
OF_THE_WHOLE: tuple[Says, ...] = ("rear yard only",)
"""What is said of a part wherever it lies."""


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


def is_file(name: str) -> bool:
    """Whether a book is named by its file, beside the site file.

    Examples
    --------
    >>> is_file("our-town.toml"), is_file("maine")
    (True, False)
    """
    return name.endswith(".toml")


def book_named(name: str, folder: Path) -> Book:
    """Book of the package by its id, or one of its own file in a folder.

    Raises
    ------
    InputError
        The file cannot be read.
    RuleError
        No such book, or a book with faults.
    """
    if not is_file(name):
        return load_book(name)
    path = folder / name
    return read_book(load_toml(path), path.name)


def read_book(values: Mapping[str, Any], where: str) -> Book:
    """Book from the content of a TOML file.

    Raises
    ------
    RuleError
        Every fault of the book.
    """
    faults: list[Fault] = []
    table = Table(values, where, faults)
    for key, example in (("id", '"maine"'), ("title", '"..."'), ("read_on", "2026-01-31")):
        table.required(key, f"{key} = {example}")
    _judge_head(table)
    standing = read_standing(table)
    book = Book(
        id=table.text("id"),
        title=table.text("title"),
        authority=table.text("authority"),
        document=table.text("document"),
        read_on=str(table.raw("read_on")),
        caution=table.text("caution", "Verify with the authority before use."),
        note=table.text("note"),
        standing=standing,
        superseded_by=table.text("superseded_by"),
        replaces=table.text("replaces"),
        **_rows(table, standing),
    )
    table.finish()
    for key in ("rule", "bound", "duty"):
        faults.extend(_duplicates(values, where, key))
    if faults:
        raise RuleError(faults)
    return book


def _rows(table: Table, standing: Standing) -> dict[str, Any]:
    """Rows of a book."""
    document = table.text("document")
    rules = (
        read_rules(entry, book=table.text("id"), document=document, standing=standing)
        for entry in table.tables("rule", _rule_name)
    )
    return {
        "rules": tuple(rule for group in rules for rule in group),
        "shown": tuple(
            _shown(entry, document, standing)
            for entry in table.tables("shown", lambda _, number: f"shown {number}")
        ),
        "bounds": tuple(
            read_bound(entry, document=document, standing=standing)
            for entry in table.tables("bound", bound_name)
        ),
        "duties": tuple(
            read_duty(entry, document=document, standing=standing)
            for entry in table.tables("duty", duty_name)
        ),
    }


def read_rules(
    table: Table, *, book: str, document: str = "", standing: Standing = AS_READ
) -> tuple[Rule, ...]:
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
        unless_outside=table.choice("unless_outside", tuple(kinds()), ""),
        within=_within(table),
        # whoever writes an own rule answers for it himself
        standing=standing if book == OWN_BOOK else read_standing(table, standing),
    )
    subjects = tuple(_subjects(table))
    _judge(table, rule, subjects)
    judge_meant(table)
    table.finish()
    return tuple(replace(rule, subject=subject) for subject in subjects)


def _within(table: Table) -> Range | None:
    """How far from the thing a limit of depth holds."""
    return read_range(table, "within", parse_depth)


def _judge_head(table: Table) -> None:
    """Note an id that no finding can name, and a day that is none."""
    name, day = table.text("id"), str(table.values.get("read_on", ""))
    if name and not NAME.fullmatch(name):
        mend = "Write small letters, digits and hyphens, such as elm-ny."
        table.fault("id", f"{name!r} is no name of a book.", mend)
    if day and not DAY.fullmatch(day):
        table.fault("read_on", f"{day!r} is no day.", "Write read_on = 2026-01-31.")


def _judge(table: Table, rule: Rule, subjects: tuple[str, ...]) -> None:
    """Note what does not go together."""
    if rule.says in WITHOUT_DISTANCE and table.has("distance"):
        what = f"of {rule.says!r} is nothing: a ban is one at any distance."
        table.fault("distance", what, 'Leave it out, or write says = "at least".')
    if rule.says in OF_THE_WHOLE and subjects not in ((), (ANYWHERE,)):
        table.fault("from", f"of {rule.says!r} is about the lot.", f'Write from = "{ANYWHERE}".')
    if rule.within is not None and rule.says != "no deeper than":
        table.fault("within", "goes with a limit of depth.", 'Write says = "no deeper than".')
    if rule.measure == "below casing" and set(subjects) - {"potable well"}:
        table.fault("measure", "from a casing is from a well.", 'Write from = "potable well".')


def _subjects(table: Table) -> Iterator[str]:
    known = (PROPERTY_LINE, SUPPLY_WELL, ANYWHERE, EACH_OTHER, *kinds())
    for word in table.words("from"):
        # as people call it, as in a site file
        subject = word if word in known else kind_called(word)
        if subject in known:
            yield subject
        else:
            table.fault("from", f"{word!r} is not a feature kind;", hint_of_kind(word, known))


def _word(table: Table, key: str, known: tuple[Any, ...], default: Any) -> Any:
    meant = word_meant(table.text(key), known)
    if meant:
        table.fault(key, f"{table.text(key)!r} is not known;", f"did you mean {meant!r}?")
        return meant
    return table.choice(key, known, default)


def _printed(table: Table, book: str) -> str:
    if book != OWN_BOOK:  # a book is read for sites in feet and in metres
        for key in ("distance", "variance"):
            if _is_bare(table.raw(key)):
                what = f"{table.raw(key)!r} has no unit."
                table.fault(key, what, 'Write it as printed, e.g. "10 ft".')
    value = table.raw("distance")
    if isinstance(value, str):
        return value
    return f"{value:g} {table.unit}" if isinstance(value, (int, float)) else ""


def _is_bare(value: object) -> bool:
    """Whether a length is a number alone.

    Examples
    --------
    >>> _is_bare(50), _is_bare("1,000"), _is_bare("50 ft"), _is_bare(None)
    (True, True, False, False)
    """
    if isinstance(value, str):
        return not any(sign.isalpha() or sign in "'\"′″" for sign in value)
    return isinstance(value, (int, float))


def _shown(table: Table, document: str, standing: Standing) -> Shown:
    table.required("what", 'what = "search radius"')
    table.required("source", 'source = "section"')
    what, value = table.choice("what", SHOWN, ""), table.raw("value")
    if isinstance(value, str):
        number: float | None = table.quantity("value", lambda text: parse_length(text, ""))
    else:
        number = float(value) if isinstance(value, (int, float)) else None
    source = source_of(table.text("source"), document)
    shown = Shown(what, number, str(value or ""), source, read_standing(table, standing))
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
