"""Several blocks of one length together: drafts of them that hold what is wanted.

A draft knows of each block what its trenches cost and the nearest way to the building or to the
blocks before it; that blocks are in one another's way is left to the router.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from itertools import chain, islice
from typing import Final

import numpy as np
import shapely
from shapely import MultiLineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import polygonal
from siteplan.geometry.offset import grow
from siteplan.layout.trenches.block_task import BlockTask
from siteplan.layout.trenches.blocks import Block
from siteplan.layout.trenches.equal_blocks import EqualRows
from siteplan.layout.trenches.pipe_field import PipeField
from siteplan.layout.trenches.row_sets import (
    RowSets,
    most_beside,
    most_trenches,
    row_chords,
    with_ways,
)
from siteplan.layout.trenches.turns import different, directions_of
from siteplan.preferences.table import count_of, figure_of, figures_of

TIMES: Final = figures_of("layout.trenches.together.times")
MOST_BLOCKS: Final = count_of("layout.trenches.together.most_blocks")
TRIED: Final = count_of("layout.trenches.together.tried")
EACH: Final = count_of("layout.trenches.together.each")
EACH_FIRST: Final = count_of("layout.trenches.together.each_first")
DRAFT_SPARES: Final = figure_of("layout.trenches.together.draft_spares")
BESIDE_EDGES: Final = count_of("layout.trenches.together.beside_edges")


@dataclass(frozen=True, slots=True)
class Draft:
    """Blocks that carry the target together, or the first of them, and what they cost [m].

    Each but the first is joined to the building or to the blocks before it by the nearest way.
    """

    blocks: tuple[Block, ...]
    cost_m: float


def drafts_of(
    task: BlockTask, sets: RowSets, pipes: PipeField, dearest_m: float
) -> Iterator[Draft]:
    """Several blocks that carry the target together, each of the length of all others.

    For some numbers of trenches, and for each division of them, the next block is the cheapest one
    that lies on what is left.

    Parameters
    ----------
    task
        What the blocks must carry.
    sets
        Rows all over the ground.
    pipes
        Pipe from the building to any place.
    dearest_m
        What they must cost less than [m].
    """
    rule, search = task.rule, _Search(task, pipes)
    longest = min(float(sets.length.max(initial=0.0)), rule.longest_m)
    fewest = max(2, math.ceil(task.target_m / max(longest, 1e-6) - 1e-9))
    # a few numbers stand for all: every one takes a search of its own
    numbers = [math.ceil(fewest * times / task.multiple) * task.multiple for times in TIMES]
    tries = TRIED
    for number in dict.fromkeys(numbers):
        into = _Parts(number, task.target_m / number, dearest_m)
        # numbers grow: from here on trenches are too short, or dear by their number alone
        if into.length_m < rule.shortest_m or search.least(number) >= dearest_m or tries <= 0:
            return
        if most_trenches(sets, into.length_m, rule.spacing_m) < number:
            continue
        rows = EqualRows.of(sets, rule, into.length_m)
        for draft in islice(search.completed(Draft((), 0.0), rows, into), min(tries, EACH)):
            tries -= 1
            if draft is not None:
                dearest_m = min(dearest_m, draft.cost_m + DRAFT_SPARES)
                yield draft


@dataclass(frozen=True, slots=True)
class _Parts:
    """Trenches of one length yet to be laid in blocks, and what the field must cost less than."""

    number: int
    length_m: float
    below_m: float


@dataclass(frozen=True, slots=True, eq=False)
class _Search:
    """What the blocks must carry, and the pipe from the building to any place."""

    task: BlockTask
    pipes: PipeField

    def completed(self, laid: Draft, rows: EqualRows, into: _Parts) -> Iterator[Draft | None]:
        """The blocks laid with further ones; None for each division that led to nothing."""
        task = self.task
        for size in self._sizes(laid, rows, into):
            rest = replace(into, number=into.number - size)
            # what is laid later costs no less than its trenches
            below_m = into.below_m - self.least(rest.number, laid.cost_m)
            block = rows.cheapest(size, task.trench_cost_m, below_m)
            if block is None:
                yield None
                continue
            more = Draft((*laid.blocks, block), laid.cost_m + block.cost_m)
            if not rest.number:
                yield more
                continue
            beside = self._beside(more.blocks, rest)
            if beside is not None:
                further = EqualRows.of(beside, task.rule, rest.length_m)
                # another first block leads farther than more divisions beside the same
                tries = None if laid.blocks else EACH_FIRST
                yield from islice(self.completed(more, further, rest), tries)
            yield None

    def _sizes(self, laid: Draft, rows: EqualRows, into: _Parts) -> Sequence[int]:
        """Trenches that the next block may have, the most first.

        The first block may be the largest, or the one whose trenches cost least each, in turns.
        """
        least = _fewest(into.number, len(laid.blocks))
        most = into.number if laid.blocks else into.number - 1
        most = min(rows.most, most)
        largest = [n for n in range(most, least - 1, -1) if n % self.task.multiple == 0]
        if laid.blocks:
            return largest
        cheapest = sorted(largest, key=lambda n: round(rows.least_header(n) / n, 6))
        return list(dict.fromkeys(chain.from_iterable(zip(largest, cheapest, strict=True))))

    def least(self, number: int, laid_m: float = 0.0) -> float:
        """What so many trenches more cost at least, with the header along their ends [m]."""
        task = self.task
        header_m = least_header(number, task.rule.spacing_m)
        return laid_m + number * task.trench_cost_m + header_m

    def _beside(self, laid: Sequence[Block], rest: _Parts) -> RowSets | None:
        """Rows beside blocks; None where no block of the rest has room there."""
        left = self._left(laid)
        if left.is_empty:
            return None
        rule = replace(self.task.rule, shortest_m=rest.length_m)
        turns = self._turns(laid)
        # looking for ways is dear: most blocks leave no room for the rest
        least = _fewest(rest.number, len(laid))
        chords = row_chords(left, rule, turns)
        if most_beside(chords, rest.length_m) < least:
            return None
        # the header along the joined ends of a block
        headers = [np.array([line.coords[0] for line in block.lines]) for block in laid]
        return with_ways(chords, self.pipes.beside(headers))

    def _left(self, laid: Sequence[Block]) -> BaseGeometry:
        """Ground that blocks leave."""
        hulls = [shapely.convex_hull(MultiLineString(list(block.lines))) for block in laid]
        grown = [grow(hull, self.task.rule.spacing_m) for hull in hulls]
        return polygonal(self.task.area.difference(shapely.union_all(grown)))

    def _turns(self, laid: Sequence[Block]) -> tuple[float, ...]:
        """Directions of rows beside blocks [deg]: along and across the last, the longest edges."""
        edges = self.task.ground.memory.of(directions_of, self.task.area).edges
        last = laid[-1].direction_deg
        return different((last, (last + 90.0) % 180.0, *edges[: 2 * BESIDE_EDGES]))


def least_header(number: int, spacing_m: float) -> float:
    """Header along the ends that so many trenches in even blocks have at least [m]."""
    return max(0, number - MOST_BLOCKS) * spacing_m


def _fewest(number: int, laid: int) -> int:
    """Trenches that the next block has at least, of so many in blocks yet to come."""
    return math.ceil(number / (MOST_BLOCKS - laid))
