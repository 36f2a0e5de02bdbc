"""Rule books: loading, faults, and which rule decides."""

from __future__ import annotations

import dataclasses
import tomllib
from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.errors import InputError, RuleError
from siteplan.rule_books.loader import book_ids, load_book, read_book
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Feature
from siteplan.site.readers.site_file import read_site

GOOD = """\
id = "somewhere"
title = "Somewhere"
read_on = 2026-01-31
[[rule]]
id = "well"
from = "potable well"
for = ["bore"]
distance = "35 ft"
source = "Code 1.2(3)"
"""


def test_an_overhead_line_of_unknown_voltage_is_left_to_the_safety_book() -> None:
    assert len(load_book("common-practice").rules) > 30
    assert "overhead power line" not in {r.subject for r in load_book("common-practice").rules}
    # 29 CFR 1926.1408: where the voltage is unknown the clearance is 20 ft
    unknown = [r for r in load_book("us-safety").rules if r.when.voltage_unknown]
    assert {round(rule.distance_m, 9) for rule in unknown} == {round(20 * 0.3048, 9)}
    bound = {part for rule in unknown for part in rule.parts}
    assert bound == {"bore", "trench", "coil", "supply well", "return well", "header"}
    assert "1926.1408" in unknown[0].source


@pytest.mark.parametrize("book", book_ids())
def test_every_book_in_the_package_loads(book: str) -> None:
    assert load_book(book).id == book


def test_a_rule_keeps_what_its_source_printed() -> None:
    rule = read_book(tomllib.loads(GOOD), "somewhere.toml").rules[0]
    assert (rule.printed, rule.source, rule.parts) == ("35 ft", "Code 1.2(3)", ("bore",))
    assert rule.distance_m == pytest.approx(10.668)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('source = "Code 1.2(3)"', "", "rule 'well', source: is missing"),
        ('source = "Code 1.2(3)"', 'source = ""', "rule 'well', source: is empty"),
        ('"potable well"', '"potable wel"', "'potable wel' is not a feature kind; did you mean"),
        ('"35 ft"', '"-35 ft"', "distance: '-35 ft' is too small"),
        ('"35 ft"', "35", "distance: 35 has no unit"),
        ('"35 ft"', '"35"', "distance: '35' has no unit"),
        ('["bore"]', '["boar"]', "for: 'boar' is not a part; did you mean 'bore'?"),
        ('"35 ft"', '"35 ft"\nsays = "not allowed"', "distance: of 'not allowed' is nothing"),
        ("read_on = 2026-01-31", "", "read_on: is missing"),
        ("distance", "distanse", "distanse: is not a key here; did you mean 'distance'?"),
    ],
)
def test_a_faulty_book_is_refused_with_the_mend(old: str, new: str, message: str) -> None:
    with pytest.raises(RuleError, match=message.replace("(", r"\(").replace("?", r"\?")):
        read_book(tomllib.loads(GOOD.replace(old, new)), "somewhere.toml")


def test_all_faults_of_a_book_come_together() -> None:
    twice = GOOD + GOOD.split("[[rule]]")[1].join(["[[rule]]", ""])
    text = twice.replace("Code 1.2(3)", "").replace("35 ft", "35 furlong")
    with pytest.raises(RuleError, match="used twice") as caught:
        read_book(tomllib.loads(text), "somewhere.toml")
    assert len(caught.value.faults) == 5


def test_an_own_rule_comes_before_common_practice_even_where_it_asks_less(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    own = '[[rules.own]]\nfrom = "potable well"\nfor = ["bore"]\ndistance = "30 ft"\nsource = "x"\n'
    site = read_site(write_site(lot_text + own))
    rules, well = rules_of(site), site.of_kind("potable well")[0]
    bore, trench = rules.deciding("bore", well), rules.deciding("trench", well)
    assert bore is not None
    assert trench is not None
    assert (bore.printed, bore.book) == ("30 ft", "this site")
    assert (trench.printed, trench.book) == ("50 ft", "common-practice")


def test_the_stricter_of_two_own_rules_holds(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    own = '[[rules.own]]\nfrom = "property line"\ndistance = "{} ft"\nsource = "x"\n'
    site = read_site(write_site(lot_text + own.format(12) + own.format(25)))
    rule = rules_of(site).deciding("bore", None)
    assert rule is not None
    assert rule.printed == "25 ft"


def test_a_rule_for_public_wells_leaves_private_ones_alone(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    own = (
        '[[rules.own]]\nfrom = "potable well"\nuse = "public"\ndistance = "400 ft"\nsource = "x"\n'
    )
    site = read_site(write_site(lot_text + own))
    rules, private = rules_of(site), site.of_kind("potable well")[0]
    public: Feature = dataclasses.replace(private, use="public")
    found = [rules.deciding("bore", well) for well in (private, public)]
    assert [rule.printed for rule in found if rule] == ["50 ft", "400 ft"]


def test_an_unknown_book_is_named_with_what_there_is(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    with pytest.raises(InputError, match="'qqqq' is not a book; siteplan rules lists all"):
        read_site(write_site(lot_text + '[rules]\nbooks = ["qqqq"]\n'))


@pytest.mark.parametrize(
    ("written", "place"), [("Vermont", "Vermont"), ("new-mexico", "New Mexico")]
)
def test_a_state_without_a_book_leads_to_what_was_found_for_it(
    lot_text: str, write_site: Callable[..., Path], written: str, place: str
) -> None:
    with pytest.raises(InputError, match=f'siteplan rules --for "{place}"'):
        read_site(write_site(lot_text + f'[rules]\nbooks = ["{written}"]\n'))
