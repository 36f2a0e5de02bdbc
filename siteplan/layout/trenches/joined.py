"""The cheapest even blocks of trenches with their header: one, or a few of one length."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from typing import Final

import numpy as np
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.directions import turn_between
from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.lines.sweep import frame_of
from siteplan.geometry.memory import remembered
from siteplan.layout.drafts import cheapest_finished
from siteplan.layout.header.network import CROSSING_COST
from siteplan.layout.model import Ground, Header, KeptOff
from siteplan.layout.sparing import kept_off, on_lines, quieter
from siteplan.layout.trenches.block_task import BlockTask
from siteplan.layout.trenches.blocks import Block, blocks
from siteplan.layout.trenches.clear_header import JoiningDraft, drafted_joining
from siteplan.layout.trenches.pipe_field import PipeField
from siteplan.layout.trenches.row_sets import (
    RowSets,
    row_sets,
)
from siteplan.layout.trenches.together import drafts_of
from siteplan.layout.trenches.turns import directions_of
from siteplan.layout.way import ways_of
from siteplan.preferences.table import count_of, figure_of

ROUTED: Final = count_of("layout.trenches.joined.routed")
LOOKED_AT: Final = count_of("layout.trenches.joined.looked_at")
ALIKE_DEG: Final = figure_of("layout.trenches.joined.alike_deg")
ALIKE: Final = figure_of("layout.trenches.joined.alike")
BLOCK_SAVES: Final = figure_of("layout.trenches.joined.block_saves")
MANY: Final = figure_of("layout.trenches.joined.many")
AMPLE: Final = figure_of("layout.trenches.joined.ample")
ROUTED_TOGETHER: Final = count_of("layout.trenches.joined.routed_together")


@dataclass(frozen=True, slots=True)
class JoinedBlocks:
    """Blocks of trenches, each line from its joined end, and the header that joins all of them.

    The cost is that of the header, its crossings, of setting up for each trench, and of lying on
    ground to be spared, as a length of digging; the trenches' own digging is not in it [m].
    """

    blocks: tuple[Block, ...]
    header: Header
    cost_m: float
    kept_off: KeptOff | None = None

    @property
    def lines(self) -> tuple[LineString, ...]:
        """Centre lines of all trenches, block by block."""
        return tuple(line for block in self.blocks for line in block.lines)


def best_blocks(task: BlockTask) -> JoinedBlocks | None:
    """A few even blocks that carry the target, and their header; None where none do.

    Rows follow an edge of the ground; only where no such block holds enough they lie otherwise.
    Two or three blocks are laid where one does not hold enough, or where they save clearly.
    """
    if task.area.is_empty:
        return None
    turns = task.ground.memory.of(directions_of, task.area)
    single = _one(task, turns.lines)
    # a crowded lot may need every piece of an edge
    crowded = single is None or (_many(task, single) and not _has_ample_room(task, turns.lines))
    more = _several(task, turns.edges, single) if crowded else None
    best = more or single or _one(task, turns.others)
    return _moved(task, best) if best is not None and len(best.blocks) == 1 else best


def _moved(task: BlockTask, best: JoinedBlocks) -> JoinedBlocks:
    """The single block, or a cheaper one with its rows between the places that were tried."""
    block = best.blocks[0]
    along = frame_of(block.direction_deg)
    height = float((np.array(block.lines[0].coords[0]) @ along)[1])
    area = task.area if task.room is None else task.room
    pipes = _pipe_field(replace(task.ground, spared=()), task.area)
    sets = row_sets(area, task.rule, (block.direction_deg,), pipes, about_m=height)
    wanted = replace(task.wanted, below_m=min(task.below_m, best.cost_m))
    nearer = _cheapest(replace(task, below_m=best.cost_m), blocks(sets, task.rule, wanted))
    return nearer if nearer is not None and nearer.cost_m < best.cost_m - 1e-6 else best


def _one(task: BlockTask, directions: tuple[float, ...]) -> JoinedBlocks | None:
    """The cheapest single block in a few directions; None where none is found."""
    return _cheapest(task, blocks(_sets(task, directions), task.rule, task.wanted))


def off_spared_ground(task: BlockTask, first: JoinedBlocks) -> JoinedBlocks:
    """The blocks, or one that lies less on ground to be spared where that costs less.

    A single block is looked for: where it takes several there is no room to choose.

    Parameters
    ----------
    task
        What the blocks must carry, on ground with what is to be spared.
    first
        Blocks found without regard to it.
    """
    spared, memory = task.ground.spared, task.ground.memory
    lain_on = on_lines(spared, first.lines)
    first = best = replace(first, cost_m=first.cost_m + sum(lain_on.values()))
    directions = memory.of(directions_of, task.area).lines
    # a second search takes as long as the first: one, off all ground to be spared
    for room in islice(quieter(task.area, spared, lain_on), 1) if lain_on else ():
        other = _one(replace(task, room=room, below_m=best.cost_m), directions)
        if other is not None and other.cost_m < best.cost_m - 1e-6:
            best = other
    if best is first:
        return first
    kept = kept_off(lain_on, on_lines(spared, best.lines), first.header, best.header)
    return replace(best, kept_off=kept)


def _sets(task: BlockTask, directions: tuple[float, ...]) -> RowSets:
    room = task.area if task.room is None else task.room
    # rows are the same whatever ground is spared
    plain = replace(task.ground, spared=())
    return _rows(plain, (task.area, room), task.rule, directions)


@remembered
def _rows(
    ground: Ground,
    areas: tuple[BaseGeometry, BaseGeometry],
    rule: RowRule,
    directions: tuple[float, ...],
) -> RowSets:
    """Rows in a part of an area; the ways there are those of the whole."""
    area, room = areas
    return row_sets(room, rule, directions, _pipe_field(ground, area))


def _several(
    task: BlockTask, directions: tuple[float, ...], one: JoinedBlocks | None
) -> JoinedBlocks | None:
    """Two or three blocks of one length, where those are found and save clearly over one block."""
    best: JoinedBlocks | None = None
    dearest_m = math.inf if one is None else one.cost_m - BLOCK_SAVES
    pipes = _pipe_field(replace(task.ground, spared=()), task.area)
    drafts = drafts_of(task, _sets(task, directions), pipes, dearest_m)
    ranked = sorted(drafts, key=lambda draft: round(draft.cost_m, 6))
    for draft in ranked[:ROUTED_TOGETHER]:
        # what a draft leaves out makes it dearer, hardly ever cheaper
        if draft.cost_m >= dearest_m:
            break
        routed = _drafted(task, draft.blocks)
        # a header that keeps off lines is hardly ever shorter than its draft
        field = routed.finished() if routed and routed.cost_m < dearest_m else None
        if field is not None and field.cost_m < dearest_m:
            best, dearest_m = field, field.cost_m
    return best


def _many(task: BlockTask, one: JoinedBlocks) -> bool:
    """Whether a block has so many more trenches than the fewest that several may be cheaper."""
    return len(one.lines) > MANY * task.target_m / task.rule.longest_m + 1


def _has_ample_room(task: BlockTask, directions: tuple[float, ...]) -> bool:
    """Whether rows of one direction hold so much that nobody would part the field."""
    sets = _sets(task, directions)
    held = np.bincount(sets.of_set, weights=np.minimum(sets.length, task.rule.longest_m))
    return bool(held.max(initial=0.0) >= AMPLE * task.target_m)


@remembered
def _pipe_field(ground: Ground, area: BaseGeometry) -> PipeField:
    return PipeField(area, ways_of(ground))


def _cheapest(task: BlockTask, blocks: Iterator[Block]) -> JoinedBlocks | None:
    """Of the blocks that look cheapest the one that is with its header."""
    # a block's own cost is a bound; routing is dear, so only the best few by it are routed
    drafts: list[_Drafted] = []
    routed: list[Block] = []
    dearest_m = task.below_m
    for block in islice(blocks, LOOKED_AT):
        if len(routed) >= ROUTED or block.cost_m >= dearest_m:
            break
        # a shift of less than a spacing gives the same field again
        if any(_alike(block, other, task.rule.spacing_m) for other in routed):
            continue
        routed.append(block)
        draft = _drafted(task, (block,))
        if draft is not None:
            drafts.append(draft)
            dearest_m = min(dearest_m, draft.cost_m)
    return cheapest_finished(drafts)


@dataclass(frozen=True, slots=True, eq=False)
class _Drafted:
    """Blocks with a draft of their header."""

    task: BlockTask
    laid: tuple[Block, ...]
    draft: JoiningDraft
    cost_m: float

    def finished(self) -> JoinedBlocks | None:
        """The same with their header; None without a way for it."""
        header = self.draft.finished()
        if header is None:
            return None
        return JoinedBlocks(self.laid, header, _cost(self.task, self.laid, header))


def _drafted(task: BlockTask, laid: tuple[Block, ...]) -> _Drafted | None:
    """Blocks with a draft of their header; None without a way for it."""
    lines = [line for block in laid for line in block.lines]
    draft = drafted_joining(task.ground, lines, task.options, laid[0].direction_deg)
    if draft is None:
        return None
    return _Drafted(task, laid, draft, _cost(task, laid, draft.header))


def _cost(task: BlockTask, laid: tuple[Block, ...], header: Header) -> float:
    """Header, crossings, setting up, and lying on ground to be spared, as a length [m]."""
    lines = [line for block in laid for line in block.lines]
    cost = header.length_m + CROSSING_COST * len(header.crossings)
    cost += sum(on_lines(task.ground.spared, lines).values())
    return cost + task.trench_cost_m * len(lines)


def _alike(first: Block, second: Block, spacing_m: float) -> bool:
    """Whether two blocks lie nearly on the same place, joined at the same ends."""
    if turn_between(first.direction_deg, second.direction_deg) > ALIKE_DEG:
        return False
    middles = [
        np.mean([[line.coords[k] for line in block.lines] for k in (0, -1)], axis=1)
        for block in (first, second)
    ]
    return bool(np.abs(middles[0] - middles[1]).max() < ALIKE * spacing_m)
