"""Rows that a machine surely gets to from the street, beside the search of poses of a plan."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from county_lots import lot_on_street

from siteplan.available.access import machine_ground
from siteplan.screening.asked import Asked
from siteplan.screening.chunk import Chunk
from siteplan.screening.driven import ways_in_on
from siteplan.screening.frontages import gates_of, sides_of
from siteplan.screening.full import site_of_lot
from siteplan.screening.joined import ground_of
from siteplan.screening.judge import FITS, judged
from siteplan.screening.keeping import around
from siteplan.screening.scan import directions
from siteplan.screening.spread import spread
from siteplan.screening.terms import Terms, terms_of

KINDS = ("building", "potable well", "drainfield", "other keep-out", "garden", "street")
ASKED = Asked({"exchanger": {"capacity": "3 ton"}}, granted=())
HOUSE = shapely.box(18, 22, 30, 32)
BENT = shapely.Polygon([
    (0, 0), *[(24 + 40 * np.sin(a), 40 - 40 * np.cos(a)) for a in np.linspace(0, 1.2, 13)],
    (64, 90), (0, 90),
])  # fmt: skip
"""A lot whose street bends along it in pieces of 4 m."""


@pytest.fixture(scope="module")
def terms() -> Terms:
    return terms_of(ASKED, KINDS)


def lot(outline: shapely.Polygon, *things: tuple[str, shapely.Geometry]) -> Chunk:
    """One lot with a house; a street runs along y = -6."""
    return lot_on_street(outline, HOUSE, *things)


def laid_on(chunk: Chunk, terms: Terms, system: str, *, driven: bool = True) -> np.ndarray:
    """Trenches or bores on rows, those that the machine gets to or all."""
    ground = ground_of(around(chunk), terms.parts["header"], directions(chunk.outlines, 2))
    laid = spread(around(chunk), terms, system, ground)
    if driven:
        laid = ways_in_on(chunk, terms).left_of(laid, system)
    lines = laid.rows.laid.lines
    if system == "vertical":
        assert len(lines) == laid.amount.sum()
        return np.asarray(shapely.points(lines[:, 0]))
    found = np.asarray(shapely.linestrings(lines))
    assert shapely.length(found).sum() == pytest.approx(laid.amount.sum(), abs=1e-3)
    return found


SHED = ("building", shapely.box(0.5, 36, 26, 38))
BACK = shapely.box(0, 40, 48, 90)


@pytest.mark.parametrize("system", ["vertical", "horizontal"])
@pytest.mark.parametrize(
    ("outline", "things"),
    [
        (shapely.box(0, 0, 48, 90), ()),
        (shapely.Polygon([(0, 0), (26, -1), (50, 1), (58, 60), (20, 88), (-8, 50)]), ()),
        (BENT, ()),
        (shapely.box(0, 0, 48, 90), (SHED, ("garden", shapely.box(31, 40, 47, 44)))),
        (shapely.box(0, 0, 48, 90), (("building", shapely.box(31, 22, 46, 30)),)),
    ],
    ids=["plain", "skew", "bend", "shed and garden", "neighbor"],
)
def test_a_search_of_poses_gets_to_all_that_rows_claim(
    system: str, outline: shapely.Polygon, things: tuple, terms: Terms
) -> None:
    chunk = lot(outline, *things)
    claimed = laid_on(chunk, terms, system)
    searched = machine_ground(site_of_lot(chunk, 0, ASKED), system)
    assert searched is not None
    assert len(claimed) > 0
    assert shapely.covers(searched.area.buffer(1e-4), claimed).all()


@pytest.mark.parametrize("system", ["vertical", "horizontal"])
def test_what_lies_behind_a_bar_is_left_out(system: str, terms: Terms) -> None:
    # a wall from line to line behind the house, 1 m wide: bores and trenches keep off it, and
    # there is ground for them behind it, but no way for a machine
    bar = ("building", shapely.box(0, 38, 48, 39))
    chunk = lot(shapely.box(0, 0, 48, 90), bar)
    # seen from the house a header has no way either: so the header is let past it
    open_ = lot(shapely.box(0, 0, 48, 90))
    ground = ground_of(around(open_), terms.parts["header"], directions(open_.outlines, 2))
    laid = spread(around(open_), terms, system, ground)
    left = ways_in_on(chunk, terms).left_of(laid, system)
    ends = left.rows.laid.lines[:, :, 1]
    assert laid.rows.laid.lines[:, :, 1].max() > 80
    # an excavator digs beyond it as far as its boom reaches, 10 ft, and half its length
    beyond = 0.0 if system == "vertical" else 0.3048 * 10 + 4.572 / 2
    assert ends.max() <= 38 + beyond
    assert left.lost[0] > 0


def test_sides_that_follow_a_bend_are_one_to_come_in_over() -> None:
    sides = sides_of(lot(BENT))
    short = sides.length < 4.5
    assert (sides.facing & short).sum() >= 3
    gates = gates_of(sides, 8.0)
    # the long side before the bend is left at its western end alone, its eastern goes on
    first = int(np.flatnonzero(np.abs(gates.sides.length - 24) < 0.5)[0])
    assert gates.low[first] == pytest.approx(8.0, abs=1e-6)
    assert gates.high[first] > 24 - 8.0 + 2
    # a square lot has no bend: 8 m are kept to both hands
    square = gates_of(sides_of(lot(shapely.box(0, 0, 40, 60))), 8.0)
    assert (square.low.tolist(), square.high.tolist()) == ([8.0], [32.0])


def test_a_lot_on_a_bend_fits_as_a_plan_says(terms: Terms) -> None:
    chunk = lot(BENT)
    for told in judged(chunk, terms).values():
        assert told.verdict.tolist() == [FITS]
