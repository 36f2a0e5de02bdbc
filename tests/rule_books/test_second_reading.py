"""Books against the printed rows of the second reading, each way."""

from __future__ import annotations

import tomllib
from collections import Counter
from typing import Any

import pytest
import second_reading
from second_reading import BOUNDS, DUTIES, ROWS, STAGES, Key

from siteplan.rule_books.loader import load_book
from siteplan.rule_books.model import Bound, Rule
from siteplan.rule_books.standing import Standing
from siteplan.rule_books.when import Range

PASCALS = 0.45359237 * 9.80665 / 0.0254**2
"""A pound-force per square inch: the pound [kg] at standard gravity on a square inch [Pa]."""


def plain(source: str) -> str:
    """Source without the comma between document and section."""
    return source.replace(", ", " ")


def stands(standing: Standing) -> Key:
    return standing.status, standing.read, str(standing.superseded_on)


def ring(within: Range | None) -> str:
    """A ring by its nearer edge in feet, the only kind that is printed."""
    return "" if within is None else f"over {within.low / 0.3048:,.0f} ft"


def shipped(rule: Rule) -> Key:
    return (
        rule.subject, tuple(sorted(rule.parts)), rule.says, rule.printed,
        round(rule.distance_m, 9), plain(rule.source), rule.measure, rule.when.words,
        rule.unless_outside, ring(rule.within),
        -1.0 if rule.variance_m is None else round(rule.variance_m, 9), *stands(rule.standing),
    )  # fmt: skip


@pytest.mark.parametrize("book", ROWS)
def test_a_book_says_what_is_printed_and_nothing_else(book: str) -> None:
    wanted, found = (
        Counter(second_reading.rules(book)),
        Counter(map(shipped, load_book(book).rules)),
    )
    assert found - wanted == Counter(), "shipped without a printed row"
    assert wanted - found == Counter(), "printed and not shipped"


def wanted_bound(book: str, row: dict[str, Any]) -> Key:
    says = next((key for key in ("only", "none_of", "approval_unless") if key in row), "only")
    least = (
        row.get("psi", 0) * PASCALS + row.get("inches", 0) * 0.0254
        + row.get("metres", 0) + row.get("ties", 0) + row.get("times", 0)
    )  # fmt: skip
    return (
        row["of"], second_reading.parts(row), row["s"], says.replace("_", " "),
        tuple(row.get(says, ())), row.get("full_depth", False), tuple(row.get("scales", ())),
        f"{least:.6g}", float(row.get("operating", 0)), float(row.get("minutes", 0)),
        row.get("ratio"), row.get("percent"), row.get("solids_percent"),
        (row.get("low", 0), row.get("high")) if "high" in row else None,
        (row["coldest"], row["warmest"]) if "coldest" in row else None,
        row.get("when", ""), row.get("allowed", False),
        *map(str, second_reading.standing(book, row)),
    )  # fmt: skip


def found_bound(bound: Bound) -> Key:
    def percent(share: float | None) -> float | None:
        return None if share is None else round(100 * share, 9)

    ranges = [
        None if ends is None else (round(ends.low, 9), round(ends.high, 9))
        for ends in (bound.ratios, bound.temperatures)
    ]
    return (
        bound.of, tuple(sorted(bound.parts)), plain(bound.source), bound.says,
        tuple(sorted(bound.names)), bound.full_depth, bound.scales, f"{bound.least or 0:.6g}",
        bound.operating, bound.minutes, bound.dimension_ratio, percent(bound.share),
        percent(bound.solids), *ranges, bound.when.words, bound.allowed,
        *stands(bound.standing),
    )  # fmt: skip


@pytest.mark.parametrize("book", BOUNDS)
def test_a_book_binds_what_is_printed_and_nothing_else(book: str) -> None:
    wanted = [wanted_bound(book, row) for row in BOUNDS[book]]
    assert sorted(map(found_bound, load_book(book).bounds), key=str) == sorted(wanted, key=str)


@pytest.mark.parametrize("book", DUTIES)
def test_a_book_has_done_what_is_printed_and_nothing_else(book: str) -> None:
    duties = {(duty.of, plain(duty.source), duty.id): duty for duty in load_book(book).duties}
    found = [
        (
            duty.of, duty.stage, tuple(sorted(duty.parts)), duty.due, plain(duty.source),
            duty.when.words, *stands(duty.standing),
        )
        for duty in duties.values()
    ]  # fmt: skip
    wanted = [
        (
            row["of"], STAGES[row["stage"]], second_reading.parts(row), row.get("due", ""),
            row["s"], row.get("when", ""), *map(str, second_reading.standing(book, row)),
        )
        for row in DUTIES[book]
    ]  # fmt: skip
    assert sorted(found) == sorted(wanted)
    told = " ".join(duty.printed for duty in duties.values())
    for figure in (figure for row in DUTIES[book] for figure in row.get("figures", ())):
        assert figure in told


@pytest.mark.parametrize("book", list(DUTIES))
def test_every_duty_of_a_book_has_a_printed_row(book: str) -> None:
    assert len(load_book(book).duties) == len(DUTIES[book])


def test_the_page_of_rows_is_read_whole() -> None:
    text = (second_reading.REFERENCES / "siting-rows-2.toml").read_text(encoding="utf-8")
    assert set(tomllib.loads(text)) == {"books", "rows", "shown", "bound", "duty"}
