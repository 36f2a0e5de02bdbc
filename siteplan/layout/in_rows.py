"""Points in rows with their header: so many, so far apart, as cheaply joined as they can be.

The best few blocks get a header, and what they cost decides: the header, and what bores have to be
longer for their neighbours. A wider spacing is taken where the header grows by no more than the
longer steps from point to point and what the bores are spared.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from functools import cache
from typing import Final

import numpy as np
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.memory import Memory, remembered
from siteplan.geometry.points.lattice import Pattern, edge_directions, patterns_along
from siteplan.geometry.points.packing import clusters, pack_rows
from siteplan.layout.block import Block, Field, blocks_of, tidy_blocks
from siteplan.layout.bores.neighbours import Neighbours
from siteplan.layout.counting import ROUNDING_SLACK
from siteplan.layout.drafts import cheapest_finished
from siteplan.layout.header.network import CROSSING_COST
from siteplan.layout.header.router import HeaderDraft, drafted_header
from siteplan.layout.model import Ground, Header, KeptOff
from siteplan.layout.way import ways_of
from siteplan.preferences.table import figure_of, figures_of

Floats = NDArray[np.float64]

AMPLE: Final = figure_of("layout.in_rows.ample")
HEADER_FOR_SPACING: Final = figure_of("layout.in_rows.header_for_spacing")
WIDER: Final = figures_of("layout.in_rows.wider")


@dataclass(frozen=True, slots=True)
class Placement:
    """Points chosen on the ground, their header, how many it holds, and the spacing they keep.

    And what they keep off at the price of a longer header, where they do.
    """

    points: Floats
    header: Header | None
    capacity: int
    spacing_m: float
    kept_off: KeptOff | None = None


@remembered
def place_in_rows(
    ground: Ground,
    area: BaseGeometry,
    *,
    spacing_m: float,
    count: int,
    widest_m: float | None = None,
    neighbours: Neighbours | None = None,
) -> Placement:
    """Points in rows, as many as asked for or as the area holds, with their header.

    Kept for the same count asked for again: a length is laid out until it agrees with its need.
    ``widest_m``: widest spacing to try; None: no wider than ``spacing_m``. ``neighbours``: what
    points near one another cost; None: not known.
    """
    # the most that rows hold comes first: it tells the contractor how much room there is, and
    # whether the count asked for has to be cut down
    fullest = fullest_rows(area, spacing_m, count, ground.memory)
    capacity = sum(len(pattern.points) for pattern in fullest)
    # a lot that does not even hold the count at the least spacing has nothing to spare for a wider
    # one
    widest_m = widest_m if count <= capacity else None
    count = min(count, capacity)
    if count == 0:
        return Placement(np.zeros((0, 2)), None, capacity, spacing_m)
    field = Field(ground, area, ways_of(ground), count, neighbours)
    blocks = blocks_of(field, fullest, spacing_m=spacing_m)
    # the distance to the entry ranks blocks only roughly, as bores share their way: so a few get a
    # header
    best = cheapest_finished(
        draft for block in blocks for draft in _drafted(field, block, spacing_m)
    )
    if best is None:
        return Placement(blocks[0].points, None, capacity, spacing_m)
    best = _widened(field, best, spacing_m, widest_m)
    return Placement(best.block.points, best.header, capacity, best.spacing_m)


def fullest_rows(
    area: BaseGeometry, spacing_m: float, count: int, memory: Memory
) -> tuple[Pattern, ...]:
    """Rows that hold most in each cluster of an area.

    Where those along the longest edge of one cluster hold amply what is asked for, no others are
    looked for: how many more would stand matters to nobody.
    """
    along = [
        max(
            memory.of(
                patterns_along, cluster, spacing_m, direction=float(edge_directions(cluster)[0])
            ),
            key=lambda pattern: len(pattern.points),
        )
        for cluster in clusters(area, spacing_m)
    ]
    if count and any(len(pattern.points) >= AMPLE * count for pattern in along):
        return tuple(along)
    return memory.of(pack_rows, area, spacing_m)


def _widened(field: Field, narrow: _Routed, spacing_m: float, widest_m: float | None) -> _Routed:
    """As many points at the spacing, not below one, that costs least; the widest of equals."""
    best = narrow
    for spacing, block in _wider(field, spacing_m, widest_m) if field.count > 1 else ():
        # each wider block asks for a header, the dear part of the search
        drafts = _drafted(field, block, spacing)
        wide = cheapest_finished(draft for draft in drafts if draft.cost_m <= best.cost_m)
        if wide is not None and wide.cost_m <= best.cost_m:
            best = wide
    return best


def _wider(field: Field, spacing_m: float, widest_m: float | None) -> Iterator[tuple[float, Block]]:
    """A few spacings in whole steps above one [m], each with its best block; narrow ones first."""
    step = field.ground.unit.step_m
    at = cache(lambda number: tidy_blocks(field, number * step, most=1))
    least = _whole_steps(spacing_m, step)
    held = _widest_held(at, least, _whole_steps(widest_m or 0.0, step))
    for number in sorted({least + math.ceil(share * (held - least)) for share in WIDER} - {least}):
        yield from ((number * step, block) for block in at(number))


def widest_block(field: Field, spacing_m: float, widest_m: float | None) -> Block | None:
    """The best block at the widest spacing between two, in whole steps above the first [m].

    Of rows of any direction at the first, where there is no room along an edge; None where there is
    none at all.
    """
    step = field.ground.unit.step_m
    at = cache(lambda number: tidy_blocks(field, number * step, most=1))
    least = _whole_steps(spacing_m, step)
    held = _widest_held(at, least, _whole_steps(widest_m or 0.0, step))
    if held > least:
        return at(held)[0]
    fullest = fullest_rows(field.area, spacing_m, field.count, field.ground.memory)
    has_room = sum(len(pattern.points) for pattern in fullest) >= field.count
    return blocks_of(field, fullest, spacing_m=spacing_m)[0] if has_room else None


def _whole_steps(length_m: float, step_m: float) -> int:
    return math.floor(length_m / step_m + ROUNDING_SLACK)


def _widest_held(at: Callable[[int], list[Block]], least: int, most: int) -> int:
    """Steps of the widest spacing at which there is room, looked for half-way down.

    What stands at one spacing does so at a narrower one.
    """
    held, last = least, most
    while last > held:
        if at(most):
            held = most
        else:
            last = most - 1
        most = (held + last + 1) // 2
    return held


@dataclass(frozen=True, slots=True)
class _Routed:
    """A block with its header, and what both cost, as a length [m]."""

    block: Block
    header: Header
    spacing_m: float
    cost_m: float


@dataclass(frozen=True, slots=True, eq=False)
class _Drafted:
    """A block with a draft of its header."""

    field: Field
    block: Block
    draft: HeaderDraft
    spacing_m: float

    @property
    def cost_m(self) -> float:
        """Cost with the header as it was drafted [m]."""
        return self._cost(self.draft.header)

    def finished(self) -> _Routed | None:
        """The same with its header; None without a way for it."""
        header = self.draft.finished()
        return (
            None
            if header is None
            else _Routed(self.block, header, self.spacing_m, self._cost(header))
        )

    def _cost(self, header: Header) -> float:
        """Header, what a tidier block is worth, and what is drilled for the neighbours [m]."""
        field, points = self.field, self.block.points
        cost = header.length_m + CROSSING_COST * len(header.crossings)
        cost += self.block.untidy * self.spacing_m + field.crowding(points)
        # points farther apart have longer steps from one to the next in any case: so much more
        # header is no fault of theirs
        return round(cost - HEADER_FOR_SPACING * (len(points) - 1) * self.spacing_m, 4)


def _drafted(field: Field, block: Block, spacing_m: float) -> list[_Drafted]:
    """The block with a draft of its header, where there is a way for it."""
    draft = drafted_header(field.ground, _ends(block), along_deg=block.direction_deg)
    return [] if draft is None else [_Drafted(field, block, draft, spacing_m)]


def _ends(block: Block) -> list[list[tuple[float, float]]]:
    return [[(float(x), float(y))] for x, y in block.points]
