"""The keys of a book: each has a line that explains it, and a fault brings the line that helps."""

from __future__ import annotations

import re
import tomllib

import pytest

from siteplan.errors import RuleError
from siteplan.rule_books.hints import hints
from siteplan.rule_books.keys import helped, keys
from siteplan.rule_books.loader import book_ids, read_book
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
