"""Runs of neighbouring rows, and what every run that begins in some way takes at least.

For each chord it is known what the best run of so many rows that begins with it may be: found for
all chords at once, from short runs to long ones. So only runs that may be the next best are built.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from siteplan.geometry.lines.rows import RowRule
from siteplan.layout.trenches.row_sets import RowSets

Values = npt.NDArray[np.float64]
Numbers = npt.NDArray[np.intp]


@dataclass(frozen=True, slots=True, eq=False)
class Runs:
    """Runs of one number of rows that may carry a target.

    Parameters
    ----------
    number
        How many rows each has.
    chord
        Number in the sets of each chord that may be in one; what follows is numbered like these.
    nearest
        Least pipe to each chord [m].
    held
        Trench that each may hold [m].
    upper, first
        Chords that may follow each chord, and where those of each begin.
    farthest
        Row k: for each chord the least that the farthest of the k + 1 chords of a run that begins
        with it is away [m]; infinite where there is no such run.
    most
        Likewise the most trench that such a run holds [m].
    across_m
        Header across all rows [m].
    target_m
        Trench that a run must hold [m].
    """

    number: int
    chord: Numbers
    nearest: Values
    held: Values
    upper: Numbers
    first: Numbers
    farthest: list[Values]
    most: list[Values]
    across_m: float
    target_m: float


def runs_of(
    sets: RowSets, chord: Numbers, number: int, rule: RowRule, target_m: float
) -> Begun | None:
    """Runs of so many of some chords, from the nearest on; None where none may hold the target."""
    place = np.full(len(sets.row), -1, dtype=np.intp)
    place[chord] = np.arange(len(chord))
    pairs = place[sets.pairs]
    lower, upper = pairs[(pairs >= 0).all(axis=1)].T
    nearest, held = sets.nearest[chord], np.minimum(sets.length[chord], rule.longest_m)
    farthest, most = [nearest], [held]
    # from row to row: how far the best run must go at least, and how much any run holds at most
    for _ in range(number - 1):
        beyond = np.full(len(chord), np.inf)
        np.minimum.at(beyond, lower, farthest[-1][upper])
        more = np.full(len(chord), -np.inf)
        np.maximum.at(more, lower, most[-1][upper])
        if not np.isfinite(beyond).any():
            return None
        farthest.append(np.maximum(nearest, beyond))
        most.append(held + more)
    first = np.searchsorted(lower, np.arange(len(chord) + 1))
    across = (number - 1) * rule.spacing_m
    runs = Runs(number, chord, nearest, held, upper, first, farthest, most, across, target_m - 1e-9)
    able = np.flatnonzero(np.isfinite(farthest[-1]) & (most[-1] >= runs.target_m))
    # the nearest run first: the search ends as soon as no other can be cheaper
    ranked = able[np.argsort(np.round(farthest[-1][able], 6), kind="stable")]
    return Begun(runs, ranked) if len(ranked) else None


@dataclass(frozen=True, slots=True, eq=False)
class Begun:
    """Chords with which runs may begin, those of the best runs first."""

    runs: Runs
    ranked: Numbers

    @property
    def at_least_m(self) -> float:
        """Header that no run which begins with one of them is below [m]."""
        return max(float(self.runs.farthest[-1][self.ranked[0]]), self.runs.across_m)

    def first(self) -> Grown:
        """The first of them as a run of one row, to be grown."""
        chord = int(self.ranked[0])
        nearest, held = float(self.runs.nearest[chord]), float(self.runs.held[chord])
        return Grown(self.runs, (chord,), self.at_least_m, nearest, held)

    def rest(self) -> Begun | None:
        """All but the first; None where there are no more."""
        return Begun(self.runs, self.ranked[1:]) if len(self.ranked) > 1 else None


@dataclass(frozen=True, slots=True, eq=False)
class Grown:
    """A run, or the beginning of one.

    Parameters
    ----------
    runs
        What it may grow into.
    chords
        Its chords, numbered as those of the runs.
    at_least_m
        Header that no run which this one grows into is below [m].
    nearest_m
        Least pipe to any of its chords [m].
    held_m
        Trench that its chords hold [m].
    """

    runs: Runs
    chords: tuple[int, ...]
    at_least_m: float
    nearest_m: float
    held_m: float

    @property
    def complete(self) -> bool:
        """Whether it has all its rows."""
        return len(self.chords) == self.runs.number

    def longer(self) -> Iterator[Grown]:
        """The same with one more row, wherever that may lead to a run that holds enough."""
        runs, last = self.runs, self.chords[-1]
        ahead = runs.number - len(self.chords) - 1
        for chord in runs.upper[runs.first[last] : runs.first[last + 1]].tolist():
            if self.held_m + runs.most[ahead][chord] < runs.target_m:
                continue
            grown = Grown(
                runs,
                (*self.chords, chord),
                max(self.at_least_m, float(runs.farthest[ahead][chord])),
                min(self.nearest_m, float(runs.nearest[chord])),
                self.held_m + float(runs.held[chord]),
            )
            yield grown.bounded() if grown.complete else grown

    def bounded(self) -> Grown:
        """The run with a sharper bound, where all its rows are known.

        A header leads to the nearest row and across all; a tree through three places is no
        shorter than half the way round them.
        """
        runs = self.runs
        both = float(runs.nearest[self.chords[0]] + runs.nearest[self.chords[-1]])
        least = max(self.nearest_m + runs.across_m, (both + runs.across_m) / 2)
        at_least = max(self.at_least_m, least)
        return Grown(runs, self.chords, at_least, self.nearest_m, self.held_m)
