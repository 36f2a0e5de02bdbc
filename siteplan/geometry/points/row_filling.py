"""How many points the pieces of parallel rows hold, and where along the rows they stand."""

from __future__ import annotations

import math
from typing import Final

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from siteplan.geometry.points.scanline import WIDENING, Chords, Floats, Integers, order_within

TIE: Final = WIDENING / 50
"""How much later an end is swept, so that it never comes before a start at the same place [m]."""


def sweep(chords: Chords, families: int, *, period: float, shift: float) -> tuple[Integers, Floats]:
    """Most points of each family in one common phase along the rows, and that phase [m].

    A piece of length L holds floor(L / period) points, and one more in those phases that put a
    point into its remainder; the phase with most such pieces is found by sorting their ends.
    """
    whole = np.floor((chords.end - chords.start) / period)
    enter = np.mod(chords.start - np.mod(chords.row, 2) * shift, period)
    leave = enter + (chords.end - chords.start - whole * period)
    # a remainder that runs over the end of the period is open at its begin, where the running sum
    # starts from nothing: its point is counted in the base, and its end takes it off again
    wraps = leave >= period
    base = np.bincount(chords.family, whole + wraps, families).astype(np.int64)
    phase = np.concatenate([enter, np.where(wraps, leave - period, leave) + TIE])
    step = np.repeat(np.array([1, -1]), enter.size)
    family = np.concatenate([chords.family, chords.family])
    order = order_within(family, phase)
    # each family has as many ends as starts, so one running sum serves all
    depth = np.cumsum(step[order])
    return _deepest(depth, phase[order], family=family[order], base=base, period=period)


def _deepest(
    depth: Integers, phase: Floats, *, family: Integers, base: Integers, period: float
) -> tuple[Integers, Floats]:
    """Most points of each family: base plus greatest depth, and the middle of those phases."""
    counts, phases = base.copy(), np.zeros(base.size)
    if depth.size == 0:
        return counts, phases
    begin = np.flatnonzero(np.r_[True, family[1:] != family[:-1]])
    end = np.r_[begin[1:], depth.size]
    greatest = np.maximum.reduceat(depth, begin)
    present = family[begin]
    counts[present] += greatest
    hit = np.flatnonzero(depth == np.repeat(greatest, end - begin))
    _, first = np.unique(family[hit], return_index=True)
    at = hit[first]
    # the last stretch of a family goes on to its first end, one period later
    after = np.where(at + 1 < end, at + 1, begin)
    until = phase[after] + np.where(at + 1 < end, 0.0, period)
    # the middle of the stretch: as far as can be from where rounding would put a point outside
    phases[present] = (phase[at] + until) / 2
    return counts, phases


def filled_counts(chords: Chords, families: int, *, spacing: float) -> Integers:
    """Most points of each family when every row is filled on its own, from its start."""
    counts = np.zeros(families, dtype=np.int64)
    if chords.start.size == 0:
        return counts
    new = np.r_[
        True,
        (chords.family[1:] != chords.family[:-1]) | (chords.row[1:] != chords.row[:-1]),
    ]
    row = np.cumsum(new) - 1
    begin = np.flatnonzero(new)
    rank = np.arange(row.size) - begin[row]
    last = np.full(begin.size, -np.inf)
    for turn_ in range(int(rank.max()) + 1):
        piece = np.flatnonzero(rank == turn_)
        # as early as possible is best for a row on its own: it leaves most room to the pieces
        # after it
        start = np.maximum(chords.start[piece], last[row[piece]] + spacing)
        room = chords.end[piece] - start
        held = np.where(room >= 0, np.floor(room / spacing) + 1, 0)
        filled = held > 0
        last[row[piece][filled]] = start[filled] + (held[filled] - 1) * spacing
        counts += np.bincount(chords.family[piece], held, families).astype(np.int64)
    return counts


def independent_groups(chords: Chords, spacing: float) -> Integers:
    """Group number of each piece of staggered rows; groups may shift on their own.

    Two pieces are bound together when their points could come nearer than the spacing: in one row
    with a gap below the spacing, in neighbouring rows with a gap below half of it.
    """
    count = chords.row.size
    here = np.arange(count)
    step = int(chords.row.max(initial=0) - chords.row.min(initial=0)) + 2
    key = chords.family * step + (chords.row - chords.row.min(initial=0))
    # in neighbouring rows points stand half a spacing aside, so that half of it is enough between
    # pieces
    pairs = []
    for next_row, gap in ((0, spacing), (1, spacing / 2)):
        first = np.searchsorted(key, key + next_row, side="left")
        last = np.searchsorted(key, key + next_row, side="right")
        chord = np.repeat(here, last - first)
        shift = np.cumsum(last - first) - (last - first)
        other = np.arange(chord.size) - np.repeat(shift - first, last - first)
        apart = np.maximum(chords.start[chord], chords.start[other]) - np.minimum(
            chords.end[chord], chords.end[other]
        )
        pairs.append(np.stack([chord, other])[:, apart < gap])
    chord, other = np.hstack(pairs)
    graph = coo_array((np.ones(chord.size, dtype=np.int8), (chord, other)), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def on_grid(chords: Chords, phase: Floats, *, spacing: float) -> tuple[Floats, Integers]:
    """Positions ``phase + k * spacing`` inside each piece."""
    first = np.ceil((chords.start - phase) / spacing)
    last = np.floor((chords.end - phase) / spacing)
    held = np.maximum(last - first + 1, 0).astype(np.int64)
    piece = np.repeat(np.arange(held.size), held)
    number = np.arange(piece.size) - np.repeat(np.cumsum(held) - held, held)
    return phase[piece] + (first[piece] + number) * spacing, piece


def fill(chords: Chords, spacing: float) -> tuple[Floats, Integers]:
    """Positions of every row filled on its own, from its start."""
    along: list[float] = []
    piece: list[int] = []
    row, last = None, -math.inf
    for index, begin in enumerate(chords.start):
        if chords.row[index] != row:
            row, last = chords.row[index], -math.inf
        start = max(float(begin), last + spacing)
        held = math.floor((float(chords.end[index]) - start) / spacing) + 1
        if start <= chords.end[index] and held > 0:
            along += [start + number * spacing for number in range(held)]
            piece += [index] * held
            last = along[-1]
    return np.array(along), np.array(piece, dtype=np.int64)
