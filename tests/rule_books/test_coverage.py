"""What is told of each place: the table, its page and the books agree, and no state is silent."""

from __future__ import annotations

import re

import pytest
from places import ROOT

from siteplan.errors import RuleError
from siteplan.rule_books.books_page import with_tables
from siteplan.rule_books.coverage import STATUSES, Place, page, place_named, places, postal_codes
from siteplan.rule_books.loader import book_ids, load_book
from siteplan.rule_books.model import COMMON_PRACTICE

# the 50 states by their two letters (ANSI INCITS 38) and the District of Columbia
LETTERS = """\
AL AK AZ AR CA CO CT DE FL GA HI ID IL IN IA KS KY LA ME MD MA MI MN MS MO MT NE NV NH NJ NM NY
NC ND OH OK OR PA RI SC SD TN TX UT VT VA WA WV WI WY DC
""".split()  # noqa: SIM905
ALL = [place for kind in places().values() for place in kind]


def initials(name: str) -> str:
    """First letters of a name of several words, else its first letter."""
    words = [word for word in name.split() if word != "of"]
    return "".join(word[0] for word in words)


def test_every_state_and_the_district_is_told_of() -> None:
    states = [place.name for place in places()["states"]]
    assert len(states) == len(set(states)) == len(LETTERS) == 51
    # names of two words have their initials as letters; of one word the first letter begins them
    firsts = sorted(initials(name)[0] for name in states)
    assert firsts == sorted(letters[0] for letters in LETTERS)
    two = {initials(name) for name in states if len(name.split()) == 2}
    assert two <= set(LETTERS)


@pytest.mark.parametrize("place", ALL, ids=lambda place: place.name)
def test_a_place_says_what_its_status_asks(place: Place) -> None:
    assert place.status in STATUSES
    told = (place.missing, place.who, place.searched)
    wanted = {"partly": 0, "not regulated": 1, "nothing found": 2}.get(place.status)
    assert [number for number, words in enumerate(told) if words] == [wanted] * (wanted is not None)
    if place.status == "book":
        assert place.books
    if place.status == "nothing found":
        assert not place.books
        assert not place.beside


def test_every_book_belongs_to_one_place() -> None:
    named = [book for place in ALL for book in (*place.books, *place.beside)]
    assert sorted(named) == sorted(set(book_ids()) - {COMMON_PRACTICE})


def test_the_page_is_that_of_the_table() -> None:
    assert (ROOT / "docs/coverage.md").read_text(encoding="utf-8") == page()


def test_the_page_of_books_has_the_tables_of_today() -> None:
    text = (ROOT / "docs/rule-books.md").read_text(encoding="utf-8")
    assert with_tables(text) == text


def test_a_superseded_book_says_so_on_the_page() -> None:
    text = (ROOT / "docs/coverage.md").read_text(encoding="utf-8")
    for book in book_ids():
        told = re.search(rf"`{book}`( \([a-z -]*superseded[^)]*\))?", text)
        assert (told is not None and bool(told[1])) is bool(load_book(book).stale), book


@pytest.mark.parametrize(
    ("name", "place"),
    [("nebraska", "Nebraska"), ("Ravenna", "Nebraska"), ("Anne Arundel", "Maryland")],
)
def test_a_place_is_found_by_its_name_or_by_its_town(name: str, place: str) -> None:
    assert place_named(name).name == place


@pytest.mark.parametrize(
    ("name", "place"),
    [
        # postal codes: US Postal Service, Publication 28, appendix B (from memory); letters of them
        # stand in the names of towns elsewhere, as in Decorah, Iowa
        ("Kent County, DE", "Delaware"), ("Madison, VA", "Virginia"), ("Town, in", "Indiana"),
        ("MN", "Minnesota"),
    ],
)  # fmt: skip
def test_a_state_may_be_told_by_its_postal_code(name: str, place: str) -> None:
    assert place_named(name).name == place


def test_every_state_has_a_postal_code() -> None:
    assert set(postal_codes().values()) == {place.name for place in places()["states"]}


def test_a_town_of_another_state_does_not_answer_for_one_that_is_not_known() -> None:
    with pytest.raises(RuleError):
        place_named("Ravenna, Freedonia")


def test_a_misspelt_place_is_refused_with_the_one_meant() -> None:
    with pytest.raises(RuleError, match="did you mean 'Kentucky'"):
        place_named("Kentuky")


def test_a_town_with_a_book_is_named_where_it_is_misspelt() -> None:
    with pytest.raises(RuleError, match="did you mean 'City of Mission Hills, Kansas'"):
        place_named("Mision Hills")


def test_what_is_known_to_be_superseded_says_so_with_its_day() -> None:
    # Nebraska: 178 NAC 12 by 134 NAC ch. 4 on 28 June 2026; Minnesota: 4725.7050 on 22 March 2021;
    # Virginia: chapter 630 on 6 November 2024
    stale = {
        (row.source.split(",")[0].split(" 12")[0], str(row.standing.superseded_on))
        for book in map(load_book, book_ids())
        for row in book.stale
    }
    assert stale == {
        ("178 NAC", "2026-06-28"),
        ("Minn. R.", "2021-03-22"),
        ("Virginia Administrative Code", "2024-11-06"),
    }
    old = ("178 NAC", "4725.7050", "12VAC5-630")
    for book in map(load_book, book_ids()):
        rows = (*book.rules, *book.bounds, *book.shown)
        citing = [row for row in rows if any(text in row.source for text in old)]
        assert all(row in book.stale for row in citing), book.id
