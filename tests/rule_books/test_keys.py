"""The keys of a book: each has a line that explains it, and a fault brings the line that helps."""

from __future__ import annotations

import re
import tomllib

import pytest

from siteplan.errors import RuleError
from siteplan.rule_books.figures import figures_apart
from siteplan.rule_books.hints import hints
from siteplan.rule_books.keys import helped, keys
from siteplan.rule_books.loader import book_ids, load_book, read_book
from siteplan.rule_books.loader import files as package_files

GOOD = 'id = "town"\ntitle = "Town"\nauthority = "Town"\nread_on = 2026-01-31\n'
ROW = '[[rule]]\nid = "line"\nfrom = "property line"\ndistance = "10 ft"\nsource = "s. 1"\n'


@pytest.mark.parametrize("book", book_ids())
def test_every_key_that_a_book_has_is_explained(book: str) -> None:
    file = package_files("siteplan.rule_books").joinpath("shipped", f"{book}.toml")
    values = tomllib.loads(file.read_text(encoding="utf-8"))
    assert set(values) <= set(keys()["book"])
    for name in ("rule", "bound", "duty", "shown"):
        for row in values.get(name, []):
            assert set(row) <= set(keys()[name]) | set(keys()["book"]), (book, row)
            assert set(row.get("when", ())) <= set(keys()["when"])


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ('"10 ft"', "10", "distance: as printed, with its unit"),
        ('source = "s. 1"', "", "source: section of the document"),
        ('"property line"', '"fence"', "from: from what: a kind of feature"),
        ("read_on = 2026-01-31", "", "read_on: day on which it was read"),
        ('source = "s. 1"', 'source = "s. 1"\nwhen = { pipe = "tin" }', "pipe: of a sewer"),
        ('source = "s. 1"', 'source = "s. 1"\nstatus = "nice"', 'status: `"required"` (usual)'),
    ],
)
def test_a_fault_comes_with_the_line_that_helps(old: str, new: str, line: str) -> None:
    with pytest.raises(RuleError) as caught:
        read_book(tomllib.loads((GOOD + ROW).replace(old, new)), "town.toml")
    assert line in str(helped(caught.value.faults[0]))


def test_a_forgotten_reserve_area_is_asked_for() -> None:
    field = ROW.replace("property line", "drainfield")
    book = read_book(tomllib.loads(GOOD + field), "town.toml")
    assert any(hint.startswith("bore: does the reserve area count") for hint in hints(book))
    both = field.replace('"drainfield"', '["drainfield", "reserve area"]')
    assert list(hints(read_book(tomllib.loads(GOOD + both), "town.toml"))) == []


def test_what_says_nothing_is_hinted_at() -> None:
    empty = read_book(tomllib.loads(GOOD.replace('authority = "Town"\n', "")), "town.toml")
    told = " ".join(hints(empty))
    assert "authority is not named" in told
    assert "no row" in told
    vague = ROW.replace('distance = "10 ft"', 'says = "as stated"') + ROW.replace(
        '"line"', '"zero"'
    ).replace("10 ft", "0 ft")
    told = " ".join(hints(read_book(tomllib.loads(GOOD + vague), "town.toml")))
    assert "line: note says where" in told
    assert "zero: a distance of zero" in told


@pytest.mark.parametrize(
    ("line", "change", "told"),
    [
        ('id = "town"', 'id = "Town of Elm"', "'Town of Elm' is no name of a book"),
        ("read_on = 2026-01-31", 'read_on = "last week"', "read_on: 'last week' is no day"),
        ('from = "leach field"', 'from = "leech field"', "did you mean 'leach field'?"),
    ],
)
def test_a_book_is_judged_by_its_head_too_and_speaks_as_people_do(
    line: str, change: str, told: str
) -> None:
    rule = '[[rule]]\nfrom = "leach field"\nfor = ["bore"]\ndistance = "30 ft"\nsource = "1"\n'
    good = GOOD + rule
    # a leach field is a drainfield in a site file, and here too
    assert [each.subject for each in read_book(tomllib.loads(good), "t").rules] == ["drainfield"]
    with pytest.raises(RuleError, match=re.escape(told)):
        read_book(tomllib.loads(good.replace(line, change)), "t")


@pytest.mark.parametrize(
    ("old", "new", "line"),
    [
        ("distance =", "minimum =", 'write distance = "10 ft"'),
        ("distance =", '"maximum depth" =', 'write says = "no deeper than"'),
        ('source = "s. 1"', 'source = "s. 1"\nmeasure = "center"', "did you mean 'centre'?"),
        ('source = "s. 1"', 'source = "s. 1"\nsays = "maximum depth"', "mean 'no deeper than'?"),
        ('"property line"', '"town well"', "kinds of well: 'potable well', 'energy well'"),
        ('"property line"', '"property lien"', "did you mean 'property line'?"),
    ],
)
def test_a_word_of_people_is_answered_with_ours(old: str, new: str, line: str) -> None:
    with pytest.raises(RuleError) as caught:
        read_book(tomllib.loads((GOOD + ROW).replace(old, new)), "town.toml")
    assert line in " ".join(map(str, caught.value.faults))


def test_a_drinking_well_is_no_drainfield() -> None:
    book = read_book(tomllib.loads(GOOD + ROW.replace("property line", "drinking well")), "t.toml")
    assert book.rules[0].subject == "potable well"


@pytest.mark.parametrize("due", ["72 hrs", "72 hours", "1 Day", "10 business days", "at once"])
def test_a_time_may_be_written_as_people_do(due: str) -> None:
    row = f'[[duty]]\nof = "notice"\nprinted = "call"\nsource = "s. 2"\ndue = "{due}"\n'
    assert read_book(tomllib.loads(GOOD + row), "t.toml").duties[0].due == due


@pytest.mark.parametrize(
    ("of", "row", "key"),
    [
        ("test pressure", 'least = "75 psi"\nminutes = 60', "least"),
        ("test pressure", 'least = "100 psi"\nminutes = 15', "minutes"),
        ("test pressure", 'least = "690 kPa"\nminutes = 60', ""),
    ],
)
def test_figures_of_the_text_that_are_not_checked_are_told(of: str, row: str, key: str) -> None:
    printed = "100 psi for at least 1 h"
    text = f'[[bound]]\nof = "{of}"\nprinted = "{printed}"\nsource = "s. 3"\n{row}\n'
    told = list(hints(read_book(tomllib.loads(GOOD + text), "t.toml")))
    assert [hint.split(":")[1].split()[0] for hint in told] == ([key] if key else [])


def test_no_shipped_book_prints_another_figure_than_it_is_checked_by() -> None:
    told = {
        (book, hint.split(":")[0]) for book in book_ids() for hint in figures_apart(load_book(book))
    }
    # its text has the days of two cases: two business days for one house, 30 days otherwise
    assert told == {("north-carolina", "notice")}
