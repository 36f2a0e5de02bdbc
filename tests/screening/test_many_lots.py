"""What is claimed of many lots, rebuilt and measured by code that shares nothing with the scan."""

from __future__ import annotations

import itertools
import math

import county_lots
import numpy as np
import pytest
import shapely
from campaign import several
from scipy.spatial.distance import pdist
from shapely import LineString

from siteplan.available.prepared import lot_of
from siteplan.checks.separations import separations
from siteplan.design.evaluate import try_system
from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.points.bound import packing_bound
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.model import Layout
from siteplan.screening.asked import Asked
from siteplan.screening.assumed import Known, with_granted
from siteplan.screening.bounds import most_bores, most_trench
from siteplan.screening.chunk import Chunk
from siteplan.screening.full import planned, site_of_lot
from siteplan.screening.held import Laid, held_bores, held_trench, lay_bores, lay_trenches
from siteplan.screening.judge import DOES_NOT, FITS, UNDECIDED, Judged, judged, wanted
from siteplan.screening.scan import directions
from siteplan.screening.terms import Terms, terms_of, trench_rows
from siteplan.site.model import System
from siteplan.vocabulary.kinds import kinds

KINDS = ("building", "potable well", "drainfield", "other keep-out")
ASKED = Asked({"exchanger": {"capacity": "3 ton"}})


def bare(shapes: list[shapely.Polygon]) -> Chunk:
    local = [shapely.transform(each, lambda xy: xy - np.floor(xy.min(axis=0))) for each in shapes]
    none = np.zeros(0, dtype=np.int64)
    return Chunk(
        np.array(local, dtype=object), np.zeros(0, dtype=object), none,
        np.zeros(0, dtype="<U24"), np.full(len(local), -1),
    )  # fmt: skip


@pytest.fixture(scope="module")
def terms() -> Terms:
    return terms_of(ASKED, KINDS)


@pytest.fixture(scope="module")
def chunk() -> Chunk:
    return with_granted(bare(county_lots.lots(60)), ASKED, Known())[0]


@pytest.fixture(scope="module")
def found(chunk: Chunk, terms: Terms) -> dict[System, Judged]:
    return judged(chunk, terms)


def test_every_bore_claimed_stands_where_the_checks_of_a_plan_let_it(
    chunk: Chunk, terms: Terms, found: dict[System, Judged]
) -> None:
    spacing, told = terms.exchanger.vertical.spacing_m, found["vertical"]
    laid = together(lay_bores(told.areas, told.held, spacing), told.hung)
    assert np.array_equal(np.bincount(laid.owner, minlength=len(chunk)), told.least)
    for lot in np.flatnonzero(told.least > 0):
        spots = laid.lines[laid.owner == lot][:, 0]
        assert len(spots) < 2 or pdist(spots).min() >= spacing - 1e-6
        bores = tuple(Bore(f"B{k}", x, y, 0.1524, 100.0) for k, (x, y) in enumerate(spots))
        assert not broken(chunk, lot, Layout("vertical", bores, None, spacing, 0.0))


def test_every_trench_claimed_lies_where_the_checks_of_a_plan_let_it(
    chunk: Chunk, terms: Terms, found: dict[System, Judged]
) -> None:
    options, told = terms.exchanger.horizontal, found["horizontal"]
    laid = together(lay_trenches(told.areas, told.held, trench_rows(terms)), told.hung)
    lengths = np.hypot(*(laid.lines[:, 1] - laid.lines[:, 0]).T)
    assert (lengths >= options.shortest_m - 1e-6).all()
    assert (lengths <= options.longest_m + 1e-6).all()
    held = np.bincount(laid.owner, weights=lengths, minlength=len(chunk))
    assert held == pytest.approx(told.least, abs=1e-6)
    for lot in np.flatnonzero(told.least > 0)[::3]:
        lines = [LineString(ends) for ends in laid.lines[laid.owner == lot]]
        apart = [one.distance(other) for one, other in itertools.combinations(lines, 2)]
        assert min(apart, default=99.0) >= options.spacing_m - 1e-6
        trenches = tuple(
            Trench(f"T{k}", line, options.width_m, options.depth_m, pipes=options.pipes)
            for k, line in enumerate(lines)
        )
        assert not broken(chunk, lot, Layout("horizontal", trenches, None, options.spacing_m, 0.0))


def together(on_areas: Laid, on_rows: Laid) -> Laid:
    return Laid.joined([(each.lines, each.owner) for each in (on_areas, on_rows)])


def broken(chunk: Chunk, lot: int, layout: Layout) -> list[str]:
    """Rules that a layout breaks, by the second opinion on the site as a plan reads it."""
    prepared = lot_of(site_of_lot(chunk, lot, ASKED))
    rows = separations(prepared.site, layout, prepared.rules)
    return [f"{row.rule.id} {row.provided_m}" for row in rows if row.rule.parts and not row.meets]


def test_what_lies_behind_the_house_is_not_added_to_what_lies_before_it() -> None:
    # a house of 12 by 10 m on a lot 14 m wide leaves 2 m on each side at most; a header keeps 1 m
    # from the wall and 5 ft from the line (common practice): from one entry it gets to one half
    asked = Asked({"exchanger": {"capacity": "12 ton"}}, granted=("house",))
    chunk, _ = with_granted(bare([shapely.box(0, 0, 14, 50)]), asked, Known())
    told = judged(chunk, terms_of(asked, KINDS))["vertical"]
    assert told.verdict[0] != FITS
    assert planned(chunk, 0, asked, "vertical")[0] is False
    half = shapely.box(3.27, 3.27, 14 - 3.27, 20 - 3.27)
    assert 0 < told.least[0] <= packing_bound(half, 6.2484)


def test_a_kind_of_trench_left_open_decides_nothing(chunk: Chunk) -> None:
    # soil and climate told, the kinds of trench are compared by a plan, each with its own length
    asked = Asked({
        "loads": {"heating": "36 MBH", "heating_hours": 2000},
        "ground": {
            "temperature": "52 F", "swing": "20 F", "coldest_day": "3 February",
            "soil": "heavy sand, 15 % water",
        },
        "fluid": {"mixture": "propylene glycol 25 %"},
    })  # fmt: skip
    terms = terms_of(asked, KINDS)
    need = terms.needs["vertical"]
    assert need is not None
    # bores in the densest block take more than bores far from one another, never less
    assert need.least_m < need.most_m < 2 * need.least_m
    told = judged(chunk, terms)["horizontal"]
    assert set(told.verdict.tolist()) == {UNDECIDED}


@pytest.mark.thorough
def test_trench_laid_out_needs_a_length_between_the_two_that_decide() -> None:
    # a thick fluid runs slowly: how slowly is known only once there are circuits
    asked = Asked({
        "loads": {"heating": "36 MBH", "heating_hours": 2000},
        "ground": {
            "temperature": "49 F", "swing": "20 F", "coldest_day": "3 February",
            "soil": "heavy clay, 15 % water",
        },
        "fluid": {"mixture": "propylene glycol 30 %"},
        "horizontal": {"kind": "four pipes"},
    }, granted=("house",))  # fmt: skip
    need = terms_of(asked, KINDS).needs["horizontal"]
    assert need is not None
    chunk, _ = with_granted(bare([shapely.box(0, 0, 80, 160)]), asked, Known())
    trial = try_system(lot_of(site_of_lot(chunk, 0, asked)), "horizontal")
    assert trial.required is not None
    assert need.least_m - 1e-6 <= trial.required.length_m <= need.most_m + 1e-6
    assert need.least_m < need.most_m


def test_where_a_street_is_drawn_a_machine_has_to_come_in() -> None:
    # a lot open to its street, and one behind a neck of 2 m, through which no rig of 8 ft comes
    neck = shapely.union_all([shapely.box(0, 25, 40, 75), shapely.box(19, 0, 21, 25)])
    street = shapely.LineString([(-20, -8), (60, -8)])
    asked = Asked({"exchanger": {"capacity": "2 ton"}}, granted=("house",))
    plain = bare([shapely.box(0, 0, 40, 75), neck])
    two = np.array([street, street], dtype=object)
    seen = Chunk(plain.outlines, two, np.arange(2), np.array(["street"] * 2), plain.houses)
    chunk, _ = with_granted(seen, asked, Known())
    found = judged(chunk, terms_of(asked, (*KINDS, "street")))
    for system, told in found.items():
        assert told.verdict.tolist() == [FITS, DOES_NOT]
        assert [planned(chunk, lot, asked, system)[0] for lot in (0, 1)] == [True, False]


def test_a_layer_of_any_kind_can_be_screened() -> None:
    # what a layer tells is a kind and a place: rules are asked of each kind as they would be of a
    # site file that says no more
    terms = terms_of(ASKED, tuple(kinds()))
    assert {"building", "potable well", "pond"} <= set(terms.parts["bore"].things_m)


def test_no_lot_holds_more_than_its_bound(found: dict[System, Judged]) -> None:
    for told in found.values():
        assert (told.least <= told.most).all()
        assert told.least.max() > 0


def test_the_bounds_of_many_areas_are_those_of_each() -> None:
    areas = np.array([*county_lots.lots(20), shapely.Polygon()], dtype=object)
    local = np.array([shapely.transform(a, lambda xy: xy - county_lots.CORNER) for a in areas])
    many = most_bores(local, 6.1)
    # the older function widens with finer arcs: the bound of coarser ones is never smaller, and
    # at 8 pieces a quarter greater by 1/cos(3 pi/64) - 1 = 1.1 % of the widening at the most
    for area, most in zip(local, many, strict=True):
        assert packing_bound(area, 6.1) <= most <= 1.02 * packing_bound(area, 6.1) + 1


@pytest.mark.parametrize(("width", "steps"), [(1.0, 20), (10.0, 8), (25.0, 8)])
def test_a_trench_back_and_forth_comes_near_the_bound(width: float, steps: int) -> None:
    # geometry: legs across, a spacing apart, joined at their ends by turns; the bound is more by
    # the round ends of the strip of ground that is the trench's own, pi s / 4, and the share by
    # which arcs are drawn outside the true ones
    apart = 3.2
    legs = [((0.0, k * apart), (width, k * apart))[:: (-1) ** k] for k in range(steps + 1)]
    laid = shapely.LineString([corner for leg in legs for corner in leg]).length
    assert laid == pytest.approx(width * steps + width + steps * apart)
    (bound,) = most_trench(np.array([shapely.box(0, 0, width, steps * apart)]), apart)
    assert laid + math.pi * apart / 4 <= bound <= laid + math.pi * apart / 4 + 0.02 * laid


def test_a_strip_holds_as_many_bores_and_as_much_trench_as_arithmetic_says() -> None:
    # 30.5 m long and 13 m wide, 6.1 m apart: floor(30.5/6.1) + 1 = 6 a row, floor(13/6.1) + 1 = 3
    # rows, or floor(13/5.283) + 1 = 3 rows in each other's gaps, of 6, 5 and 6
    strip = np.array([shapely.box(0, 0, 30.5 + 1e-3, 13.0)])
    angles = directions(strip, 4)
    assert held_bores(strip, 6.1, angles).amount.tolist() == [18]
    # trenches 3 m apart: floor(13/3) + 1 = 5 rows of 30.5 m, less what the longest of 20 m takes:
    # 20 m, a gap of 3 m, and a rest of 7.5 m, too short for 9 m: 5 x 20 = 100 m. Then rows square
    # to these hold more: floor(30.5/3) + 1 = 11 rows of 13 m
    free = held_trench(strip, RowRule(3.0, 9.0, np.inf), angles)
    assert free.amount == pytest.approx([5 * 30.501], abs=1e-3)
    cut = held_trench(strip, RowRule(3.0, 9.0, 20.0), angles)
    assert cut.amount == pytest.approx([11 * 13.0], abs=1e-3)
    assert most_trench(strip, 3.0)[0] >= 5 * 30.5


def test_what_is_screened_is_what_the_full_engines_say(
    chunk: Chunk, terms: Terms, found: dict[System, Judged]
) -> None:
    tried = 0
    for system, told in found.items():
        # of each verdict those nearest to what is needed, where a slip would show
        close = np.argsort(np.abs(told.least - wanted(terms, system)[1]), kind="stable")
        for verdict in (FITS, DOES_NOT):
            lots = [lot for lot in close if told.verdict[lot] == verdict and chunk.houses[lot] >= 0]
            for lot in lots[: several(1, 2)]:
                assert planned(chunk, lot, ASKED, system)[0] is (verdict == FITS), (system, lot)
                tried += 1
    assert tried >= several(4, 6)
