"""Blocks of trenches that are all as long: the cheapest of so many side by side on some rows.

All runs of rows of each number are known at once, with what a block on each costs at least; the
header is led along the ends of the best few alone.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from typing import Final

import numpy as np
import numpy.typing as npt

from siteplan.geometry.lines.rows import RowRule
from siteplan.layout.trenches.blocks import Block, Sided, joined_at_one_side, window
from siteplan.layout.trenches.row_sets import RowSets
from siteplan.preferences.table import count_of

Values = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]

STRUNG: Final = count_of("layout.trenches.equal_blocks.strung")
MOST_RUNS: Final = count_of("layout.trenches.equal_blocks.most_runs")


@dataclass(frozen=True, slots=True, eq=False)
class EqualRows:
    """Rows that hold a trench of one length each.

    Parameters
    ----------
    sets
        All rows.
    rule
        Spacing and lengths of the trenches.
    length_m
        Length of each trench [m].
    ways
        For each chord the least pipe to the trench on it, joined at its beginning and at its end:
        shape (2, chords); infinite where the chord is too short [m].
    runs
        Place k: runs of k + 1 neighbouring rows with a trench in each, as far as they were asked
        for: shape (runs, k + 1).
    """

    sets: RowSets
    rule: RowRule
    length_m: float
    ways: Values
    runs: list[Numbers] = field(default_factory=list)

    @classmethod
    def of(cls, sets: RowSets, rule: RowRule, length_m: float) -> EqualRows:
        """Rows for trenches of a length."""
        ways = np.stack([_least_ways(sets, length_m, at_end=at_end) for at_end in (False, True)])
        return cls(sets, rule, length_m, ways)

    @property
    def most(self) -> int:
        """Most trenches side by side."""
        number = 0
        while len(self.runs_of(number + 1)):
            number += 1
        return number

    def runs_of(self, number: int) -> Numbers:
        """Runs of so many rows: shape (runs, number)."""
        if not self.runs:
            self.runs.append(np.flatnonzero(np.isfinite(self.ways[0]))[:, None])
        while len(self.runs) < number:
            self.runs.append(self._longer(self.runs[-1]))
        return self.runs[number - 1]

    def _longer(self, runs: Numbers) -> Numbers:
        """Runs with one more row, wherever another one lies beside the last."""
        pairs = self.sets.pairs
        pairs = pairs[np.isfinite(self.ways[0][pairs]).all(axis=1)]
        begin = np.searchsorted(pairs[:, 0], runs[:, -1], side="left")
        count = np.searchsorted(pairs[:, 0], runs[:, -1], side="right") - begin
        which = np.repeat(np.arange(len(runs)), count)
        nth = np.arange(len(which)) - np.repeat(np.cumsum(count) - count, count)
        longer = np.column_stack([runs[which], pairs[begin[which] + nth, 1]])
        if len(longer) <= MOST_RUNS:
            return longer
        # rows in many pieces: those that the building is nearest to
        nearest = self.ways[:, longer].min(axis=(0, 2))
        return longer[np.sort(np.argsort(nearest, kind="stable")[:MOST_RUNS])]

    def cheapest(self, number: int, trench_cost_m: float, below_m: float) -> Block | None:
        """The cheapest block of so many trenches found, if it costs less than so much [m].

        Parameters
        ----------
        number
            Trenches of the block.
        trench_cost_m
            What it costs to set up for one more trench, as a length of digging [m].
        below_m
            What the block must cost less than [m].
        """
        runs = self.runs_of(number)
        bounds = self._least_headers(runs) + number * trench_cost_m
        order = np.argsort(np.round(bounds, 6), axis=None, kind="stable")
        best: Block | None = None
        for place in order[:STRUNG].tolist():
            side, run = divmod(place, len(runs))
            if bounds[side, run] >= below_m:
                break
            block = joined_at_one_side(
                self._sided(runs[run], at_end=bool(side)), self.rule, trench_cost_m
            )
            if block.cost_m < below_m:
                best, below_m = block, block.cost_m
        return best

    def least_header(self, number: int) -> float:
        """Header that no block of so many trenches is below [m]."""
        return float(self._least_headers(self.runs_of(number)).min())

    def _least_headers(self, runs: Numbers) -> Values:
        """Header that no block on each run is below, joined at one side and at the other [m].

        It leads to the farthest row; it leads to the nearest one and across all rows; and a tree
        through three places is no shorter than half the way round them.
        """
        ways = self.ways[:, runs]
        across = (runs.shape[1] - 1) * self.rule.spacing_m
        round_ends = (ways[..., 0] + ways[..., -1] + across) / 2
        least: Values = np.maximum(ways.max(axis=2), ways.min(axis=2) + across)
        return np.asarray(np.maximum(least, round_ends))

    def _sided(self, run: Sequence[int] | Numbers, *, at_end: bool) -> Sided:
        chords = tuple(self.sets.chord(int(number)) for number in run)
        windows = tuple(map(partial(window, length=self.length_m, at_end=at_end), chords))
        return Sided(chords, float(self.sets.direction_deg[int(run[0])]), windows, at_end)


def _least_ways(sets: RowSets, length_m: float, *, at_end: bool) -> Values:
    """Least pipe to a trench of a length on each chord, joined at one side [m]."""
    able = sets.length >= length_m - 1e-9
    low = sets.start + length_m if at_end else sets.start
    high = np.maximum(low, sets.end if at_end else sets.end - length_m)
    if not len(able):
        return np.zeros(0)
    owner = np.repeat(np.arange(len(able)), np.diff(sets.first))
    inside = (sets.places >= low[owner] - 1e-9) & (sets.places <= high[owner] + 1e-9)
    least = np.minimum.reduceat(np.where(inside, sets.ways, np.inf), sets.first[:-1])
    # the ends of the window lie between places
    for edge in (low, high):
        least = np.minimum(least, _way_at(sets, edge))
    return np.where(able, least, np.inf)


def _way_at(sets: RowSets, along: Values) -> Values:
    """Pipe to one place on each chord, between those known [m]."""
    # chords one behind the other on one line: a place never falls on another's
    apart = float(np.max(sets.end) - np.min(sets.start)) + 1.0
    shift = np.arange(len(along)) * apart - np.min(sets.start)
    owner = np.repeat(np.arange(len(along)), np.diff(sets.first))
    clipped = np.clip(along, sets.start, sets.end)
    return np.asarray(np.interp(clipped + shift, sets.places + shift[owner], sets.ways))
