"""Base lines from which a field in rows is staked by stations and offsets, as field books have it.

A base line runs between two pegs beyond the outermost stakes, midway between two rows, so that the
pegs outlast the digging. Both pegs are taped from corners; all else are short right-angle offsets.
A block of trenches that runs otherwise than the others of its field has a line of its own.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Final

import numpy as np

from siteplan.sheet.content.tie_choice import FLAT, NONE, TieBench
from siteplan.sheet.content.ties import Array, Corner, Flags, Ground
from siteplan.sheet.model import XY
from siteplan.units.lengths import FOOT

LEAST_STAKES: Final = 6
"""Fewer stakes than this are sooner taped one by one; common practice, no source."""
OFFSET_M: Final = 50 * FOOT
"""As far as a right angle is set off without an instrument; common practice, no source [m]."""
LINK_M: Final = 50 * FOOT
"""Stakes farther apart than this belong to two fields [m]."""
BEYOND_M: Final = (1.5, 3.0, 4.5, 0.75, 6.0, 9.0, 12.0)
"""How far a peg may stand beyond the outermost stake, the best first; common practice [m]."""
INSIDE: Final = (0.1, 0.2, 0.25)
"""How much of a line may be lined out beyond its far peg, where that is tied better so."""
FENCE_M: Final = 3 * FOOT
"""No peg stands so near to a line of the lot, where fences and hedges are, if there is another
place as good; common practice, no source [m]."""
ROW_M: Final = 0.3
"""Stakes nearer than this to one line are one row [m]."""
DIRECTIONS: Final = 3
"""Directions of rows that are tried, and as many across them."""
SQUARE_DEG: Final = 5.0
"""Trenches turned by less than this, or by right angles besides, are square to each other [deg]."""


@dataclass(frozen=True, slots=True)
class Line:
    """A base line from one peg to the other, and the numbers of the stakes that it serves."""

    start: XY
    end: XY
    served: tuple[int, ...]

    def station_offset(self, at: XY) -> XY:
        """Way along the line, and at right angles to the left of it [m]."""
        return station_offset(self.start, self.end, at)


@dataclass(frozen=True, slots=True)
class _Tried:
    """Lines in one direction, and what speaks against them: the least wins."""

    lines: tuple[Line, ...]
    against: tuple[float, ...]


def station_offset(start: XY, end: XY, at: XY) -> XY:
    """Way along a line, and at right angles to the left of it [m].

    Examples
    --------
    >>> station_offset((0.0, 0.0), (10.0, 0.0), (4.0, 3.0))
    (4.0, 3.0)
    """
    long = math.dist(start, end)
    u, v = (end[0] - start[0]) / long, (end[1] - start[1]) / long
    x, y = at[0] - start[0], at[1] - start[1]
    return x * u + y * v, y * u - x * v


def base_lines(
    stakes: Sequence[Sequence[XY]], corners: Sequence[Corner], ground: Ground
) -> tuple[Line, ...]:
    """Lines for fields of so many stakes that they are worth it.

    Parameters
    ----------
    stakes
        Stakes of each element: its place, or its two ends. They are numbered through.
    """
    places = np.array([at for each in stakes for at in each]).reshape(-1, 2)
    turns = _turns(stakes)
    lines: list[Line] = []
    for field in (block for one in _fields(stakes, places) for block in _blocks(one, turns)):
        if len(field) < LEAST_STAKES:
            continue
        rows = turns[field]
        tries = [
            _tried(way, field, places, rows, (corners, ground))
            for way in ways_of_rows(places[field], rows)
        ]
        best = min(tries, key=lambda tried: tried.against, default=None)
        if best is not None:
            lines += best.lines
    # from west to east, whatever field was looked at first
    return tuple(sorted(lines, key=lambda line: (round(line.start[0], 3), round(line.start[1], 3))))


def _fields(stakes: Sequence[Sequence[XY]], places: Array) -> list[list[int]]:
    """Numbers of the stakes of each field: what is near one another, and both ends of trenches."""
    near = np.hypot(*np.moveaxis(places[None] - places[:, None], -1, 0)) <= LINK_M
    number = 0
    for each in stakes:
        near[number : number + len(each), number : number + len(each)] = True
        number += len(each)
    left, fields = set(range(len(places))), []
    while left:
        field, edge = set[int](), {min(left)}
        while edge:
            field |= edge
            edge = {int(k) for place in edge for k in np.flatnonzero(near[place])} - field
        left -= field
        fields.append(sorted(field))
    return fields


def _turns(stakes: Sequence[Sequence[XY]]) -> Array:
    """Direction of the trench of each stake [rad]; NaN where it has none."""
    turns: list[float] = []
    for each in stakes:
        (x, y), (p, q) = each[0], each[-1]
        has_one = math.dist((x, y), (p, q)) > ROW_M
        turns += [math.atan2(q - y, p - x) % math.pi if has_one else math.nan] * len(each)
    return np.array(turns)


def _blocks(field: list[int], turns: Array) -> list[list[int]]:
    """A field in blocks of trenches that are square to one another, and the rest of it.

    A block too small to be worth a line is part of the rest.
    """
    # a stake without a direction is square to none
    left, large = np.array([k for k in field if not math.isnan(turns[k])], int), []
    while len(left):
        square = _off_square(turns[left], turns[left[0]]) < SQUARE_DEG
        if np.count_nonzero(square) >= LEAST_STAKES:
            large.append(left[square].tolist())
        left = left[~square]
    taken = {k for block in large for k in block}
    return [*large, sorted(k for k in field if k not in taken)] if large else [field]


def _off_square(turns: Array, other: float) -> Array:
    """How far each direction is from along or across another [deg]."""
    off = np.degrees(turns - other) % 90.0
    return np.asarray(np.minimum(off, 90.0 - off))


def ways_of_rows(places: Array, rows: Array) -> list[float]:
    """Directions in which stakes may lie in rows, and those across them, both ways [rad]."""
    away = places[None] - places[:, None]
    reach = np.hypot(away[..., 0], away[..., 1])
    np.fill_diagonal(reach, np.inf)
    least = float(reach.min())
    near = np.argwhere(reach <= 1.6 * max(least, ROW_M))
    turns = [math.atan2(*away[i, j][::-1]) % math.pi for i, j in near]
    # a trench twice, as both its ends have its direction
    turns += [float(turn) for turn in rows if not math.isnan(turn)] * 2
    counts = Counter(round(math.degrees(turn)) % 180 for turn in turns)
    common = [degree for degree, _ in sorted(counts.items(), key=lambda item: (-item[1], item[0]))]
    ways = []
    for degree in common[:DIRECTIONS]:
        alike = [turn for turn in turns if round(math.degrees(turn)) % 180 == degree]
        # the middle one: turns of one row differ in their last digits
        way = sorted(alike)[len(alike) // 2]
        ways += [way, way + math.pi, way + math.pi / 2, way - math.pi / 2]
    return ways


def _tried(
    way: float, field: list[int], places: Array, rows: Array,
    known: tuple[Sequence[Corner], Ground],
) -> _Tried:  # fmt: skip
    along, left = (
        np.array([math.cos(way), math.sin(way)]),
        np.array([-math.sin(way), math.cos(way)]),
    )
    lines, worst, rest, cost = [], 0, len(field), 0.0
    for band in bands(places[field] @ left):
        numbers = [field[k] for k in band]
        pegged = _pegged(numbers, places, (along, left), known)
        if pegged is None:
            continue
        line, rank, price = pegged
        lines.append(line)
        worst, rest, cost = max(worst, rank), rest - len(line.served), cost + price
    offsets = [
        abs(line.station_offset(place_of(places[k]))[1]) for line in lines for k in line.served
    ]
    oblique = int(np.count_nonzero(_off_square(np.array(rows), way) >= SQUARE_DEG))
    longest = round(max(offsets, default=0.0))
    return _Tried(tuple(lines), (rest, worst, oblique, len(lines), longest, round(cost, 6)))


def bands(offsets: Array, reach_m: float = OFFSET_M) -> Iterator[list[int]]:
    """Stakes in strips as wide as one line serves, so far to each side, of about one width."""
    low, wide = float(offsets.min()), float(np.ptp(offsets))
    count = max(1, math.ceil((wide - 1e-6) / (2 * reach_m)))
    number = np.clip(((offsets - low) / (wide / count + 1e-9)).astype(int), 0, count - 1)
    for band in range(count):
        stakes = [int(k) for k in np.flatnonzero(number == band)]
        if stakes:
            yield stakes


def _pegged(
    numbers: list[int], places: Array, axes: tuple[Array, Array],
    known: tuple[Sequence[Corner], Ground],
) -> tuple[Line, int, float] | None:  # fmt: skip
    """A line along a band with pegs tied best, what speaks against it, and its cost."""
    (along, left), (corners, ground) = axes, known
    there = places[numbers]
    stations, offset = there @ along, between_rows(there @ left)
    low, high = float(stations.min()), float(stations.max())
    beyond = [*BEYOND_M, 0.0, *(-part * (high - low) for part in INSIDE)]
    ways = np.array([*(low - more for more in beyond), *(high + more for more in beyond)])
    pegs = ways[:, None] * along + offset * left
    feet = stations[:, None] * along + offset * left
    served = _dry(feet, there, ground)
    numbered = tuple(k for k, ok in zip(numbers, served, strict=True) if ok)
    if len(numbered) < LEAST_STAKES // 2:
        return None
    at_fence = ground.unfit(pegs, FENCE_M)
    bench = TieBench(corners, pegs, ground)
    for rank, _, price, first, last in _options(bench, ways, (low, high), at_fence):
        reach = np.array([min(low, ways[first]), max(high, ways[last])])
        tips = reach[:, None] * along + offset * left
        if _dry(tips[:1], tips[1:], ground)[0]:
            return Line(place_of(pegs[first]), place_of(pegs[last]), numbered), rank, price
    return None


def _options(
    bench: TieBench, ways: Array, span: XY, at_fence: Flags
) -> list[tuple[int, int, float, int, int]]:
    """Pairs of pegs, the best first: what speaks against them, those at a fence, cost, numbers."""
    low, high = span
    ranks, prices = bench.best(), bench.best_cost()
    half = len(ways) // 2
    options = []
    for first in range(half):
        for last in range(half, 2 * half):
            # how flat tapes cross is in the price: a peg that outlasts the digging is worth it
            rank = int(max(ranks[first], ranks[last])) & ~FLAT
            long = float(ways[last] - ways[first])
            if rank >= NONE or long < 2 * ROW_M:
                continue
            outside = max(ways[first] - low, 0.0) + max(high - ways[last], 0.0)
            # what is lined out beyond a peg shows its errors enlarged
            price = float(prices[first] + prices[last]) + 8 * outside / long
            price += 0.05 * (first + last - half)
            fences = int(at_fence[first]) + int(at_fence[last])
            options.append((rank, fences, round(price, 6), first, last))
    return sorted(options)


def between_rows(offsets: Array) -> float:
    """Where a line lies best: midway between the two rows in the middle, or on the only one."""
    rows = [float(offsets.min())]
    for offset in sorted(float(value) for value in offsets):
        if offset - rows[-1] > ROW_M:
            rows.append(offset)
    middle = (rows[0] + rows[-1]) / 2
    gaps = [(low + high) / 2 for low, high in pairwise(rows)] or rows
    return min(gaps, key=lambda gap: (round(abs(gap - middle), 6), gap))


def _dry(starts: Array, ends: Array, ground: Ground) -> Flags:
    # a peg that stands in a stake's own place has no way to it
    return ground.clear(starts, ends) & ~ground.wet(starts, ends)


def place_of(place: Array) -> XY:
    """A row of coordinates as a place."""
    return float(place[0]), float(place[1])
