"""The books of the package against the printed rows, each way."""

from __future__ import annotations

import math
import tomllib
from collections import Counter
from collections.abc import Iterator
from itertools import product
from typing import Any

import pytest
import second_reading
from places import REFERENCES, ROOT

from siteplan.rule_books.loader import book_ids, load_book
from siteplan.rule_books.model import COMMON_PRACTICE, Bound, Rule
from siteplan.rule_books.when import Condition
from siteplan.vocabulary.kinds import kinds

ROWS = tomllib.loads((REFERENCES / "siting-rows.toml").read_text(encoding="utf-8"))
SHOWN = ROWS.pop("shown")
BOUNDS = ROWS.pop("bound")
SECOND = set(second_reading.ROWS)
"""Books whose rows were all read again."""
PASCALS = 0.45359237 * 9.80665 / 0.0254**2
"""A pound-force per square inch: the pound [kg] at standard gravity on a square inch [Pa]."""
BOOKS = [book for book in book_ids() if book != COMMON_PRACTICE]
METRES = {"ft": 0.3048, "in": 0.0254, "m": 1.0}
# A US gallon is 231 cubic inches of 0.0254 m; a day has 86,400 s.
GALLON_M3 = 231 * 0.0254**3
SI = {"gpm": GALLON_M3 / 60, "gpd": GALLON_M3 / 86_400, "kV": 1000.0}

Key = tuple[Any, ...]


def metres(printed: str) -> float:
    """Distance of a printed one, by hand."""
    if not printed:
        return 0.0
    number, unit = printed.split()
    return float(number.replace(",", "")) * METRES[unit]


def plain(source: str) -> str:
    """Source without the comma between document and section."""
    return source.replace(", ", " ")


def expected(book: str) -> Iterator[Key]:
    """Rules that the printed rows of a book ask for."""
    for row in ROWS.get(book, []):
        printed = row.get("printed", "")
        for subject, use in product(row["from"], row.get("use", [""])):
            yield (
                subject,
                tuple(sorted(row["part"])),
                row.get("says", "at least"),
                printed,
                round(metres(printed), 9),
                row["source"],
                row.get("how", "nearest part"),
                use,
                bounds_of_row(row.get("class", [])),
            )


def bounds_of_row(row: list[Any]) -> Key:
    if not row:
        return ()
    quantity, _, unit = row[0].partition(" ")
    if unit == "unknown":
        return (quantity, unit)
    low, high, brackets = row[1:]
    factor = SI[unit]
    low_in, high_in = brackets[0] == "[", brackets[1] == "]" or high == math.inf
    return (quantity, f"{low * factor:.9g}", f"{high * factor:.9g}", low_in, high_in)


def shipped(rule: Rule) -> Key:
    return (
        rule.subject,
        tuple(sorted(rule.parts)),
        rule.says,
        rule.printed,
        round(rule.distance_m, 9),
        plain(rule.source),
        rule.measure,
        rule.when.use,
        bounds_of_condition(rule.when),
    )


def bounds_of_condition(when: Condition) -> Key:
    if when.voltage_unknown:
        return ("voltage", "unknown")
    for quantity in ("pump_rate", "daily_flow", "loop_flow", "voltage"):
        bounds = getattr(when, quantity)
        if bounds is not None:
            low, high = f"{bounds.low:.9g}", f"{bounds.high:.9g}"
            return (quantity, low, high, bounds.low_in, bounds.high_in)
    return ()


@pytest.mark.parametrize("book", [book for book in BOOKS if book not in SECOND])
def test_a_book_says_what_is_printed_and_nothing_else(book: str) -> None:
    wanted = Counter(expected(book))
    found = Counter(shipped(rule) for rule in load_book(book).rules)
    assert found - wanted == Counter(), "shipped without a printed row"
    assert wanted - found == Counter(), "printed and not shipped"


@pytest.mark.parametrize("book", BOOKS)
def test_a_book_asks_to_be_shown_what_its_authority_asks(book: str) -> None:
    wanted = SHOWN.get(book) or second_reading.SHOWN.get(book, {})
    found = {one.what: one.printed for one in load_book(book).shown}
    assert found == wanted
    lengths = {one.what: one.value for one in load_book(book).shown if one.what == "search radius"}
    assert all(
        value == pytest.approx(metres(wanted[what]), abs=1e-9) for what, value in lengths.items()
    )


def expected_bound(row: dict[str, Any]) -> Key:
    figures = dict(row.get("figures", {}))
    least = {"psi": PASCALS, "ties": 1.0}
    says = next((key for key in ("only", "approval_unless") if key in row), "only")
    return (
        row["of"],
        tuple(row.get("part", [])),
        row["source"],
        says.replace("_", " "),
        tuple(row.get(says, [])),
        row.get("full_depth", False),
        tuple(row.get("scales", [])),
        *(f"{figures.pop(key) * factor:.6g}" for key, factor in least.items() if key in figures),
        {key: float(value) for key, value in figures.items()},
    )


def shipped_bound(bound: Bound) -> Key:
    figures = {
        "operating": bound.operating,
        "minutes": bound.minutes,
        "dimension_ratio": bound.dimension_ratio,
        "low": bound.ratios and bound.ratios.low,
        "high": bound.ratios and bound.ratios.high,
    }
    return (
        bound.of,
        tuple(sorted(bound.parts)),
        plain(bound.source),
        bound.says,
        tuple(sorted(bound.names)),
        bound.full_depth,
        bound.scales,
        *(f"{least:.6g}" for least in (bound.least,) if least is not None),
        {key: value for key, value in figures.items() if value},
    )


@pytest.mark.parametrize("book", [one for one in book_ids() if one not in second_reading.BOUNDS])
def test_a_book_binds_what_is_printed_and_nothing_else(book: str) -> None:
    wanted = sorted(map(expected_bound, BOUNDS.get(book, [])), key=str)
    assert sorted(map(shipped_bound, load_book(book).bounds), key=str) == wanted


def test_every_printed_row_names_a_book() -> None:
    second = {*SECOND, *second_reading.SHOWN, *second_reading.BOUNDS, *second_reading.DUTIES}
    assert {*ROWS, *SHOWN, *BOUNDS, *second} == set(BOOKS)
    assert not {*ROWS} & SECOND


def test_common_practice_claims_no_source() -> None:
    assert {rule.source for rule in load_book(COMMON_PRACTICE).rules} == {
        "common practice, no source"
    }


@pytest.mark.parametrize("part", ["bore", "trench", "supply well", "return well"])
def test_no_kind_is_left_without_a_distance(part: str) -> None:
    spoken_of = {
        rule.subject
        for book in (COMMON_PRACTICE, "us-safety")
        for rule in load_book(book).rules
        if part in rule.parts
    }
    # a trench may lie in a flood plain: nothing asks otherwise
    free = {"floodplain"} if part == "trench" else set()
    assert set(kinds()) - spoken_of == free


def test_any_contamination_source_means_every_kind_that_counts_as_one() -> None:
    counted = {kind.name for kind in kinds().values() if kind.contamination}
    delaware = {r.subject for r in load_book("delaware").rules if r.source.endswith("5.1.1.2")}
    assert delaware == counted
    # Washington has rows of their own for septic tank, building sewer and drainfield
    washington = [r for r in load_book("washington").rules if "any other" in r.note]
    assert {r.subject for r in washington} == counted - {"septic tank", "drainfield"}
    mains = [r.when.use for r in washington if r.subject == "sewer line"]
    assert mains == ["main", "force main"]


@pytest.mark.parametrize("book", book_ids())
def test_a_use_that_a_book_names_can_be_stated(book: str) -> None:
    for rule in load_book(book).rules:
        if rule.when.use:
            assert rule.when.use in kinds()[rule.subject].uses, rule.id


@pytest.mark.parametrize("book", book_ids())
def test_a_book_asks_to_be_verified_and_says_when_it_was_read(book: str) -> None:
    shown = load_book(book)
    assert shown.caution == "Verify with the authority before use."
    assert shown.read_on.startswith("2026")
    assert shown.title
    assert shown.authority


def test_the_books_page_lists_every_book() -> None:
    page = (ROOT / "docs/rule-books.md").read_text(encoding="utf-8")
    for book in book_ids():
        assert f"| `{book}` |" in page, book
