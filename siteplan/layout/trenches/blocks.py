"""Blocks: even parallel trenches side by side, all joined at one end by one short header.

A crew digs such a field fastest, and its circuits are even by construction. A block is a run of
neighbouring rows, one trench in each, of which the ends to be joined may slide along their rows.
How far they slide is found by dynamic programming over the rows, so that the header along them and
the way from the building are shortest together.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import partial
from heapq import heapify, heappop, heappush
from itertools import count, pairwise
from typing import Final, Union

import numpy as np
import numpy.typing as npt
from shapely import LineString

from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.lines.sweep import frame_of
from siteplan.layout.trenches.cutting import level
from siteplan.layout.trenches.row_sets import Chord, RowSets
from siteplan.layout.trenches.runs import Begun, Grown, runs_of
from siteplan.preferences.table import count_of, figure_of

Values = npt.NDArray[np.float64]

EVEN: Final = figure_of("layout.trenches.blocks.even")
MORE: Final = count_of("layout.trenches.blocks.more")
MOST_JOINED: Final = count_of("layout.trenches.blocks.most_joined")
SHIFT_COST: Final = figure_of("layout.trenches.blocks.shift_cost")


@dataclass(frozen=True, slots=True)
class Block:
    """Trenches of one block, each from the end that is joined, and what it costs.

    Parameters
    ----------
    lines
        Centre lines, row by row.
    direction_deg
        Direction of the rows, counter-clockwise from the x axis [deg].
    cost_m
        Header along the ends and to the building, and what each trench costs to set up [m].
    """

    lines: tuple[LineString, ...]
    direction_deg: float
    cost_m: float


@dataclass(frozen=True, slots=True)
class _Window:
    """Where on its row a trench of some length may be joined, and the way there [m]."""

    length: float
    places: Values
    ways: Values


@dataclass(frozen=True, slots=True)
class Sided:
    """A run of rows with a trench in each, all to be joined at one side."""

    chords: tuple[Chord, ...]
    direction_deg: float
    windows: tuple[_Window, ...]
    at_end: bool


_Waiting = Union[int, "Begun", "Grown", "Sided", Block]
"""What waits to be looked at more closely, or is found; a number stands for all runs of so many."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a block must carry.

    Parameters
    ----------
    target_m
        Total length of its trenches, which are nearly equally long [m].
    trench_cost_m
        What it costs to set up for one more trench, as a length of digging [m].
    multiple
        Their number is a multiple of this: 2 where a pipe of each trench comes home through
        another.
    below_m
        What a block must cost less than, as a length of digging [m].
    """

    target_m: float
    trench_cost_m: float
    multiple: int = 1
    below_m: float = math.inf

    def numbers(self, longest_m: Values) -> tuple[npt.NDArray[np.intp], npt.NDArray[np.intp]]:
        """Fewest and most trenches that are tried on rows of which the longest is so long [m]."""
        fewest = np.maximum(1, np.ceil(self.target_m / longest_m - 1e-9)).astype(np.intp)
        return fewest, fewest + MORE


def blocks(sets: RowSets, rule: RowRule, wanted: Wanted) -> Iterator[Block]:
    """Blocks that carry what is wanted, the cheapest first; none where no single one does.

    The search is best first: a run of rows is looked at more closely only while its bound says
    that it may be the next cheapest. Bounds are as exact as the ways of the field. Only where very
    many runs have been joined since the last block, the cheapest one found is given at once.
    """
    if not len(sets.row):
        return
    longest = np.zeros(int(sets.of_set[-1]) + 1)
    np.maximum.at(longest, sets.of_set, np.minimum(sets.length, rule.longest_m))
    # a set without a row asks for more trenches than there are
    fewest, most = wanted.numbers(np.maximum(longest, 1e-6)[sets.of_set])
    search = _Search(sets, rule, wanted, fewest, most)
    waiting: list[tuple[float, int, _Waiting]] = []
    order = count()

    def wait(cost: float, what: _Waiting) -> None:
        heappush(waiting, (round(cost, 6), next(order), what))

    for number in range(int(fewest.min()), int(most.max()) + 1):
        if number % wanted.multiple == 0:
            wait(search.least(number), number)
    joined = 0
    while waiting:
        cost, _, what = heappop(waiting)
        # bounds rise: nothing that waits costs less than this
        if cost >= wanted.below_m:
            return
        if isinstance(what, Block):
            joined = 0
            yield what
            continue
        for bound, closer in search.closer(what):
            wait(max(cost, bound), closer)
        joined += isinstance(what, Sided)
        if joined > MOST_JOINED:
            # on large ground hundreds of runs differ by less than anybody would see
            joined = _preferred(waiting, wanted.below_m)


def _preferred(waiting: list[tuple[float, int, _Waiting]], below_m: float) -> int:
    """Let the cheapest block found come next, if it is cheap enough, before all bounds; 0."""
    found = [
        entry for entry in waiting if isinstance(entry[2], Block) and entry[2].cost_m < below_m
    ]
    if found:
        best = min(found)
        waiting.remove(best)
        heapify(waiting)
        heappush(waiting, (-math.inf, best[1], best[2]))
    return 0


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """Rows, what a block of them must carry, and for each chord the fewest and most trenches."""

    sets: RowSets
    rule: RowRule
    wanted: Wanted
    fewest: npt.NDArray[np.intp]
    most: npt.NDArray[np.intp]

    def least(self, number: int) -> float:
        """What no block of so many trenches costs less than [m]."""
        return (number - 1) * self.rule.spacing_m + number * self.wanted.trench_cost_m

    def closer(self, what: int | Begun | Grown | Sided) -> Iterator[tuple[float, _Waiting]]:
        """What comes of looking more closely, with what it costs at least [m]."""
        each = self.wanted.trench_cost_m
        # each step looks a little closer, the cheapest first: what is too dear is never worked out
        if isinstance(what, Sided):
            block = joined_at_one_side(what, self.rule, each)
            yield block.cost_m, block
        elif isinstance(what, Grown) and what.complete:
            for sided in self._sides(what):
                least = _least_header(sided.windows, self.rule.spacing_m)
                yield least + each * len(sided.windows), sided
        elif isinstance(what, Grown):
            for grown in what.longer():
                yield grown.at_least_m + each * what.runs.number, grown
        else:
            begun = self._begun(what) if isinstance(what, int) else what
            if begun is None:
                return
            first = begun.first()
            yield first.at_least_m + each * begun.runs.number, first
            rest = begun.rest()
            if rest is not None:
                yield rest.at_least_m + each * begun.runs.number, rest

    def _begun(self, number: int) -> Begun | None:
        """All runs of so many rows that may carry what is wanted; None where there are none."""
        kept = self.sets.length >= EVEN * self.wanted.target_m / number - 1e-9
        kept &= (self.fewest <= number) & (number <= self.most)
        return runs_of(self.sets, np.flatnonzero(kept), number, self.rule, self.wanted.target_m)

    def _sides(self, grown: Grown) -> Iterator[Sided]:
        """A run with its trenches, joined at one side and at the other."""
        numbers = [int(grown.runs.chord[k]) for k in grown.chords]
        chords = tuple(self.sets.chord(number) for number in numbers)
        direction = float(self.sets.direction_deg[numbers[0]])
        lengths = _lengths(chords, self.rule, self.wanted)
        if lengths is not None:
            for at_end in (False, True):
                windows = tuple(map(partial(window, at_end=at_end), chords, lengths))
                yield Sided(chords, direction, windows, at_end)


def _lengths(run: Sequence[Chord], rule: RowRule, wanted: Wanted) -> tuple[float, ...] | None:
    """Lengths of the trenches of a run that carry the target; None where they are too uneven."""
    chords = [chord.length for chord in run]
    excess = sum(chords) - wanted.target_m
    if excess < -1e-9:
        return None
    even = level(chords, excess, 0.0)
    lengths = tuple(min(chord, even) for chord in chords)
    if even > rule.longest_m + 1e-9 or min(lengths) < EVEN * even - 1e-9:
        return None
    return lengths if min(lengths) >= rule.shortest_m - 1e-9 else None


def window(chord: Chord, length: float, *, at_end: bool) -> _Window:
    """Where on its row a trench of a length may be joined at one side."""
    low = chord.start + length if at_end else chord.start
    high = max(low, chord.end if at_end else chord.end - length)
    inside = (chord.places > low + 1e-9) & (chord.places < high - 1e-9)
    places = np.array([low, *chord.places[inside], high])
    return _Window(length, places, np.interp(places, chord.places, chord.ways))


def _least_header(windows: Sequence[_Window], spacing_m: float) -> float:
    """Length that no header is below which joins all windows to the building [m].

    It leads to the farthest row; it leads to the nearest one and across all rows; and a tree
    through three places is no shorter than half the way round them.
    """
    ways = [float(window.ways.min()) for window in windows]
    across = (len(windows) - 1) * spacing_m
    return max(*ways, min(ways) + across, (ways[0] + ways[-1] + across) / 2)


def joined_at_one_side(sided: Sided, rule: RowRule, trench_cost_m: float) -> Block:
    """The trenches of a run where the header along their ends and to the building is shortest."""
    windows = sided.windows
    steps = [_steps(*rows, rule.spacing_m) for rows in pairwise(windows)]
    forward, back = _strung(steps, len(windows[0].places))
    # from the other end the same steps are gone the other way
    backward, toward = _strung([step.T for step in reversed(steps)], len(windows[-1].places))
    # the header leaves for the building at one row; each row is tried, the rest is chained to it
    totals = [
        there + after + window.ways
        for there, after, window in zip(forward, backward[::-1], windows, strict=True)
    ]
    row = min(range(len(totals)), key=lambda k: round(float(totals[k].min()), 6))
    cost = float(totals[row].min())
    chosen = _chosen(row, int(np.argmin(totals[row])), back, toward[::-1])
    turn_back = frame_of(sided.direction_deg).T
    lines = []
    for chord, window, index in zip(sided.chords, windows, chosen, strict=True):
        begin = window.places[index]
        end = begin - window.length if sided.at_end else begin + window.length
        ends = np.array([[begin, chord.height], [end, chord.height]])
        lines.append(LineString(ends @ turn_back))
    return Block(tuple(lines), sided.direction_deg, cost + trench_cost_m * len(lines))


def _steps(earlier: _Window, later: _Window, spacing_m: float) -> Values:
    """What the step takes from each place of a row (column) to each of the next one (row) [m]."""
    shift = np.abs(later.places[:, None] - earlier.places)
    return np.sqrt(spacing_m * spacing_m + shift * shift) + SHIFT_COST * shift


def _strung(
    steps: Sequence[Values], places: int
) -> tuple[list[Values], list[npt.NDArray[np.intp]]]:
    """Least pipe along the ends of all rows up to each place, and the place before it."""
    lengths: list[Values] = [np.zeros(places)]
    before: list[npt.NDArray[np.intp]] = [np.zeros(places, dtype=np.intp)]
    for step in steps:
        there = step + lengths[-1]
        best = there.argmin(axis=1)
        before.append(best)
        lengths.append(there[np.arange(len(best)), best])
    return lengths, before


def _chosen(
    row: int,
    place: int,
    back: Sequence[npt.NDArray[np.intp]],
    toward: Sequence[npt.NDArray[np.intp]],
) -> list[int]:
    """Places of all rows on the cheapest header through one place of one row."""
    chosen = {row: place}
    for k in range(row, 0, -1):
        chosen[k - 1] = int(back[k][chosen[k]])
    for k in range(row, len(back) - 1):
        chosen[k + 1] = int(toward[k][chosen[k]])
    return [chosen[k] for k in range(len(back))]
