"""Runs of neighbouring rows, beside all runs that there are."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest

from siteplan.layout.trenches.runs import Grown, runs_of

RULE = SimpleNamespace(spacing_m=3.0, longest_m=40.0)


def rows_by_chance(seed, rows=5, chords=3):
    """Chords of rows; every chord of a row may be followed by some of the next row."""
    chance = np.random.default_rng(seed)
    row = np.repeat(np.arange(rows), chords)
    links = [
        (first, second)
        for first in range(len(row))
        for second in range(len(row))
        if row[second] == row[first] + 1 and chance.random() < 0.6
    ]
    return SimpleNamespace(
        row=row,
        pairs=np.array(links, dtype=np.intp),
        nearest=chance.uniform(0, 30, len(row)),
        length=chance.uniform(10, 50, len(row)),
    )


def every_run(sets, number):
    """All runs of so many chords, by walking along the links."""
    runs = [(at,) for at in range(len(sets.row))]
    for _ in range(number - 1):
        runs = [(*run, int(b)) for run in runs for a, b in sets.pairs if a == run[-1]]
    return runs


def held(sets, run):
    return sum(min(sets.length[at], RULE.longest_m) for at in run)


def grown(begun):
    """All complete runs that a search would build."""
    found = []
    while begun is not None:
        waiting: list[Grown] = [begun.first()]
        while waiting:
            run = waiting.pop()
            if run.complete:
                found.append(run)
            else:
                waiting += run.longer()
        begun = begun.rest()
    return found


@pytest.mark.parametrize("number", [2, 3, 4])
@pytest.mark.parametrize("seed", range(6))
def test_every_run_that_holds_enough_is_found_and_no_other(seed, number):
    sets = rows_by_chance(seed)
    target = 30.0 * number
    begun = runs_of(sets, np.arange(len(sets.row)), number, RULE, target)
    wanted = {run for run in every_run(sets, number) if held(sets, run) >= target}
    found = grown(begun)
    assert {run.chords for run in found} == wanted
    for run in found:
        assert run.held_m == pytest.approx(held(sets, run.chords))
        assert run.nearest_m == min(sets.nearest[at] for at in run.chords)
        # pipe to the farthest chord; to the nearest and across all rows; half the way round
        near = [float(sets.nearest[at]) for at in run.chords]
        across = (number - 1) * RULE.spacing_m
        round_all = (near[0] + near[-1] + across) / 2
        assert run.at_least_m == pytest.approx(max(*near, min(near) + across, round_all))


@pytest.mark.parametrize("seed", range(6))
def test_no_run_is_below_what_its_first_chord_promises_and_the_best_begin_first(seed):
    sets = rows_by_chance(seed)
    begun = runs_of(sets, np.arange(len(sets.row)), 3, RULE, 60.0)
    promised = []
    while begun is not None:
        promised.append(begun.at_least_m)
        first = int(begun.ranked[0])
        own = [run for run in every_run(sets, 3) if run[0] == first]
        farthest = min(max(sets.nearest[at] for at in run) for run in own)
        assert begun.at_least_m == pytest.approx(max(farthest, 2 * RULE.spacing_m))
        begun = begun.rest()
    assert promised == sorted(promised)


def test_only_chords_asked_for_are_taken():
    sets = rows_by_chance(3)
    some = np.array([at for at in range(len(sets.row)) if at % 3 != 1])
    begun = runs_of(sets, some, 2, RULE, 0.0)
    chosen = {tuple(int(some[at]) for at in run.chords) for run in grown(begun)}
    assert chosen == {run for run in every_run(sets, 2) if set(run) <= set(some.tolist())}


def test_there_is_no_run_of_more_rows_than_there_are_nor_one_that_holds_too_little():
    sets = rows_by_chance(1)
    assert runs_of(sets, np.arange(len(sets.row)), 6, RULE, 0.0) is None
    assert runs_of(sets, np.arange(len(sets.row)), 3, RULE, 121.0) is None
