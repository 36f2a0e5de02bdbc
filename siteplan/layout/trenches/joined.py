"""The cheapest even blocks of trenches with their header: one, or a few of one length."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import islice
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.directions import turn_between
from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.lines.sweep import frame_of, polygonal
from siteplan.geometry.memory import remembered
from siteplan.geometry.offset import grow
from siteplan.layout.header.network import CROSSING_COST
from siteplan.layout.model import Ground, Header, KeptOff
from siteplan.layout.sparing import kept_off, on_lines, quieter
from siteplan.layout.trenches.blocks import Block, Wanted, blocks
from siteplan.layout.trenches.clear_header import joined_header
from siteplan.layout.trenches.pipe_field import PipeField
from siteplan.layout.trenches.row_sets import (
    RowSets,
    most_beside,
    most_trenches,
    row_chords,
    row_sets,
)
from siteplan.layout.trenches.turns import different, directions_of
from siteplan.layout.way import ways_of
from siteplan.preferences.table import count_of, figure_of, figures_of
from siteplan.site.model import HorizontalOptions

ROUTED: Final = count_of("layout.trenches.joined.routed")
LOOKED_AT: Final = count_of("layout.trenches.joined.looked_at")
ALIKE_DEG: Final = figure_of("layout.trenches.joined.alike_deg")
ALIKE: Final = figure_of("layout.trenches.joined.alike")
BLOCK_SAVES: Final = figure_of("layout.trenches.joined.block_saves")
MANY: Final = figure_of("layout.trenches.joined.many")
TIMES: Final = figures_of("layout.trenches.joined.times")
MOST_BLOCKS: Final = count_of("layout.trenches.joined.most_blocks")
TRIED: Final = count_of("layout.trenches.joined.tried")
BESIDE_EDGES: Final = count_of("layout.trenches.joined.beside_edges")


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


@dataclass(frozen=True, slots=True)
class BlockTask:
    """Ground to lay blocks on, and what they must carry there.

    Parameters
    ----------
    ground, area
        The ground, and the part of it that a header reaches.
    rule
        Spacing and lengths of the trenches.
    target_m
        Length that they carry together [m].
    options
        What is asked for of trenches.
    trench_cost_m
        What it costs to set up for one more trench, as a length of digging [m].
    room
        Part of the area to which they keep; None: all of it.
    below_m
        What they must cost less than, as a length of digging [m].
    """

    ground: Ground
    area: BaseGeometry
    rule: RowRule
    target_m: float
    options: HorizontalOptions
    trench_cost_m: float
    room: BaseGeometry | None = None
    below_m: float = math.inf

    @property
    def wanted(self) -> Wanted:
        """What one block must carry alone."""
        return Wanted(self.target_m, None, self.trench_cost_m, self.multiple, self.below_m)

    @property
    def multiple(self) -> int:
        """What the number of trenches is a multiple of: an odd pipe comes home through another."""
        return 1 + self.options.pipes % 2


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
    more = _several(task, turns.edges, single) if single is None or _many(task, single) else None
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
    rule = task.rule
    sets = _sets(task, directions)
    longest = min(float(sets.length.max(initial=0.0)), rule.longest_m)
    if longest <= 0:
        return None
    fewest = max(2, math.ceil(task.target_m / longest - 1e-9))
    dearest_m = math.inf if one is None else one.cost_m - BLOCK_SAVES
    # a few numbers stand for all: every one takes a search of its own
    numbers = [math.ceil(fewest * times / task.multiple) * task.multiple for times in TIMES]
    tries = TRIED
    for number in dict.fromkeys(numbers):
        length = task.target_m / number
        # numbers grow: from here on trenches are too short, or dear by their number alone
        if length < rule.shortest_m or _least(task, number) >= dearest_m or tries <= 0:
            return None
        if most_trenches(sets, length, rule.spacing_m) < number:
            continue
        into = _Parts(number, length, dearest_m)
        for field in islice(_completed(task, (), sets, into), tries):
            tries -= 1
            if field is not None:
                if field.cost_m < dearest_m:
                    return field
                break
    return None


def _many(task: BlockTask, one: JoinedBlocks) -> bool:
    """Whether a block has so many more trenches than the fewest that several may be cheaper."""
    return len(one.lines) > MANY * task.target_m / task.rule.longest_m + 1


def _least(task: BlockTask, number: int, blocks_m: float = 0.0) -> float:
    """What so many trenches more cost at least, and the header along their joined ends [m]."""
    return (
        blocks_m + number * task.trench_cost_m + max(0, number - MOST_BLOCKS) * task.rule.spacing_m
    )


@dataclass(frozen=True, slots=True)
class _Parts:
    """Trenches of one length to be laid in blocks, and what the field must cost less than.

    Blocks that are laid beside them already cost ``laid_m`` with a draft of their header.
    """

    number: int
    length_m: float
    below_m: float
    laid_m: float = 0.0


def _completed(
    task: BlockTask, laid: tuple[Block, ...], sets: RowSets, into: _Parts
) -> Iterator[JoinedBlocks | None]:
    """The blocks laid with further ones of so many trenches; None for each that led to nothing.

    The largest block that has room comes first, as each further one takes another way for the
    header.
    """
    number, length_m = into.number, into.length_m
    most = min(most_beside(sets, length_m), number if laid else number - 1)
    for size in range(most, _largest_of(number, len(laid)) - 1, -1):
        if size % task.multiple:
            continue
        rest = replace(into, number=number - size)
        # what is laid already costs what it costs, and what is laid later no less than its trenches
        below_m = into.below_m - _least(task, rest.number, into.laid_m)
        wanted = Wanted(size * length_m, size, task.trench_cost_m, below_m=below_m)
        block = next(blocks(sets, task.rule, wanted), None)
        # routing is dear: most blocks leave no room for the rest, whatever way their header takes
        if block is None or (rest.number and not _leaves_room(task, (*laid, block), rest)):
            yield None
            continue
        # what is left beside a block is looked for beside a draft of its header
        field = _routed(task, (*laid, block), draft=size < number)
        if field is None or size == number:
            yield field
            continue
        # the header of all blocks is no shorter than the draft of these alone
        if _least(task, rest.number, field.cost_m) < into.below_m:
            beside = _sets_beside(task, field)
            if beside is not None:
                more = replace(rest, laid_m=field.cost_m)
                yield from _completed(task, field.blocks, beside, more)
        yield None


def _largest_of(number: int, laid: int) -> int:
    """Trenches that the next block has at least, of so many in blocks yet to come."""
    return number if laid == MOST_BLOCKS - 1 else (number + 1) // 2


def _leaves_room(task: BlockTask, laid: tuple[Block, ...], rest: _Parts) -> bool:
    """Whether the next block finds room beside those laid, were there no header."""
    left = _left_beside(task, laid)
    if left.is_empty:
        return False
    rows = row_chords(left, task.rule, _turns_beside(task, laid))
    return most_beside(rows, rest.length_m) >= _largest_of(rest.number, len(laid))


def _left_beside(task: BlockTask, laid: tuple[Block, ...], *taken: BaseGeometry) -> BaseGeometry:
    """Ground that blocks leave, and whatever else is taken."""
    hulls = [shapely.convex_hull(MultiLineString(list(block.lines))) for block in laid]
    grown = [grow(hull, task.rule.spacing_m) for hull in hulls]
    return polygonal(task.area.difference(shapely.union_all([*grown, *taken])))


def _turns_beside(task: BlockTask, laid: tuple[Block, ...]) -> tuple[float, ...]:
    """Directions of rows beside blocks [deg]: along and across the last, and the longest edges."""
    edges = task.ground.memory.of(directions_of, task.area).edges[: 2 * BESIDE_EDGES]
    last = laid[-1].direction_deg
    return different((last, (last + 90.0) % 180.0, *edges))


def _sets_beside(task: BlockTask, field: JoinedBlocks) -> RowSets | None:
    """Rows in what the blocks and the header of a field leave; None where nothing is left."""
    header = MultiLineString(list(field.header.runs))
    rest = _left_beside(task, field.blocks, grow(header, task.options.width_m))
    if rest.is_empty:
        return None
    plain = replace(task.ground, spared=())
    pipes = _pipe_field(plain, task.area).beside(header)
    return row_sets(rest, task.rule, _turns_beside(task, field.blocks), pipes)


@remembered
def _pipe_field(ground: Ground, area: BaseGeometry) -> PipeField:
    return PipeField(area, ways_of(ground))


def _cheapest(task: BlockTask, blocks: Iterator[Block]) -> JoinedBlocks | None:
    """Of the blocks that look cheapest the one that is with its header."""
    # a block's own cost is a bound; routing is dear, so only the best few by it are routed
    drafts: list[JoinedBlocks] = []
    routed: list[Block] = []
    dearest_m = task.below_m
    for block in islice(blocks, LOOKED_AT):
        if len(routed) >= ROUTED or block.cost_m >= dearest_m:
            break
        # a shift of less than a spacing gives the same field again
        if any(_alike(block, other, task.rule.spacing_m) for other in routed):
            continue
        routed.append(block)
        field = _routed(task, (block,), draft=True)
        if field is not None:
            drafts.append(field)
            dearest_m = min(dearest_m, field.cost_m)
    drafts.sort(key=lambda field: round(field.cost_m, 6))
    best: JoinedBlocks | None = None
    for field in drafts:
        # a header that keeps off lines is longer than its draft
        if best is not None and field.cost_m >= best.cost_m - 1e-6:
            break
        final = _routed(task, field.blocks) if task.ground.strips else field
        if final is not None and (best is None or final.cost_m < best.cost_m - 1e-6):
            best = final
    return best


def _routed(
    task: BlockTask, laid: tuple[Block, ...], *, draft: bool = False
) -> JoinedBlocks | None:
    """Blocks with their header, or with a draft of it; None without a way for it."""
    lines = [line for block in laid for line in block.lines]
    direction = laid[0].direction_deg
    header = joined_header(task.ground, lines, task.options, direction, draft=draft)
    if header is None:
        return None
    cost = header.length_m + CROSSING_COST * len(header.crossings)
    cost += sum(on_lines(task.ground.spared, lines).values())
    return JoinedBlocks(laid, header, cost + task.trench_cost_m * len(lines))


def _alike(first: Block, second: Block, spacing_m: float) -> bool:
    """Whether two blocks lie nearly on the same place, joined at the same ends."""
    if turn_between(first.direction_deg, second.direction_deg) > ALIKE_DEG:
        return False
    middles = [
        np.mean([[line.coords[k] for line in block.lines] for k in (0, -1)], axis=1)
        for block in (first, second)
    ]
    return bool(np.abs(middles[0] - middles[1]).max() < ALIKE * spacing_m)
