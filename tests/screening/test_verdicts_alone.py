"""Verdicts by the cheapest proof first: the same as on all the ground, and each rebuilt."""

from __future__ import annotations

import county_lots
import numpy as np
import pytest
import shapely
from scipy.spatial.distance import pdist
from shapely import LineString
from shapely.affinity import translate

from siteplan.screening.asked import Asked
from siteplan.screening.assumed import Known, with_granted
from siteplan.screening.bounds import most_bores, most_trench, plain_most
from siteplan.screening.capsules import Rows, free_pieces, walls_of
from siteplan.screening.cascade import decided
from siteplan.screening.chunk import Chunk
from siteplan.screening.judge import DOES_NOT, FITS, UNDECIDED, Judged, judged, wanted
from siteplan.screening.terms import Terms, terms_of
from siteplan.site.model import System

KINDS = ("building", "potable well", "drainfield", "other keep-out")
ASKED = Asked({"exchanger": {"capacity": "3 ton"}})
PARTS = {"vertical": "bore", "horizontal": "trench"}


@pytest.fixture(scope="module")
def terms() -> Terms:
    return terms_of(ASKED, KINDS)


@pytest.fixture(scope="module")
def chunk() -> Chunk:
    """Lots, and the same half as large again, where more is decided early."""
    whole = county_lots.lots(60)
    large = [shapely.transform(each, lambda xy: xy * 1.5) for each in whole]
    local = [shapely.transform(each, lambda xy: xy - xy.min(axis=0)) for each in whole + large]
    none = np.zeros(0, dtype=np.int64)
    bare = Chunk(
        np.array(local, dtype=object), np.zeros(0, dtype=object), none,
        np.zeros(0, dtype="<U24"), np.full(len(local), -1),
    )  # fmt: skip
    return with_granted(bare, ASKED, Known())[0]


@pytest.fixture(scope="module")
def found(chunk: Chunk, terms: Terms) -> dict[System, Judged]:
    return decided(chunk, terms)


def test_verdicts_alone_are_those_of_all_the_ground_or_decide_what_it_leaves_open(
    chunk: Chunk, terms: Terms, found: dict[System, Judged]
) -> None:
    for system, whole in judged(chunk, terms).items():
        told = found[system].verdict
        assert set(told.tolist()) >= {FITS, DOES_NOT}
        assert (told == whole.verdict)[whole.verdict != UNDECIDED].all()


def test_all_that_hangs_on_a_straight_header_keeps_its_distances_and_is_enough(
    chunk: Chunk, terms: Terms, found: dict[System, Judged]
) -> None:
    for system, told in found.items():
        asked, enough = terms.parts[PARTS[system]], wanted(terms, system)[1]
        early = np.flatnonzero(~np.isnan(told.header_m) & np.isnan(told.usable_m2))
        assert len(early) > 20
        for lot in early:
            ends = told.hung.lines[told.hung.owner == lot]
            shapes = shapely.linestrings(ends) if system == "horizontal" else ends_of(ends)
            assert shapely.covers(chunk.outlines[lot], shapes).all()
            sides = chunk.outlines[lot].exterior
            assert shapely.distance(shapes, sides).min() >= asked.line_m
            for thing in np.flatnonzero(chunk.owner == lot):
                away = asked.things_m[str(chunk.kinds[thing])]
                assert shapely.distance(shapes, chunk.things[thing]).min() >= away
            held = len(ends) if system == "vertical" else shapely.length(shapes).sum()
            assert held >= enough - 1e-6
            assert held == pytest.approx(told.least[lot])


def ends_of(lines: np.ndarray) -> np.ndarray:
    """Bores, each with all of its distances to the others kept."""
    assert pdist(lines[:, 0]).min(initial=99.0) >= 6.2484 - 1e-6
    return shapely.points(lines[:, 0])


def test_a_header_runs_straight_from_the_house_to_every_row_that_hangs_on_it(
    chunk: Chunk, terms: Terms, found: dict[System, Judged]
) -> None:
    # rebuilt from what was laid: one line that meets every trench, keeps what a header keeps and
    # comes as near to the house as it may
    header, told = terms.parts["header"], found["horizontal"]
    for lot in np.flatnonzero(~np.isnan(told.header_m) & np.isnan(told.usable_m2)):
        lines = told.hung.lines[told.hung.owner == lot]
        ways = headers(chunk.things[chunk.houses[lot]], lines, header.things_m["building"])
        things = [k for k in np.flatnonzero(chunk.owner == lot) if k != chunk.houses[lot]]
        kept = [(chunk.things[k], header.things_m[str(chunk.kinds[k])]) for k in things]
        kept.append((chunk.outlines[lot].exterior, header.line_m))
        assert any(all(way.distance(shape) >= far for shape, far in kept) for way in ways), lot


def headers(house: shapely.Polygon, lines: np.ndarray, away: float) -> list[LineString]:
    """Lines past a house that meet all trenches: from one wall, or from the other."""
    along = (lines[0, 1] - lines[0, 0]) / np.hypot(*(lines[0, 1] - lines[0, 0]))
    across = np.array([-along[1], along[0]])
    corners = np.array(house.exterior.coords)
    found = []
    for side in (1.0, -1.0):
        far = np.argmax(side * corners @ along)
        at = corners[far] @ along + side * (away + 0.0501)
        # a row longer than the longest trench is cut: the rest of it lies behind on the same ground
        rows = np.round(lines[:, 0] @ across, 3)
        spans = [(lines[rows == row] @ along).ravel() for row in np.unique(rows)]
        if all(span.min() - 1e-3 <= at <= span.max() + 1e-3 for span in spans):
            places = [*(lines[:, 0] @ across), corners[far] @ across]
            ends = [at * along + place * across for place in (min(places), max(places))]
            found.append(LineString(ends))
    return found


@pytest.mark.parametrize("angle", [0.0, 0.3, 1.2, 2.5])
def test_free_pieces_of_rows_are_where_plain_distances_say(angle: float) -> None:
    lots = np.array(county_lots.lots(4), dtype=object)
    lots = np.array([shapely.transform(each, lambda xy: xy - xy.min(axis=0)) for each in lots])
    spots = shapely.point_on_surface(lots)
    house = shapely.box(-6, -5, 6, 5)
    houses = [translate(house, at.x, at.y) for at in spots]
    things = np.array([*houses, *(shapely.Point(at.x + 9, at.y + 7) for at in spots)])
    order = np.arange(8).reshape(2, 4).T.ravel()
    things, owner, away = things[order], np.repeat(np.arange(4), 2), np.tile([3.0, 5.0], 4)
    walls = walls_of(lots, np.arange(4), np.full(4, 2.5), sides=True).beside(
        walls_of(things, owner, away, sides=False)
    )
    turned = walls.turned(np.full(4, angle))
    low = np.array([turned.starts[turned.owner == lot, 1].min() for lot in range(4)])
    rows = Rows(low - 1.0, 1.7, np.full(4, 60))
    found = free_pieces(turned, rows)
    assert len(found.row) > 60
    ahead = np.array([np.cos(angle), np.sin(angle)])
    left = np.array([-ahead[1], ahead[0]])
    along = np.arange(-300.0, 300.0, 0.37)
    for lot in range(4):
        own = found.family == lot
        for row in range(0, 60, 4):
            places = along[:, None] * ahead + (rows.first[lot] + row * 1.7) * left
            points = shapely.points(places)
            free = shapely.contains(lots[lot], points)
            free &= shapely.distance(points, lots[lot].exterior) > 2.5
            for thing in np.flatnonzero(owner == lot):
                free &= shapely.distance(points, things[thing]) > away[thing]
            mine = own & (found.row == row)
            pairs = zip(found.start[mine], found.end[mine], strict=True)
            said = np.zeros(len(along), dtype=bool)
            for start, end in pairs:
                said |= (along > start) & (along < end)
            assert np.array_equal(said, free)


def test_no_lot_holds_more_than_its_size_alone_says() -> None:
    # the same ground bounded by its shape: never more than the bound by size, and of a square
    # nearly as much, as it has no corner but four
    lots = np.array([shapely.box(0, 0, 60, 60), *county_lots.lots(20)], dtype=object)
    lots = np.array([shapely.transform(each, lambda xy: xy - xy.min(axis=0)) for each in lots])
    for line_m in (0.5, 3.3):
        inner = shapely.buffer(lots, -line_m, quad_segs=64)
        bores = plain_most(lots, line_m, 6.1, upright=True)
        trench = plain_most(lots, line_m, 3.2, upright=False)
        assert (most_bores(inner, 6.1) <= 1.01 * bores + 1).all()
        assert (most_trench(inner, 3.2) <= 1.01 * trench).all()
