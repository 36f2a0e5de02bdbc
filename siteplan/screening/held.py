"""The least that many lots hold: bores and trenches in straight rows, constructed."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.geometry.lines.rows import RowRule
from siteplan.screening.scan import (
    Edges,
    Floats,
    Integers,
    Shapes,
    Spans,
    apart,
    cut,
    edges_of,
    families,
)

DIRECTIONS: Final = 4
"""Directions of rows tried: along the two longest sides, and square to them."""
OFFSETS: Final = 2
"""Places of the first row tried for each."""
STAGGER: Final = math.sqrt(0.75)
"""Rows of bores that stand in the gaps of the row before lie nearer by this share."""
SLACK: Final = 1 + 1e-9


@dataclass(frozen=True, slots=True)
class Way:
    """One way to lay rows, tried on all lots alike.

    Parameters
    ----------
    direction
        Number of the direction.
    pitch_m
        From row to row [m].
    phase_m
        Where bores of even rows stand along them, for rows in each other's gaps; NaN: each row
        begins where its ground does [m].
    """

    direction: int
    pitch_m: float
    phase_m: float = math.nan


@dataclass(frozen=True, slots=True)
class Held:
    """What each lot holds, and how: enough to lay it out again.

    Parameters
    ----------
    amount
        Bores, or trench [m].
    way, family
        Number of the best way, and of its family of rows.
    angles
        Directions that were tried on each lot [rad].
    """

    amount: Floats
    way: Integers
    family: Integers
    angles: Floats


def no_rows(count: int) -> Held:
    """Nothing laid on so many lots."""
    none = np.zeros(count, dtype=np.int64)
    return Held(np.zeros(count), none, none.copy(), np.zeros((count, DIRECTIONS)))


def bore_ways(spacing_m: float, count: int = DIRECTIONS) -> tuple[Way, ...]:
    """Ways to lay bores so far apart: square to the row, or in the gaps of the row before.

    ``count``: how many directions are tried.
    """
    apart_m = spacing_m * SLACK
    return tuple(
        way
        for number in range(count)
        for way in (
            Way(number, apart_m),
            *(Way(number, apart_m * STAGGER, phase * apart_m) for phase in (0.0, 0.25)),
        )
        # a square field is the same along and across, but for the free place of each row
    )


def trench_ways(spacing_m: float, count: int = DIRECTIONS) -> tuple[Way, ...]:
    """Ways to lay trenches so far apart, in so many directions."""
    return tuple(Way(number, spacing_m * SLACK) for number in range(count))


def held_bores(areas: Shapes, spacing_m: float, angles: Floats, enough: float = math.inf) -> Held:
    """Number of bores that straight rows in the directions told hold on each area.

    ``enough``: an area that holds so many is not looked at further.
    """
    ways = bore_ways(spacing_m)
    return _best(
        areas, angles, ways, lambda spans, way: places_on(spans, way, spacing_m)[1], enough
    )


def held_trench(areas: Shapes, rows: RowRule, angles: Floats, enough: float = math.inf) -> Held:
    """Length of trench that straight rows in the directions told hold on each area [m].

    ``enough``: an area that holds so much is not looked at further.
    """
    ways = trench_ways(rows.spacing_m)
    return _best(areas, angles, ways, lambda spans, _: length_on(spans, rows), enough)


def length_on(spans: Spans, rows: RowRule) -> Floats:
    """Length of trench on each piece of a row [m]."""
    gap = rows.spacing_m * SLACK
    return _cut_length(apart(spans, gap).length, gap, rows)


def _best(
    areas: Shapes, angles: Floats, ways: tuple[Way, ...],
    worth: Callable[[Spans, Way], Floats], enough: float,
) -> Held:  # fmt: skip
    amount = np.zeros(len(areas))
    best_way, best_family = (np.zeros(len(areas), dtype=np.int64) for _ in range(2))
    for number, way, spans in _each_way(edges_of(areas), angles, ways, lambda: amount < enough):
        each = worth(spans, way)
        total = np.bincount(spans.family, weights=each, minlength=len(areas) * OFFSETS)
        by_family = total.reshape(len(areas), OFFSETS)
        family = by_family.argmax(axis=1)
        here = by_family[np.arange(len(areas)), family]
        better = here > amount + 1e-9
        amount[better] = here[better]
        best_way[better], best_family[better] = number, family[better]
    return Held(amount, best_way, best_family, angles)


def _each_way(
    edges: Edges, angles: Floats, ways: tuple[Way, ...],
    open_: Callable[[], NDArray[np.bool_]] | None = None,
) -> Iterator[tuple[int, Way, Spans]]:  # fmt: skip
    """Rows of each way on areas still open; ways that differ in their phase share the rows."""
    done: dict[tuple[int, float], Spans] = {}
    for number, way in enumerate(ways):
        key = (way.direction, way.pitch_m)
        if key not in done:
            edges, angle = edges if open_ is None else edges.of(open_()), angles[:, way.direction]
            offsets = families(edges, angle, way.pitch_m, OFFSETS)
            done = {key: cut(edges, angle, offsets, way.pitch_m)}
        yield number, way, done[key]


def places_on(spans: Spans, way: Way, spacing_m: float) -> tuple[Floats, Floats]:
    """First place of a bore on each piece of a row [m], and how many stand on it."""
    step = spacing_m * SLACK
    if math.isnan(way.phase_m):
        spans = apart(spans, step)
        count = np.floor(spans.length / step) + 1
        return spans.start, np.where(spans.length < 0, 0.0, count)
    phase = way.phase_m + (spans.row % 2) * (step / 2)
    first = np.ceil((spans.start - phase) / step)
    count = np.maximum(0.0, np.floor((spans.end - phase) / step) - first + 1)
    return first * step + phase, count


def _cut_length(length: Floats, gap: float, rows: RowRule) -> Floats:
    """Length of the trenches into which pieces of rows are cut [m]."""
    shortest, longest = rows.shortest_m, rows.longest_m
    if not math.isfinite(longest):
        return np.where(length >= shortest, length, 0.0)
    full = np.maximum(0.0, np.floor((length + gap) / (longest + gap)))
    rest = length - full * (longest + gap)
    return full * longest + np.where(rest >= shortest, rest, 0.0)


@dataclass(frozen=True, slots=True)
class Laid:
    """Elements laid out: ends of lines (of a bore twice its place), and their lots."""

    lines: NDArray[np.float64]
    owner: Integers

    @classmethod
    def joined(cls, found: list[tuple[Floats, Integers]]) -> Laid:
        """All of several, lot by lot."""
        lines = np.concatenate([np.zeros((0, 2, 2)), *(ends for ends, _ in found)])
        owner = np.concatenate([np.zeros(0, dtype=np.int64), *(lots for _, lots in found)])
        order = np.argsort(owner, kind="stable")
        return cls(lines[order], owner[order].astype(np.int64))


def lay_bores(areas: Shapes, held: Held, spacing_m: float) -> Laid:
    """Places of the bores that were counted."""
    found = []
    for way, angle, rows, owner in _chosen(areas, held, bore_ways(spacing_m)):
        lines, each = bores_on(rows, way, spacing_m, angle[owner])
        found.append((lines, owner[each]))
    return Laid.joined(found)


def lay_trenches(areas: Shapes, held: Held, rows: RowRule) -> Laid:
    """Lines of the trenches that were counted."""
    found = []
    for _, angle, chosen, owner in _chosen(areas, held, trench_ways(rows.spacing_m)):
        lines, each = trenches_on(chosen, rows, angle[owner])
        found.append((lines, owner[each]))
    return Laid.joined(found)


def bores_on(
    rows: PlacedRows, way: Way, spacing_m: float, angle: Floats
) -> tuple[Floats, Integers]:
    """Bores that stand on pieces of rows, and the piece of each.

    ``angle``: direction of each piece [rad].
    """
    first, count = places_on(rows.spans, way, spacing_m)
    each = np.repeat(np.arange(len(count)), count.astype(np.int64))
    nth = np.arange(len(each)) - np.searchsorted(each, each)
    along = first[each] + nth * (spacing_m * SLACK)
    places = back(along, rows.across[each], angle[each])
    return np.stack([places, places], axis=1), each


def trenches_on(placed: PlacedRows, rows: RowRule, angle: Floats) -> tuple[Floats, Integers]:
    """Trenches that lie on pieces of rows, and the piece of each.

    ``angle``: direction of each piece [rad].
    """
    gap, longest_m = rows.spacing_m * SLACK, rows.longest_m
    spread = apart(placed.spans, gap)
    most = np.ceil((np.maximum(spread.length, 0.0) + gap) / (longest_m + gap))
    each = np.repeat(np.arange(len(most)), np.maximum(most, 1).astype(np.int64))
    nth = np.arange(len(each)) - np.searchsorted(each, each)
    start = spread.start[each] + (nth * (longest_m + gap) if math.isfinite(longest_m) else 0.0)
    end = np.minimum(spread.end[each], start + longest_m)
    kept = end - start >= rows.shortest_m
    start, end, each = start[kept], end[kept], each[kept]
    across, turn = placed.across[each], angle[each]
    return np.stack([back(start, across, turn), back(end, across, turn)], axis=1), each


@dataclass(frozen=True, slots=True)
class PlacedRows:
    """Pieces of rows of the ways chosen, with where each row lies across [m]."""

    spans: Spans
    across: Floats


def _chosen(
    areas: Shapes, held: Held, ways: tuple[Way, ...]
) -> Iterator[tuple[Way, Floats, PlacedRows, Integers]]:
    """For each way the rows of the lots that do best with it."""
    edges, angles = edges_of(areas), held.angles
    for number, way, spans in _each_way(edges, angles, ways):
        lot = spans.family // OFFSETS
        mine = (held.way[lot] == number) & (held.family[lot] == spans.family % OFFSETS)
        mine &= held.amount[lot] > 0
        kept, owner = spans.where(mine), lot[mine]
        offsets = families(edges, angles[:, way.direction], way.pitch_m, OFFSETS)
        across = offsets[owner, held.family[owner]] + kept.row * way.pitch_m
        yield way, angles[:, way.direction], PlacedRows(kept, across), owner


def back(along: Floats, across: Floats, angle: Floats) -> Floats:
    """Places from along and across a direction [rad]."""
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.column_stack([along * cosine - across * sine, along * sine + across * cosine])
