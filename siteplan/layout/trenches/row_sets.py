"""Rows that trenches may take in a few directions, and how far a pipe runs to any place on them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.lines.sweep import chords_at, rings_of, swept
from siteplan.layout.trenches.pipe_field import PipeField
from siteplan.preferences.table import count_of, figure_of

Values = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]

HAIR_M: Final = 1e-6
"""So far inside the ground a row along its edge lies [m]."""
OFFSETS: Final = count_of("layout.trenches.row_sets.offsets")
SAMPLE_M: Final = figure_of("layout.trenches.row_sets.sample_m")
OVERLAP: Final = figure_of("layout.trenches.row_sets.overlap")


@dataclass(frozen=True, slots=True)
class Chord:
    """A stretch of a row inside the area: where on it a header may come, and how far that is."""

    height: float
    start: float
    end: float
    places: Values
    ways: Values

    @property
    def length(self) -> float:
        """Length of the chord [m]."""
        return self.end - self.start


@dataclass(frozen=True, slots=True, eq=False)
class RowSets:
    """Chords of the rows of several directions and places, all in one: one set after the other.

    Parameters
    ----------
    direction_deg
        Direction of each chord, counter-clockwise from the x axis [deg].
    of_set
        Number of the set that each belongs to: of rows in one direction, at one place.
    row
        Number of the row of each; neighbouring rows have numbers that differ by one.
    height, start, end
        Where each lies in the frame of its direction [m].
    places, ways
        Places on all chords where a header may come, and the pipe to each [m].
    first
        Where the places of each chord begin; and, last, where they end.
    nearest
        Least pipe to any place of each chord [m].
    pairs
        Chords of neighbouring rows that lie beside one another, the lower row first: shape (m, 2).
    """

    direction_deg: Values
    of_set: Numbers
    row: Numbers
    height: Values
    start: Values
    end: Values
    places: Values
    ways: Values
    first: Numbers
    nearest: Values
    pairs: Numbers

    @property
    def length(self) -> Values:
        """Length of each chord [m]."""
        return self.end - self.start

    def chord(self, number: int) -> Chord:
        """One chord with its places."""
        part = slice(self.first[number], self.first[number + 1])
        return Chord(
            float(self.height[number]),
            float(self.start[number]),
            float(self.end[number]),
            self.places[part],
            self.ways[part],
        )


def row_sets(
    area: BaseGeometry, rule: RowRule, directions_deg: Sequence[float], field: PipeField, *,
    about_m: float | None = None,
) -> RowSets:  # fmt: skip
    """Rows along each direction, at a few places each.

    ``about_m``: height of a row in the frame of its direction near which all of them lie [m]; None:
    all over the area.
    """
    return with_ways(row_chords(area, rule, directions_deg, about_m), field)


def with_ways(known: RowChords, field: PipeField) -> RowSets:
    """Chords of rows with the pipe to each."""
    chords, direction = known.chords, known.direction_deg
    # a trench needs not begin where its row does: the header is shorter at some places along it
    places, first = _places(chords.start, chords.end)
    owner = np.repeat(np.arange(len(direction)), np.diff(first))
    across, turn = chords.height[owner], np.radians(direction)[owner]
    x = places * np.cos(turn) - across * np.sin(turn)
    y = places * np.sin(turn) + across * np.cos(turn)
    # the way home is known for every place at once, so that no block is routed to be compared
    ways = field.at(np.stack([x, y], axis=1))
    return RowSets(
        direction,
        chords.of_set,
        chords.row,
        chords.height,
        chords.start,
        chords.end,
        places,
        ways,
        first,
        nearest=np.minimum.reduceat(ways, first[:-1]) if len(ways) else ways,
        pairs=known.pairs,
    )


def most_trenches(sets: RowSets, length_m: float, spacing_m: float) -> int:
    """How many trenches of one length the two best directions hold together.

    Each is counted on the whole ground, so that more are hardly ever found in blocks.
    """
    held = np.floor((sets.length + spacing_m) / (length_m + spacing_m) + 1e-9)
    in_set = np.bincount(sets.of_set, weights=held)
    best = [int(max(in_set[k : k + OFFSETS])) for k in range(0, len(in_set), OFFSETS)]
    return sum(sorted(best)[-2:])


@dataclass(frozen=True, slots=True, eq=False)
class RowChords:
    """Chords of rows, without the pipe to them: their directions, and which lie side by side."""

    chords: _Chords
    direction_deg: Values
    pairs: Numbers

    @property
    def length(self) -> Values:
        """Length of each chord [m]."""
        return self.chords.end - self.chords.start


def row_chords(
    area: BaseGeometry, rule: RowRule, directions_deg: Sequence[float],
    about_m: float | None = None,
) -> RowChords:  # fmt: skip
    """Chords of the rows of :func:`row_sets`; no pipe is led to them, which takes longest."""
    rings = rings_of(area)
    if not rings or not len(directions_deg):
        return RowChords(_NONE, np.zeros(0), _neighbours(_NONE))
    chords = _chords(rings, rule, directions_deg, about_m)
    direction = np.array(directions_deg, dtype=float)[chords.of_set // OFFSETS]
    return RowChords(chords, direction, _neighbours(chords))


def most_beside(sets: RowSets | RowChords, length_m: float) -> int:
    """Most trenches of one length that a single block holds: neighbouring rows beside each other.

    Exact where each trench has a row of its own: every shorter run of such rows is a block as well.
    """
    kept = sets.length >= length_m - 1e-9
    lower, upper = sets.pairs[kept[sets.pairs].all(axis=1)].T
    most, ends = 0, kept
    while ends.any():
        most += 1
        further = np.zeros(len(kept), dtype=bool)
        further[upper[ends[lower]]] = True
        ends = further
    return most


@dataclass(frozen=True, slots=True)
class _Chords:
    """Chords in order of their rows."""

    of_set: Numbers
    row: Numbers
    height: Values
    start: Values
    end: Values


_NONE: Final = _Chords(*(np.zeros(0, dtype=np.intp),) * 2, *(np.zeros(0),) * 3)
"""No chords."""


def _chords(
    rings: Sequence[Values],
    rule: RowRule,
    directions_deg: Sequence[float],
    about_m: float | None,
) -> _Chords:
    """Chords of the rows of all directions at all places, in one sweep.

    Rows are numbered on from one direction to the next, with a gap of one between sets.
    """
    edges, bands = swept(rings, directions_deg)
    heights: list[Values] = []
    sets: list[Numbers] = []
    rows: list[Numbers] = []
    begin = 0
    for low, high in zip(bands.low - bands.lift, bands.high - bands.lift, strict=True):
        there, of_set, row = _heights(float(low), float(high), rule.spacing_m, about_m)
        sets.append(of_set + len(sets) * OFFSETS)
        rows.append(row + begin)
        heights.append(there)
        begin = int(rows[-1].max(initial=begin)) + 2
    lift = np.repeat(bands.lift, [len(part) for part in heights])
    height, of_set, row = np.concatenate(heights), np.concatenate(sets), np.concatenate(rows)
    chords = chords_at(edges, height + lift, above=True)
    # a shorter chord holds no trench of any length
    kept = np.flatnonzero(chords.length >= max(rule.shortest_m, 1e-6))
    line = chords.line[kept]
    order = np.lexsort((chords.start[kept], row[line]))
    kept, line = kept[order], line[order]
    return _Chords(of_set[line], row[line], height[line], chords.start[kept], chords.end[kept])


def _heights(
    low: float, high: float, spacing_m: float, about_m: float | None = None
) -> tuple[Values, Numbers, Numbers]:
    """Heights of rows in rising order, and the set and row of each; a gap of one between sets.

    Rows along the lowest edge, along the highest, and as many places between as there are, evenly
    about the middle: seen from the other side or in a mirror the same rows are tried. ``about_m``:
    height of a row about which all of them lie instead, as near as the next of those places.
    """
    # a row has ground above it: along the highest edge it lies by a hair inside
    high -= HAIR_M
    inner = max(OFFSETS - 2, 1)
    if about_m is None:
        spare = (high - low) % spacing_m
        middle = spare / 2 + spacing_m * (np.arange(inner) - inner // 2) / inner
        firsts = low + np.concatenate([[0.0, spare], middle[: OFFSETS - 2] % spacing_m])
    else:
        beside = np.linspace(-1.0, 1.0, OFFSETS + 2)[1:-1] * spacing_m / inner
        firsts = low + (about_m - low + beside) % spacing_m
    count = int((high - low) / spacing_m + 1e-9) + 1
    heights = firsts[:, None] + spacing_m * np.arange(count)[None]
    rows = np.arange(OFFSETS)[:, None] * (count + 2) + np.arange(count)[None]
    sets = np.repeat(np.arange(OFFSETS, dtype=np.intp), count)
    order = np.argsort(heights.ravel(), kind="stable")
    order = order[heights.ravel()[order] <= high + 1e-9]
    return heights.ravel()[order], sets[order], rows.ravel()[order]


def _places(start: Values, end: Values) -> tuple[Values, Numbers]:
    """Places on chords at whole steps of their direction, and their ends [m]; where each begins."""
    whole = np.ceil(start / SAMPLE_M + 1e-6)
    between = np.maximum(np.floor(end / SAMPLE_M - 1e-6) - whole + 1, 0).astype(np.intp)
    first = np.concatenate([[0], np.cumsum(between + 2)])
    owner = np.repeat(np.arange(len(start)), between + 2)
    nth = np.arange(first[-1]) - first[owner]
    places = (whole[owner] + nth - 1) * SAMPLE_M
    places[first[:-1]] = start
    places[first[1:] - 1] = end
    return places, first


def _neighbours(chords: _Chords) -> Numbers:
    """Chords of neighbouring rows that lie beside one another: shape (m, 2)."""
    row, start, end = chords.row, chords.start, chords.end
    # rows rise: those of the next row stand together
    low = np.searchsorted(row, row + 1, side="left")
    count = np.searchsorted(row, row + 1, side="right") - low
    lower = np.repeat(np.arange(len(row)), count)
    upper = np.arange(len(lower)) - np.repeat(np.cumsum(count) - count - low, count)
    common = np.minimum(end[lower], end[upper]) - np.maximum(start[lower], start[upper])
    length = end - start
    beside = common > OVERLAP * np.minimum(length[lower], length[upper])
    return np.stack([lower[beside], upper[beside]], axis=1)
