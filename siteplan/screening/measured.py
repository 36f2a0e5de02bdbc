"""How much of many lots is open to a part, and which rule takes most, measured along rows.

These figures decide nothing: the lengths of the free pieces of rows some metres apart, by their
distance: within a hundredth of a lot's area of nineteen in twenty real lots.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely

from siteplan.screening import compiled
from siteplan.screening.capsules import Rows, Walls, gaps_of, in_order, only, steps, taken_of
from siteplan.screening.chunk import Chunk, Words
from siteplan.screening.keeping import Around, extent
from siteplan.screening.scan import Floats, Integers
from siteplan.screening.terms import Distances

STEP_M: Final = 4.0
"""From row to row [m]."""
SKEW: Final = 0.46
"""By how much rows are turned from a side of the lot, so that none runs along it [rad]."""
MOST_THINGS: Final = 8
"""Things on and near a lot up to which the rows are gone through once for each."""


@dataclass(frozen=True, slots=True)
class Measured:
    """Open ground of each lot.

    Parameters
    ----------
    usable_m2
        Where the part surely may lie [m2].
    dearest, taken_m2
        Rule that takes most, after the rules before it, and how much [m2].
    """

    usable_m2: Floats
    dearest: Words
    taken_m2: Floats


def counted(chunk: Chunk, distances: Distances) -> Integers:
    """How many things of each lot a part keeps off."""
    asked = np.isin(chunk.kinds, list(distances.things_m))
    return np.bincount(chunk.owner[asked], minlength=len(chunk))


def measured(around: Around, distances: Distances, angle: Floats) -> Measured:
    """Open ground of each lot; ``angle``: direction of a long side of each [rad]."""
    chunk, walls, angle = around.chunk, around.off(distances), angle + SKEW
    # first the property line alone, then with the first thing, with the second, and so on
    fresh = np.ones(len(walls.thing), dtype=bool)
    fresh[1:] = (np.diff(walls.thing) != 0) | (np.diff(walls.owner) != 0)
    end = np.append(np.flatnonzero(fresh)[1:], len(walls.thing))
    lots, thing = walls.owner[fresh], walls.thing[fresh]
    left = STEP_M * _left(walls, angle, lots, end)
    before = np.concatenate([[0.0], left[:-1]])
    sides = thing < 0
    before[sides] = shapely.area(chunk.outlines)
    return _dearest(chunk, distances, (lots, thing, before - left), left)


def _left(walls: Walls, angle: Floats, lots: Integers, end: Integers) -> Floats:
    """Length of rows that is free, step by step [m].

    ``lots``, ``end``: of each step its lot, and which walls are those up to it.
    """
    rows, quick = _rows(walls, angle), compiled.quick("left_by_step")
    before = np.searchsorted(lots, np.arange(len(angle) + 1))
    step = np.repeat(np.arange(len(lots)) - before[lots], np.diff(end, prepend=0))
    if quick is None:
        return _left_by_arrays(walls, angle, step, rows, before)
    own = (*walls.ranges(np.arange(len(angle))), before)
    told: Floats = quick(
        (walls.starts, walls.ends, walls.away, walls.body), step, own,
        (np.cos(angle), np.sin(angle)), (rows.first, STEP_M, rows.count),
    )  # fmt: skip
    return told


def _left_by_arrays(
    walls: Walls, angle: Floats, step: Integers, rows: Rows, before: Integers
) -> Floats:
    """The same; ``before``: how many steps there are before those of each lot."""
    left = np.zeros(before[-1])
    for some, block in rows.blocks():
        lots = np.arange(len(angle))[some]
        first, end = walls.ranges(lots)
        own = walls.of(lots).turned(angle[some])
        taken = in_order(taken_of(own, block, step[steps(first, end - first)]))
        begin, count = before[lots], np.diff(before)[lots]
        for number in range(int(count.max(initial=0))):
            spans = gaps_of(only(taken, taken[4] <= number), block)
            total = np.bincount(spans.family, weights=spans.length, minlength=len(lots))
            left[begin[count > number] + number] = total[count > number]
    return left


def _rows(walls: Walls, angle: Floats) -> Rows:
    sides = walls.where(walls.body == -1)
    low, high = extent(sides, angle)
    count = np.maximum(np.ceil((high - low) / STEP_M), 1)
    return Rows((low + high - (count - 1) * STEP_M) / 2, STEP_M, count.astype(np.int64))


def _dearest(
    chunk: Chunk, distances: Distances, steps_: tuple[Integers, Integers, Floats], left: Floats
) -> Measured:
    lots, thing, took = steps_
    last = np.append(np.diff(lots) != 0, True)
    usable = np.zeros(len(chunk))
    usable[lots[last]] = left[last]
    names = np.full(len(lots), distances.line_rule, dtype="<U120")
    for kind, rule in distances.rules.items():
        of_kind = np.append(chunk.kinds == kind, False)
        names[of_kind[thing]] = rule
    # of two that take the same the first
    order = np.lexsort((np.arange(len(lots)), -took, lots))
    first = order[np.flatnonzero(np.diff(lots[order], prepend=-1))]
    return Measured(usable, names[first], np.maximum(took[first], 0.0))
