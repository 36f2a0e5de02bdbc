"""What was found for each state and country: ``python -m siteplan.rule_books.coverage PAGE``."""

from __future__ import annotations

import difflib
import re
import sys
import tomllib
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cache
from importlib.resources import files
from pathlib import Path
from typing import Literal, get_args

from siteplan.errors import Fault, RuleError
from siteplan.reading import did_you_mean
from siteplan.rule_books.books_page import covers
from siteplan.rule_books.loader import book_ids, load_book

Status = Literal["book", "partly", "not regulated", "nothing found"]
STATUSES: tuple[Status, ...] = get_args(Status)
MEANS: dict[Status, str] = {
    "book": "the rows that were read of its rules are in a book",
    "partly": "some rows are in a book; others, or those of other kinds of loop, are missing",
    "not regulated": "its authority says that it has no such rules",
    "nothing found": "nothing usable was seen, which does not mean that there is none",
}
"""What each status says, and what it does not."""
NO_DUTIES = "No row of its books is about permits, notices or records: ask the authority for them."
EVERYWHERE = "all"
"""Word for every place that was looked for."""
NEAREST = 3
"""So many places are named to one that is not known."""


@dataclass(frozen=True, slots=True)
class Place:
    """A state or country, and what was found for it.

    Parameters
    ----------
    name
        Of the place.
    status
        How much of its rules the books have.
    books
        Books of the place as a whole.
    beside
        Books of its counties, towns and bodies.
    missing
        What is not in the books.
    who
        Who says that loops are not regulated.
    searched
        What was looked at where nothing was found.
    """

    name: str
    status: Status
    books: tuple[str, ...] = ()
    beside: tuple[str, ...] = ()
    missing: str = ""
    who: str = ""
    searched: str = ""

    @property
    def why(self) -> str:
        """What is missing, who says so, or what was searched; empty where a book has it all."""
        told = {"partly": self.missing, "not regulated": self.who, "nothing found": self.searched}
        return told.get(self.status, "")


@cache
def places() -> dict[str, tuple[Place, ...]]:
    """Places by what they are: ``"states"`` and ``"countries"``."""
    text = files("siteplan.rule_books").joinpath("coverage.toml").read_text(encoding="utf-8")
    return {
        kind: tuple(
            Place(
                name, row.pop("status"), tuple(row.pop("books", ())),
                tuple(row.pop("beside", ())), **row,
            )
            for name, row in rows.items()
        )
        for kind, rows in tomllib.loads(text).items()
    }  # fmt: skip


@cache
def postal_codes() -> dict[str, str]:
    """States by the abbreviation that stands in addresses."""
    text = files("siteplan.rule_books").joinpath("postal.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)


def place_named(name: str) -> Place:
    """State or country of a name; of a county or town the one that has its book.

    A county or town may be told with its state behind a comma, whether or not it has a book.

    Raises
    ------
    RuleError
        No such place.

    Examples
    --------
    >>> place_named("nebraska").name, place_named("Ravenna").name
    ('Nebraska', 'Nebraska')
    >>> place_named("Lancaster County, Nebraska").name, place_named("Kent County, DE").name
    ('Nebraska', 'Delaware')
    """
    everywhere = [place for kind in places().values() for place in kind]
    wanted = name.rpartition(",")[2].strip()
    place = place_called(wanted)
    if place is not None:
        return place
    whole = wanted.casefold()
    # behind a comma stands a state: a town of another one must not answer for it
    town = re.compile(rf"\b{re.escape(whole)}\b")
    for place in everywhere if whole and "," not in name else ():
        if any(town.search(load_book(book).authority.casefold()) for book in place.beside):
            return place
    known = _nearest(wanted, everywhere)
    raise RuleError([Fault("--for", f"{name!r} is not a place that was looked for;", known)])


def place_called(name: str) -> Place | None:
    """State or country of just that name, or that abbreviation of a state; None where none is.

    Examples
    --------
    >>> place_called("new-york").name, place_called("VT").name, place_called("Ravenna")
    ('New York', 'Vermont', None)
    """
    plain = name.strip().replace("-", " ")
    whole = postal_codes().get(plain.upper(), plain).casefold()
    everywhere = (place for kind in places().values() for place in kind)
    return next((place for place in everywhere if place.name.casefold() == whole), None)


def hint_of_book(name: str) -> str:
    """What to do about a book that there is not: people write the state that they are in."""
    place = place_called(name)
    if place is not None:
        told = f'siteplan rules --for "{place.name}"'
        return f"{told} tells what was found for {place.name}, and which books to combine."
    hint = did_you_mean(name, book_ids())
    if hint.startswith("known:"):
        return f"siteplan rules lists all {len(book_ids())}, and with --for PLACE those of a place."
    return hint


def _nearest(name: str, everywhere: Sequence[Place]) -> str:
    """The places most like a name, counties and towns with a book among them; how to list all."""
    called = {place.name.casefold(): place.name for place in everywhere}
    for book in (book for place in everywhere for book in place.beside):
        local = load_book(book).authority
        called.setdefault(local.partition(",")[0].rpartition(" of ")[2].casefold(), local)
    near = difflib.get_close_matches(name.casefold(), called, n=NEAREST)
    asked = f"did you mean {' or '.join(repr(called[one]) for one in near)}? " if near else ""
    return f"{asked}siteplan rules --for {EVERYWHERE} lists them all, docs/coverage.md too."


def has_duties(place: Place) -> bool:
    """Whether a book of the whole place has rows of permits, notices or records."""
    return any(load_book(book).duties for book in place.books)


def local_books(name: str, place: Place) -> tuple[str, tuple[str, ...]]:
    """County or town that was asked for, and its books here; an empty name: the place itself.

    Examples
    --------
    >>> local_books("Tazewell County, Illinois", place_named("Illinois"))
    ('Tazewell County', ('tazewell-county-il',))
    >>> local_books("Lancaster County, Nebraska", place_named("Nebraska"))
    ('Lancaster County', ())
    """
    local, _, whole = name.rpartition(",")
    state = postal_codes().get(whole.strip().upper(), whole.strip())
    asked = local.strip() or ("" if state.casefold() == place.name.casefold() else name)
    words = asked.casefold()
    found = (
        book
        for book in place.beside
        if words and words in f"{load_book(book).authority}, {load_book(book).title}".casefold()
    )
    return asked, tuple(found)


def page() -> str:
    """The page docs/coverage.md."""
    return "\n".join(_lines()) + "\n"


def _lines() -> Iterator[str]:
    states, countries = places()["states"], places()["countries"]
    yield "# What the rule books cover"
    yield ""
    yield (
        f"{len(book_ids())} books; {len(states)} US jurisdictions, which are the states and the "
        f"District of Columbia, and {len(countries)} countries were looked for."
    )
    yield (
        "Made from the books and from `siteplan/rule_books/coverage.toml`; `siteplan rules --for "
        '"Nebraska"` says the same of one place.'
    )
    yield (
        "Texts were read in November 2026, some of them in part. Not seen does not mean that there "
        "is none: **verify with the authority before use.**"
    )
    yield (
        "Name the books of the state, the county and the town together: each of their rules is "
        "kept. In the United States name `us-class-v` as well for an open loop."
    )
    yield ""
    for status, means in MEANS.items():
        yield f"- **{status}**: {means}."
    yield ""
    yield (
        "Of what these cover, parts of a loop are distances and bans; *duties* are permits, "
        "notices, inspections and records, which are the sheet's BEFORE AND AFTER. What is not "
        "named there ask the authority for."
    )
    yield ""
    yield from _counts(states)
    for title, rows in (("US states", states), ("Countries", countries)):
        yield from _places_lines(title, rows)


def _places_lines(title: str, rows: Sequence[Place]) -> Iterator[str]:
    """Table of places under its title."""
    yield ""
    yield f"## {title}"
    yield ""
    yield (
        "| place | found | books | what these cover | beside them: counties, towns, bodies | "
        "missing, or who says so, or what was searched |"
    )
    yield "| --- | --- | --- | --- | --- | --- |"
    for place in rows:
        yield (
            f"| {place.name} | {place.status} | {_named(place.books)} | {_covered(place)} | "
            f"{_named(place.beside)} | {place.why} |"
        )


def _covered(place: Place) -> str:
    """What the books of a whole place cover, and that they have no duties."""
    pieces = [covers(load_book(book)) for book in place.books]
    pieces += ["no permits, notices or records"] if place.books and not has_duties(place) else []
    return "; ".join(dict.fromkeys("; ".join(pieces).split("; "))) if pieces else ""


def _counts(states: Sequence[Place]) -> Iterator[str]:
    yield "| US states | number |"
    yield "| --- | --- |"
    for status in STATUSES:
        yield f"| {status} | {sum(place.status == status for place in states)} |"


def _named(books: Sequence[str]) -> str:
    return ", ".join(f"`{book}`{stale_words(book)}" for book in books)


def stale_words(book: str) -> str:
    """That the text of a book is superseded, or some of it; empty where none is."""
    shown = load_book(book)
    if shown.standing.superseded_on is not None:
        return f" (superseded from {shown.standing.superseded_on.isoformat()})"
    return " (partly superseded)" if shown.stale else ""


if __name__ == "__main__":
    Path(sys.argv[1]).write_text(page(), encoding="utf-8")
