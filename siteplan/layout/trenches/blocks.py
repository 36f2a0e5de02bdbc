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
from heapq import heappop, heappush
from itertools import count, pairwise
from typing import Final, Union

import numpy as np
import numpy.typing as npt
from shapely import LineString

from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.lines.sweep import frame_of
from siteplan.layout.trenches.cutting import level
from siteplan.layout.trenches.row_sets import Chord, RowSets
from siteplan.preferences.table import count_of, figure_of

Values = npt.NDArray[np.float64]

OVERLAP: Final = figure_of("layout.trenches.blocks.overlap")
EVEN: Final = figure_of("layout.trenches.blocks.even")
MORE: Final = count_of("layout.trenches.blocks.more")
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
class _Run:
    """Chords of neighbouring rows, and what is known of every one of them together [m]."""

    chords: tuple[Chord, ...]
    direction_deg: float
    shortest: float
    nearest: float
    farthest: float


@dataclass(frozen=True, slots=True)
class _Sided:
    """A run with a trench in each row, all to be joined at one side."""

    run: _Run
    windows: tuple[_Window, ...]
    at_end: bool


_Waiting = Union["_Grown", "_Run", "_Sided", Block]
"""What waits to be looked at more closely, or is found."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a block must carry.

    Parameters
    ----------
    target_m
        Total length of its trenches [m].
    number
        How many trenches it has, all equally long; None: as many as make it cheapest, and nearly
        equally long.
    trench_cost_m
        What it costs to set up for one more trench, as a length of digging [m].
    multiple
        The number is a multiple of this: 2 where a pipe of each trench comes home through another.
    below_m
        What a block must cost less than, as a length of digging [m].
    """

    target_m: float
    number: int | None
    trench_cost_m: float
    multiple: int = 1
    below_m: float = math.inf

    @property
    def share(self) -> float:
        """Least length of a trench, in parts of an equal share."""
        return EVEN if self.number is None else 1.0

    def numbers(self, longest_m: float, rows: int) -> tuple[int, int]:
        """Fewest and most trenches that are tried."""
        fewest = max(1, math.ceil(self.target_m / longest_m - 1e-9))
        if self.number is None:
            return fewest, min(fewest + MORE, rows)
        return (self.number, self.number) if self.number >= fewest else (1, 0)


def blocks(sets: RowSets, rule: RowRule, wanted: Wanted) -> Iterator[Block]:
    """Blocks that carry what is wanted, the cheapest first; none where no single one does.

    The search is best first: a run of rows is looked at more closely only while its bound says
    that it may be the next cheapest. Bounds are as exact as the ways of the field.
    """
    waiting: list[tuple[float, int, _Waiting]] = []
    order = count()

    def wait(cost: float, what: _Waiting) -> None:
        heappush(waiting, (round(cost, 6), next(order), what))

    for direction, rows in sets:
        for grown in _begun(rows, direction, rule, wanted):
            wait(grown.at_least_m, grown)
    while waiting:
        cost, _, what = heappop(waiting)
        # bounds rise: nothing that waits costs less than this
        if cost >= wanted.below_m:
            return
        if isinstance(what, Block):
            yield what
            continue
        for bound, closer in _closer(what, rule, wanted):
            wait(max(cost, bound), closer)


def most_beside(sets: RowSets, length_m: float) -> int:
    """Most trenches of one length that a single block holds: neighbouring rows beside each other.

    Exact where each trench has a row of its own: every shorter run of such rows is a block as well.
    """
    most = 0
    for _, rows in sets:
        ends: dict[Chord, int] = {}
        for row in rows:
            kept = [chord for chord in row if chord.length >= length_m - 1e-9]
            ends = {
                chord: 1 + max((n for other, n in ends.items() if _beside(other, chord)), default=0)
                for chord in kept
            }
            most = max(most, *ends.values(), 0)
    return most


def _closer(
    what: _Grown | _Run | _Sided, rule: RowRule, wanted: Wanted
) -> Iterator[tuple[float, _Waiting]]:
    """What comes of looking more closely, with what it costs at least [m]."""
    each = wanted.trench_cost_m
    if isinstance(what, _Sided):
        block = _joined(what, rule, each)
        yield block.cost_m, block
    elif isinstance(what, _Run):
        for sided in _sides(what, rule, wanted):
            yield _least_header(sided.windows, rule.spacing_m) + each * len(sided.windows), sided
    else:
        if what.enough:
            yield _bound(what.run, rule.spacing_m) + each * len(what.run.chords), what.run
        for grown in what.longer():
            yield grown.at_least_m + each * grown.growth.fewest, grown


@dataclass(frozen=True, slots=True, eq=False)
class _Growth:
    """How runs of one set of rows grow: by what rows, to how many, and how long those must be."""

    fewest: int
    most: int
    multiple: int
    share_m: float
    following: dict[Chord, tuple[Chord, ...]]
    spacing_m: float


@dataclass(frozen=True, slots=True, eq=False)
class _Grown:
    """A run that may grow further."""

    run: _Run
    growth: _Growth

    @property
    def at_least_m(self) -> float:
        """Header that no run which this one grows into is below [m]."""
        return max(self.run.farthest, (self.growth.fewest - 1) * self.growth.spacing_m)

    @property
    def enough(self) -> bool:
        """Whether it may carry what is wanted as it stands."""
        number = len(self.run.chords)
        even = self.run.shortest >= self.growth.share_m / number - 1e-9
        return even and number >= self.growth.fewest and number % self.growth.multiple == 0

    def longer(self) -> Iterator[_Grown]:
        """The same with one more row."""
        if len(self.run.chords) < self.growth.most:
            for chord in self.growth.following[self.run.chords[-1]]:
                yield _Grown(_with(self.run, chord), self.growth)


def _begun(
    rows: list[list[Chord]], direction_deg: float, rule: RowRule, wanted: Wanted
) -> Iterator[_Grown]:
    """Runs of one row from which blocks may grow."""
    longest = max((chord.length for row in rows for chord in row), default=0.0)
    longest = min(longest, rule.longest_m)
    if longest <= 0:
        return
    fewest, most = wanted.numbers(longest, len(rows))
    if most < fewest:
        return
    # a row too short for the greatest number of trenches is too short for any number
    share_m = wanted.share * wanted.target_m
    kept = [[chord for chord in row if chord.length >= share_m / most - 1e-9] for row in rows]
    following = {
        chord: tuple(other for other in beyond if _beside(chord, other))
        for row, beyond in zip(kept, [*kept[1:], []], strict=True)
        for chord in row
    }
    growth = _Growth(fewest, most, wanted.multiple, share_m, following, rule.spacing_m)
    for chord in following:
        alone = _Run((chord,), direction_deg, chord.length, chord.nearest, chord.nearest)
        yield _Grown(alone, growth)


def _with(run: _Run, chord: Chord) -> _Run:
    return _Run(
        (*run.chords, chord),
        run.direction_deg,
        min(run.shortest, chord.length),
        min(run.nearest, chord.nearest),
        max(run.farthest, chord.nearest),
    )


def _bound(run: _Run, spacing_m: float) -> float:
    """Length that no header is below which joins a trench in each row to the building [m]."""
    across = (len(run.chords) - 1) * spacing_m
    both = run.chords[0].nearest + run.chords[-1].nearest
    return max(run.farthest, run.nearest + across, (both + across) / 2)


def _sides(run: _Run, rule: RowRule, wanted: Wanted) -> Iterator[_Sided]:
    """A run with its trenches, joined at one side and at the other."""
    lengths = _lengths(run.chords, rule, wanted)
    if lengths is not None:
        for at_end in (False, True):
            windows = tuple(map(partial(_window, at_end=at_end), run.chords, lengths))
            yield _Sided(run, windows, at_end)


def _beside(first: Chord, second: Chord) -> bool:
    """Whether two chords of neighbouring rows lie beside one another."""
    common = min(first.end, second.end) - max(first.start, second.start)
    return common > OVERLAP * min(first.length, second.length)


def _lengths(run: Sequence[Chord], rule: RowRule, wanted: Wanted) -> tuple[float, ...] | None:
    """Lengths of the trenches of a run that carry the target; None where they are too uneven."""
    chords = [chord.length for chord in run]
    excess = sum(chords) - wanted.target_m
    if excess < -1e-9:
        return None
    even = level(chords, excess, 0.0)
    lengths = tuple(min(chord, even) for chord in chords)
    if even > rule.longest_m + 1e-9 or min(lengths) < wanted.share * even - 1e-9:
        return None
    return lengths if min(lengths) >= rule.shortest_m - 1e-9 else None


def _window(chord: Chord, length: float, *, at_end: bool) -> _Window:
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


def _joined(sided: _Sided, rule: RowRule, trench_cost_m: float) -> Block:
    """The trenches of a run where the header along their ends and to the building is shortest."""
    run, windows = sided.run, sided.windows
    forward, back = _strung(windows, rule.spacing_m)
    backward, toward = _strung(windows[::-1], rule.spacing_m)
    totals = [
        there + after + window.ways
        for there, after, window in zip(forward, backward[::-1], windows, strict=True)
    ]
    row = min(range(len(totals)), key=lambda k: round(float(totals[k].min()), 6))
    cost = float(totals[row].min())
    chosen = _chosen(row, int(np.argmin(totals[row])), back, toward[::-1])
    turn_back = frame_of(run.direction_deg).T
    lines = []
    for chord, window, index in zip(run.chords, windows, chosen, strict=True):
        begin = window.places[index]
        end = begin - window.length if sided.at_end else begin + window.length
        ends = np.array([[begin, chord.height], [end, chord.height]])
        lines.append(LineString(ends @ turn_back))
    return Block(tuple(lines), run.direction_deg, cost + trench_cost_m * len(lines))


def _strung(
    windows: Sequence[_Window], spacing_m: float
) -> tuple[list[Values], list[npt.NDArray[np.intp]]]:
    """Least pipe along the ends of all rows up to each place, and the place before it."""
    lengths: list[Values] = [np.zeros(len(windows[0].places))]
    before: list[npt.NDArray[np.intp]] = [np.zeros(len(windows[0].places), dtype=np.intp)]
    for earlier, window in pairwise(windows):
        shift = np.abs(window.places[:, None] - earlier.places[None])
        steps = np.hypot(spacing_m, shift) + SHIFT_COST * shift + lengths[-1][None]
        best = np.argmin(steps, axis=1)
        before.append(best)
        lengths.append(steps[np.arange(len(best)), best])
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
