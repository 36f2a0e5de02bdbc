"""Trenches in many pieces give way to another loop type, unless somebody states the order."""

from __future__ import annotations

from dataclasses import replace

import pytest
from heated_lot import heated_lot
from shapely import LineString, Point
from wording import in_words

from siteplan.comparison.pieces import pieces_findings
from siteplan.design.choose import first_dug
from siteplan.design.evaluate import Trial
from siteplan.design.scattered import is_scattered, pieces_of
from siteplan.findings.model import reason
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.model import Header, Layout
from siteplan.report.verdict import verdict_head
from siteplan.site.model import Entry, Exchanger
from siteplan.site.readers.site_file import site_from

HEADER = Header((LineString([(0, 0), (60, 0)]),), Entry("E1", Point(0, 0)))


def trenches(*lines: LineString) -> Layout:
    made = tuple(Trench(f"T{n}", line, 0.6, 2, 1.5) for n, line in enumerate(lines, start=1))
    return Layout("horizontal", made, HEADER, 3.0, 500.0)


def row(x: float, y: float, length: float = 30.0) -> LineString:
    return LineString([(x, y), (x + length, y)])


BORES = Layout("vertical", (Bore("B1", 0.0, 50.0, 0.15, 100.0),), HEADER, 6.0, 500.0)
ONE_BLOCK = trenches(*(row(0, 3.0 * number) for number in range(6)))
FOUR = trenches(*(row(50.0 * number, 0) for number in range(4)))
BENT = trenches(row(0, 0), LineString([(0, 9), (30, 9), (30, 20)]))


def trial(layout: Layout) -> Trial:
    return Trial(layout.system, None, layout, (), (), (), reason("no-pond"), fits=True)


@pytest.fixture(scope="module")
def wanted() -> Exchanger:
    return site_from(heated_lot("sandy clay")).exchanger


@pytest.mark.parametrize(
    ("layout", "pieces", "scattered"),
    [(ONE_BLOCK, 1, False), (FOUR, 4, True), (BENT, 2, True), (BORES, 0, False)],
)
def test_blocks_of_trenches_are_counted_and_each_bent_one(
    layout: Layout, pieces: int, scattered: bool
) -> None:
    # one to three blocks of even trenches are what is dug: common practice, no source
    assert pieces_of(layout) == pieces
    assert is_scattered(layout) is scattered


@pytest.mark.parametrize(("field", "drawn"), [(ONE_BLOCK, "horizontal"), (FOUR, "vertical")])
def test_of_an_order_nobody_stated_a_field_in_many_pieces_is_not_the_first(
    wanted: Exchanger, field: Layout, drawn: str
) -> None:
    trials = [trial(field), trial(BORES)]
    first = first_dug(wanted, trials)
    assert first is not None
    assert first.system == drawn
    told = [in_words(each) for each in pieces_findings(wanted, trials, first, asked=None)]
    if drawn == "vertical":
        assert "fits too, in 4 pieces with 197 ft of header trench" in told[0]
        assert verdict_head(trials, first, asked=False)[1] == (
            "vertical (drawn), horizontal (in 4 pieces)"
        )
    else:
        assert told == []


def test_a_stated_order_holds_and_where_nothing_else_fits_pieces_are_drawn(
    wanted: Exchanger,
) -> None:
    trials, ordered = [trial(FOUR), trial(BORES)], replace(wanted, ordered=True)
    assert first_dug(ordered, trials) is trials[0]
    assert list(pieces_findings(ordered, trials, trials[0], asked=None)) == []
    assert first_dug(wanted, trials[:1]) is trials[0]
    assert first_dug(wanted, []) is None
