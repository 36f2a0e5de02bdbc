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


def bore_ways(spacing_m: float) -> tuple[Way, ...]:
    """Ways to lay bores so far apart: square to the row, or in the gaps of the row before."""
    apart_m = spacing_m * SLACK
    return tuple(
        way
        for number in range(DIRECTIONS)
        for way in (
            Way(number, apart_m),
            *(Way(number, apart_m * STAGGER, phase * apart_m) for phase in (0.0, 0.25)),
        )
        # a square field is the same along and across, but for the free place of each row
    )


def trench_ways(spacing_m: float) -> tuple[Way, ...]:
    """Ways to lay trenches so far apart."""
    return tuple(Way(number, spacing_m * SLACK) for number in range(DIRECTIONS))


def held_bores(areas: Shapes, spacing_m: float, angles: Floats) -> Held:
    """Number of bores that straight rows in the directions told hold on each area."""
    ways = bore_ways(spacing_m)
    return _best(areas, angles, ways, lambda spans, way: _places(spans, way, spacing_m)[1])


def held_trench(areas: Shapes, rows: RowRule, angles: Floats) -> Held:
    """Length of trench that straight rows in the directions told hold on each area [m]."""
    gap = rows.spacing_m * SLACK

    def worth(spans: Spans, _: Way) -> Floats:
        return _cut_length(apart(spans, gap).length, gap, rows)

    return _best(areas, angles, trench_ways(rows.spacing_m), worth)


def _best(
    areas: Shapes, angles: Floats, ways: tuple[Way, ...], worth: Callable[[Spans, Way], Floats]
) -> Held:
    edges = edges_of(areas)
    amount = np.zeros(len(areas))
    best_way, best_family = (np.zeros(len(areas), dtype=np.int64) for _ in range(2))
    for number, way, spans in _each_way(edges, angles, ways):
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
    edges: Edges, angles: Floats, ways: tuple[Way, ...]
) -> Iterator[tuple[int, Way, Spans]]:
    """Rows of each way; ways that differ in their phase alone share the rows."""
    done: dict[tuple[int, float], Spans] = {}
    for number, way in enumerate(ways):
        key = (way.direction, way.pitch_m)
        if key not in done:
            angle = angles[:, way.direction]
            offsets = families(edges, angle, way.pitch_m, OFFSETS)
            done = {key: cut(edges, angle, offsets, way.pitch_m)}
        yield number, way, done[key]


def _places(spans: Spans, way: Way, spacing_m: float) -> tuple[Floats, Floats]:
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


def lay_bores(areas: Shapes, held: Held, spacing_m: float) -> Laid:
    """Places of the bores that were counted."""
    ways = bore_ways(spacing_m)
    found: list[tuple[Floats, Integers]] = []
    for way, angle, rows, owner in _chosen(areas, held, ways):
        first, count = _places(rows.spans, way, spacing_m)
        each = np.repeat(np.arange(len(count)), count.astype(np.int64))
        nth = np.arange(len(each)) - np.searchsorted(each, each)
        along = first[each] + nth * (spacing_m * SLACK)
        found.append((_back(along, rows.across[each], angle[owner[each]]), owner[each]))
    return _joined([(np.stack([xy, xy], axis=1), owner) for xy, owner in found])


def lay_trenches(areas: Shapes, held: Held, rows: RowRule) -> Laid:
    """Lines of the trenches that were counted."""
    found, gap, longest_m = [], rows.spacing_m * SLACK, rows.longest_m
    for _, angle, chosen, owner in _chosen(areas, held, trench_ways(rows.spacing_m)):
        spread = apart(chosen.spans, gap)
        most = np.ceil((np.maximum(spread.length, 0.0) + gap) / (longest_m + gap))
        each = np.repeat(np.arange(len(most)), np.maximum(most, 1).astype(np.int64))
        nth = np.arange(len(each)) - np.searchsorted(each, each)
        start = spread.start[each] + (nth * (longest_m + gap) if math.isfinite(longest_m) else 0.0)
        end = np.minimum(spread.end[each], start + longest_m)
        kept = end - start >= rows.shortest_m
        start, end, each = start[kept], end[kept], each[kept]
        across, turn = chosen.across[each], angle[owner[each]]
        ends = np.stack([_back(start, across, turn), _back(end, across, turn)], axis=1)
        found.append((ends, owner[each]))
    return _joined(found)


@dataclass(frozen=True, slots=True)
class _Rows:
    """Pieces of rows of the ways chosen, with where each row lies across [m]."""

    spans: Spans
    across: Floats


def _chosen(
    areas: Shapes, held: Held, ways: tuple[Way, ...]
) -> Iterator[tuple[Way, Floats, _Rows, Integers]]:
    """For each way the rows of the lots that do best with it."""
    edges, angles = edges_of(areas), held.angles
    for number, way, spans in _each_way(edges, angles, ways):
        lot = spans.family // OFFSETS
        mine = (held.way[lot] == number) & (held.family[lot] == spans.family % OFFSETS)
        mine &= held.amount[lot] > 0
        kept, owner = spans.where(mine), lot[mine]
        offsets = families(edges, angles[:, way.direction], way.pitch_m, OFFSETS)
        across = offsets[owner, held.family[owner]] + kept.row * way.pitch_m
        yield way, angles[:, way.direction], _Rows(kept, across), owner


def _back(along: Floats, across: Floats, angle: Floats) -> Floats:
    cosine, sine = np.cos(angle), np.sin(angle)
    return np.column_stack([along * cosine - across * sine, along * sine + across * cosine])


def _joined(found: list[tuple[Floats, Integers]]) -> Laid:
    lines = np.concatenate([ends for ends, _ in found]) if found else np.zeros((0, 2, 2))
    owner = np.concatenate([lots for _, lots in found]) if found else np.zeros(0, dtype=np.int64)
    order = np.argsort(owner, kind="stable")
    return Laid(lines[order], owner[order].astype(np.int64))
