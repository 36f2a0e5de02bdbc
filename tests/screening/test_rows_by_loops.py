"""Loops for a compiler against the arrays: the same pieces and figures bit for bit."""

from __future__ import annotations

from collections.abc import Iterator

import county_lots
import numpy as np
import pytest
import shapely

from siteplan.geometry.ways import driving
from siteplan.geometry.ways import poses as searched
from siteplan.geometry.ways.driving import Reach, reach_of
from siteplan.geometry.ways.poses import Vehicle
from siteplan.screening import compiled, loops, waves
from siteplan.screening.asked import Asked
from siteplan.screening.assumed import Known, with_granted
from siteplan.screening.capsules import Rows, free_on
from siteplan.screening.cascade import decided
from siteplan.screening.chunk import Chunk
from siteplan.screening.judge import Judged, judged
from siteplan.screening.keeping import around, extent
from siteplan.screening.measured import measured
from siteplan.screening.terms import Terms, terms_of

ASKED = Asked({"exchanger": {"capacity": "3 ton"}})
KINDS = ("building", "potable well", "drainfield", "other keep-out")


def chunk_of(count: int) -> Chunk:
    local = [
        shapely.transform(each, lambda xy: xy - xy.min(axis=0)) for each in county_lots.lots(count)
    ]
    none = np.zeros(0, dtype=np.int64)
    bare = Chunk(
        np.array(local, dtype=object), np.zeros(0, dtype=object), none,
        np.zeros(0, dtype="<U24"), np.full(count, -1),
    )  # fmt: skip
    return with_granted(bare, ASKED, Known())[0]


@pytest.fixture(scope="module")
def terms() -> Terms:
    return terms_of(ASKED, KINDS)


@pytest.fixture
def plain_loops(monkeypatch: pytest.MonkeyPatch) -> None:
    """The loops as Python runs them, in place of what is compiled of them."""
    told = {name: getattr(loops, name) for name in ("free_rows", "held_by_rows", "left_by_step")}
    monkeypatch.setattr(compiled, "_ready", told)


@pytest.fixture
def compiled_loops(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    pytest.importorskip("numba")
    monkeypatch.setattr(compiled, "_ready", {})
    monkeypatch.setattr(searched, "_quick", [])
    kept = [
        (room, name, getattr(room, name))
        for room, names in compiled.PARTS.items()
        for name in names
    ]
    assert compiled.load()
    yield
    for room, name, loop in kept:
        setattr(room, name, loop)


def pieces(chunk: Chunk, terms: Terms) -> list[np.ndarray]:
    """Free pieces of rows in three directions on each lot, and what is open on it."""
    near = around(chunk)
    walls = near.off(terms.parts["trench"])
    found = []
    for turn in (0.0, 0.7, 2.1):
        angle = np.linspace(0.0, 3.0, len(chunk)) + turn
        low, high = extent(walls.where(walls.body == -1), angle)
        rows = Rows(low, 2.3, np.ceil((high - low) / 2.3).astype(np.int64))
        spans = free_on(walls, np.arange(len(chunk)), angle, rows)
        found += [spans.family, spans.row, spans.start, spans.end]
        open_ = measured(near, terms.parts["trench"], angle)
        found += [open_.usable_m2, open_.taken_m2]
    return found


def told(found: dict[str, Judged]) -> list[np.ndarray]:
    names = ("verdict", "why", "usable_m2", "least", "most", "dearest", "taken_m2", "header_m")
    each = [getattr(one, name) for one in found.values() for name in names]
    return each + [array for one in found.values() for array in (one.hung.lines, one.hung.owner)]


def same(one: list[np.ndarray], other: list[np.ndarray]) -> bool:
    return all(
        np.array_equal(first, second, equal_nan=first.dtype.kind == "f")
        for first, second in zip(one, other, strict=True)
    )


@pytest.fixture(scope="module")
def by_arrays(terms: Terms) -> list[np.ndarray]:
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(compiled, "_ready", {})
        return pieces(chunk_of(6), terms)


@pytest.mark.usefixtures("plain_loops")
def test_loops_say_what_arrays_say(terms: Terms, by_arrays: list[np.ndarray]) -> None:
    assert len(by_arrays[0]) > 60
    assert same(pieces(chunk_of(6), terms), by_arrays)


@pytest.mark.usefixtures("compiled_loops")
def test_verdicts_and_figures_are_the_same_compiled_and_not(
    terms: Terms, by_arrays: list[np.ndarray]
) -> None:
    assert same(pieces(chunk_of(6), terms), by_arrays)
    chunk = chunk_of(40)
    quick = [told(judge(chunk, terms)) for judge in (judged, decided)]
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(compiled, "_ready", {})
        plain = [told(judge(chunk, terms)) for judge in (judged, decided)]
    assert all(same(one, other) for one, other in zip(quick, plain, strict=True))


@pytest.mark.usefixtures("plain_loops")
def test_more_pieces_than_were_reckoned_with_are_all_kept() -> None:
    # a comb of 700 teeth: arrays of a fixed size would lose some pieces without a word
    teeth = 700
    comb = shapely.union_all(
        [
            shapely.box(0, 0, 2 * teeth, 1),
            *(shapely.box(2 * k, 0, 2 * k + 1, 10) for k in range(teeth)),
        ]
    )
    none = np.zeros(0, dtype=np.int64)
    chunk = Chunk(
        np.array([comb]), np.zeros(0, dtype=object), none, np.zeros(0, dtype="<U24"),
        np.array([-1]),
    )  # fmt: skip
    walls = around(chunk).off(terms_of(ASKED, ()).parts["header"])
    walls = type(walls)(
        walls.starts, walls.ends, walls.owner, np.full(len(walls.away), 0.1), walls.body,
        walls.thing,
    )  # fmt: skip
    rows = Rows(np.array([2.0]), 1.0, np.array([6]))
    found = free_on(walls, np.array([0]), np.array([0.0]), rows)
    # each row crosses each tooth in one piece of 1 m less 0.1 m on both sides
    assert len(found.row) == 6 * teeth
    assert found.length == pytest.approx(0.8)


YARD = shapely.Polygon([(0, 0), (40, 0), (46, 30), (38, 52), (4, 50), (-3, 20)])
STREET = shapely.box(-6, -12, 46, 0.01)


def poses() -> list[Reach]:
    """Where a rig and an excavator get to on a lot with a house and a narrow way past it."""
    house = shapely.affinity.rotate(shapely.box(5, 18, 31, 27), 7.0)
    free = shapely.union(YARD, STREET).difference(house)
    return [reach_of(free, STREET, Vehicle(2.4, 7.6, turning)) for turning in (7.6, 0.0)]


@pytest.mark.parametrize("by", ["plain", "compiled"])
def test_a_search_finds_the_same_poses_by_loops_and_by_arrays(
    by: str, request: pytest.FixtureRequest, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(searched, "_quick", [])
    by_arrays = poses()
    if by == "compiled":
        request.getfixturevalue("compiled_loops")
        assert searched._quick == [waves.next_poses]
    else:
        # a coarser raster: as Python runs them loops are slow
        monkeypatch.setattr(driving, "MOST_CELLS", 300)
        by_arrays = poses()
        searched.search_by(waves.next_poses)
    for one, other in zip(by_arrays, poses(), strict=True):
        assert len(one.poses) > 1000
        assert same([one.poses, one.before, one.cells], [other.poses, other.before, other.cells])
