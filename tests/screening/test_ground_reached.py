"""What a header gets to from the house, and ground too small for few bores."""

from __future__ import annotations

import datetime
import math

import numpy as np
import pytest
import shapely

from siteplan.geometry.points.few import holds_none_of
from siteplan.screening.asked import Asked
from siteplan.screening.assumed import Known, with_granted
from siteplan.screening.cascade import decided
from siteplan.screening.chunk import Chunk
from siteplan.screening.entries import clear_walls, free_walls
from siteplan.screening.full import planned
from siteplan.screening.joined import ground_of
from siteplan.screening.judge import FITS, judged
from siteplan.screening.keeping import around
from siteplan.screening.room import most_room
from siteplan.screening.scan import directions
from siteplan.screening.spread import spread
from siteplan.screening.terms import Distances, Terms, terms_of
from siteplan.site.readers.site_file import site_from

KINDS = ("building", "potable well", "drainfield", "other keep-out")
ASKED = Asked({"exchanger": {"capacity": "3 ton"}}, granted=())
HOUSE = shapely.box(20, 20, 32, 30)


@pytest.fixture(scope="module")
def terms() -> Terms:
    return terms_of(ASKED, KINDS)


def lot(*things: tuple[shapely.Polygon, str]) -> Chunk:
    """A lot of 50 by 60 m with its house and what else is told."""
    shapes, kinds = [HOUSE, *(shape for shape, _ in things)], [
        "building", *(kind for _, kind in things)
    ]  # fmt: skip
    return Chunk(
        np.array([shapely.box(0, 0, 50, 60)], dtype=object), np.array(shapes, dtype=object),
        np.zeros(len(shapes), dtype=np.int64), np.array(kinds, dtype="<U24"), np.zeros(1, int),
    )  # fmt: skip


def test_no_header_leaves_a_house_whose_own_ground_is_land_of_others(terms: Terms) -> None:
    # a parcel with a hole where its house stands, as a cadastre has it that books a building's
    # ground by itself: the header would begin on land of others
    chunk = lot((HOUSE, "other keep-out"))
    assert not clear_walls(chunk, terms.parts["header"])[0]
    assert shapely.is_empty(free_walls(chunk, terms.parts["header"]))[0]
    for judge in (judged, decided):
        for system, told in judge(chunk, terms).items():
            assert told.verdict[0] != FITS
            fits, why = planned(chunk, 0, ASKED, system)
            assert fits is False
            assert " " in why  # a sentence, and no key of the catalogue


def test_a_header_leaves_by_the_walls_that_nothing_stands_at(terms: Terms) -> None:
    shed = shapely.box(32.5, 20, 38, 30)
    chunk, header = lot((shed, "building")), terms.parts["header"]
    assert not clear_walls(chunk, header)[0]
    walls = free_walls(chunk, header)[0]
    # a header keeps 1 m from either building: between them it has no way, elsewhere it has
    assert shapely.distance(walls, shed) >= 2.0
    assert walls.length > 12 + 10
    assert [told.verdict[0] for told in judged(chunk, terms).values()] == [FITS, FITS]


def test_rows_behind_a_bar_from_line_to_line_are_not_reached(terms: Terms) -> None:
    # the bar leaves no way round; what lies before it is all that is held
    bar = shapely.box(0, 36, 50, 37)
    open_, barred = lot(), lot((bar, "other keep-out"))
    for system in ("vertical", "horizontal"):
        laid = []
        for chunk in (open_, barred):
            near = around(chunk)
            ground = ground_of(near, terms.parts["header"], directions(chunk.outlines, 2))
            laid.append(spread(near, terms, system, ground))
        assert laid[0].lost[0] == 0 < laid[1].lost[0]
        lines = laid[1].rows.laid.lines
        assert len(lines) > 0
        assert lines[:, :, 1].max() < 36


def test_three_places_in_a_square_stand_no_farther_apart_than_is_known() -> None:
    # the largest triangle of equal sides in a unit square has sides of sqrt(6) - sqrt(2) = 1.035
    # (plane geometry: one corner in a corner of the square, turned by 15 degrees)
    known = math.sqrt(6) - math.sqrt(2)
    for side in (3.0, 4.0, 5.0):
        square = shapely.box(0, 0, side, side)
        for apart in np.arange(3.0, 7.0, 0.5):
            if holds_none_of(square, 3, float(apart)):
                assert apart > known * side
        # cells of half a metre see it with a margin of two of their diagonals
        assert holds_none_of(square, 3, known * side + 2 * math.sqrt(0.5))
    # four stand at the corners, two across
    assert not holds_none_of(shapely.box(0, 0, 5, 5), 4, 5.0)
    assert not holds_none_of(shapely.box(0, 0, 5, 5), 2, 5 * math.sqrt(2))
    assert holds_none_of(shapely.box(0, 0, 5, 5), 4, 5.0 + 2 * math.sqrt(0.5))


def test_places_in_several_pieces_of_ground_count_together() -> None:
    pieces = shapely.union_all([shapely.box(10 * k, 0, 10 * k + 0.2, 0.2) for k in range(4)])
    assert not holds_none_of(pieces, 4, 9.0)
    assert holds_none_of(pieces, 5, 9.0)


def test_pipes_enter_the_lots_own_house_though_a_larger_one_touches_the_line() -> None:
    site = site_from({
        "project": {"title": "t", "owner": "o", "date": datetime.date(2026, 3, 14), "units": "m"},
        "geometry": {"parcel": [[0, 0], [50, 0], [50, 60], [0, 60]]},
        "feature": [
            {"kind": "building", "id": "next", "area": [[50, 0], [90, 0], [90, 50], [50, 50]]},
            {"kind": "building", "id": "own", "area": [[20, 20], [32, 20], [32, 30], [20, 30]]},
        ],
        "exchanger": {"capacity": "3 ton", "entry": "any wall"},
    })  # fmt: skip
    assert site.entries
    assert all(HOUSE.distance(entry.point) < 1e-6 for entry in site.entries)


def test_what_is_assumed_leaves_the_walls_of_the_house_free(terms: Terms) -> None:
    bare = Chunk(
        np.array([shapely.box(0, 0, 60, 70)], dtype=object), np.zeros(0, dtype=object),
        np.zeros(0, dtype=np.int64), np.zeros(0, dtype="<U24"), np.full(1, -1),
    )  # fmt: skip
    chunk, told = with_granted(bare, Asked(ASKED.tables), Known())
    assert told == [["house", "septic field", "well"]]
    assert clear_walls(chunk, terms.parts["header"])[0]


@pytest.mark.parametrize("radius", [1.7, 3.2, 15.4, 30.6])
def test_no_ground_beyond_a_distance_is_taken_from_what_a_lot_may_hold(radius: float) -> None:
    # plain distances: what is taken around a thing never reaches farther than the rule asks, and
    # around a thing without bays hardly less
    random = np.random.default_rng(7)
    corners = random.uniform(20, 80, (12, 2))
    shapes = [
        shapely.Point(50, 50), shapely.box(40, 44, 52, 54), shapely.MultiPoint(corners).convex_hull,
        shapely.affinity.rotate(shapely.box(45, 45, 60, 54), 17.0),
        shapely.LineString([(30, 30), (70, 62)]),
        shapely.LineString(corners[:5]),
        shapely.box(30, 30, 60, 60).difference(shapely.box(44, 50, 46, 60)),
    ]  # fmt: skip
    none = Distances(0.0, {}, "", {"building": "own"}, {"building": radius})
    for number, shape in enumerate(shapes):
        chunk = Chunk(
            np.array([shapely.box(0, 0, 100, 100)], dtype=object), np.array([shape], dtype=object),
            np.zeros(1, np.int64), np.array(["building"]), np.full(1, -1),
        )  # fmt: skip
        room = most_room(chunk, none, np.ones(1, dtype=bool)).areas[0]
        hole = shapely.get_coordinates(shapely.box(0, 0, 100, 100).difference(room))
        inner = hole[(hole > 0.5).all(axis=1) & (hole < 99.5).all(axis=1)]
        away = shapely.distance(shape, shapely.points(inner))
        assert away.max() <= radius + 1e-6
        if number < 5:
            assert away.min() >= 0.995 * radius
