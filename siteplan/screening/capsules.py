"""Free pieces of straight rows among walls that are kept off by a distance: no area is widened.

A row is cut by the exact piece of it that lies within the distance of a wall. What is left between
two such pieces is free, and inside the lot where an odd number of its sides was crossed before.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening import compiled
from siteplan.screening.scan import Floats, Integers, Shapes, Spans, exact_order, joined, turned


@dataclass(frozen=True, slots=True)
class Walls:
    """Edges that rows keep off.

    Parameters
    ----------
    starts, ends
        Their ends; of a point twice its place.
    owner
        Number of the lot, or of the family of rows, rising.
    away
        What is kept from each [m].
    body
        Number of the area that each bounds, which rows do not enter; -1: a side of the lot, -2: a
        line or a point.
    thing
        Number of the thing that each is of; -1: a side of the lot.
    """

    starts: Floats
    ends: Floats
    owner: Integers
    away: Floats
    body: Integers
    thing: Integers

    def ranges(self, lots: Integers) -> tuple[Integers, Integers]:
        """Where the walls of each of the lots begin and end."""
        first = np.searchsorted(self.owner, lots, side="left")
        return first, np.searchsorted(self.owner, lots, side="right")

    def of(self, lots: Integers) -> Walls:
        """Walls of families of rows, each on one of the lots."""
        first, end = self.ranges(lots)
        each = end - first
        which, family = steps(first, each), np.repeat(np.arange(len(lots)), each)
        return Walls(
            self.starts[which], self.ends[which], family, self.away[which], self.body[which],
            self.thing[which],
        )  # fmt: skip

    def turned(self, angle: Floats) -> Walls:
        """The same along and across the direction of each family [rad]."""
        ends = (turned(xy, angle, self.owner) for xy in (self.starts, self.ends))
        first, last = (np.column_stack(each) for each in ends)
        return replace(self, starts=first, ends=last)

    def beside(self, others: Walls) -> Walls:
        """These walls and others, owner by owner."""
        owner = np.concatenate([self.owner, others.owner])
        order = np.argsort(owner, kind="stable")
        return Walls(
            np.concatenate([self.starts, others.starts])[order],
            np.concatenate([self.ends, others.ends])[order],
            owner[order],
            np.concatenate([self.away, others.away])[order],
            np.concatenate([self.body, others.body])[order],
            np.concatenate([self.thing, others.thing])[order],
        )

    def where(self, kept: NDArray[np.bool_]) -> Walls:
        """The walls kept."""
        return Walls(
            self.starts[kept], self.ends[kept], self.owner[kept], self.away[kept], self.body[kept],
            self.thing[kept],
        )  # fmt: skip


BLOCK: Final = 200
"""Families of rows cut at once by arrays: so many that these stay in a processor's cache."""


@dataclass(frozen=True, slots=True)
class Rows:
    """Rows of families: where the first of each lies across, how far apart, how many [m]."""

    first: Floats
    pitch: float
    count: Integers

    def blocks(self) -> Iterator[tuple[slice, Rows]]:
        """So many families at once, and which these are."""
        for begin in range(0, len(self.count), BLOCK):
            some = slice(begin, begin + BLOCK)
            yield some, Rows(self.first[some], self.pitch, self.count[some])


def steps(first: Integers, each: Integers) -> Integers:
    """Numbers that count up from each first one.

    Examples
    --------
    >>> steps(np.array([3, 7]), np.array([2, 3])).tolist()
    [3, 4, 7, 8, 9]
    """
    before = np.cumsum(each) - each
    up = np.arange(int(each.sum()), dtype=np.int64)
    return np.asarray(up + np.repeat(first - before, each), dtype=np.int64)


def before(rows: Rows) -> Integers:
    """How many rows there are of the families before each."""
    return np.cumsum(rows.count) - rows.count


def number_of(pieces: Spans, rows: Rows) -> Integers:
    """Number of the row of each piece, over all."""
    return before(rows)[pieces.family] + pieces.row


def begin_of(pieces: Spans, rows: Rows) -> Integers:
    """Which piece is the first on each row, over all, and at the end how many there are."""
    each = np.bincount(number_of(pieces, rows), minlength=int(rows.count.sum()))
    return np.concatenate([[0], np.cumsum(each)])


def walls_of(shapes: Shapes, owner: Integers, away: Floats, *, sides: bool) -> Walls:
    """Walls of shapes: sides of lots, or things on them."""
    points, which = shapely.get_coordinates(shapes, return_index=True)
    joined = which[1:] == which[:-1]
    starts, ends, shape = points[:-1][joined], points[1:][joined], which[:-1][joined]
    if not sides:
        single = shapely.get_type_id(shapes) == 0
        dots, place = shapely.get_coordinates(shapes[single], return_index=True)
        shape = np.concatenate([shape, np.flatnonzero(single)[place]])
        starts, ends = np.concatenate([starts, dots]), np.concatenate([ends, dots])
        order = np.argsort(shape, kind="stable")
        starts, ends, shape = starts[order], ends[order], shape[order]
    area = shapely.get_dimensions(shapes) == 2
    body = np.full(len(shape), -1) if sides else np.where(area[shape], shape, -2)
    thing = body if sides else shape
    return Walls(
        starts, ends, owner[shape], away[shape], body.astype(np.int64), thing.astype(np.int64)
    )


Taken = tuple[Integers, Floats, Floats, NDArray[np.bool_], Integers]
"""What is taken of rows: number of the row over all, low and high end, whether a side of the lot is
crossed there, and a tag of the wall."""


def free_pieces(walls: Walls, rows: Rows) -> Spans:
    """Pieces of rows that are free of all walls and lie inside the lot.

    ``walls``: along and across the direction of each family; among them all sides of its lot, from
    which something is kept, so that a row that crosses one is within that distance there.
    """
    return gaps_of(in_order(taken_of(walls, rows, walls.thing)), rows)


def taken_of(walls: Walls, rows: Rows, tag: Integers) -> Taken:
    """What walls take of rows; ``tag``: what is told of each wall, of a body the same of all."""
    solid = walls.body >= 0
    thin = walls.where(~solid)
    first, each = _met(*_extent(thin), rows, thin.owner)
    row, wall = steps(first, each), np.repeat(np.arange(len(each)), each)
    low, high = _piece(thin, rows, row, wall)
    across = rows.first[thin.owner[wall]] + row * rows.pitch
    under = thin.starts[wall, 1] <= across
    crossed = (under != (thin.ends[wall, 1] <= across)) & (thin.body[wall] == -1)
    row = row + before(rows)[thin.owner[wall]]
    parts = [(row, low, high, crossed, tag[~solid][wall])]
    if solid.any():
        row, low, high, body = _covered(walls.where(solid), rows)
        none = np.zeros(len(row), dtype=bool)
        parts.append((row, low, high, none, tag[solid][body]))
    row, low, high, crossed, told = (np.concatenate(each) for each in zip(*parts, strict=True))
    return only((row, low, high, crossed, told), low <= high)


def in_order(taken: Taken) -> Taken:
    """What is taken of rows, row by row and along each."""
    order = exact_order(taken[0], taken[1])
    row, low, high, crossed, tag = taken
    return row[order], low[order], high[order], crossed[order], tag[order]


def only(taken: Taken, kept: NDArray[np.bool_]) -> Taken:
    """Some of what is taken."""
    row, low, high, crossed, tag = taken
    return row[kept], low[kept], high[kept], crossed[kept], tag[kept]


def gaps_of(taken: Taken, rows: Rows) -> Spans:
    """Pieces of rows between what is taken of them, in order, inside the lot."""
    family = np.repeat(np.arange(len(rows.count)), rows.count)
    number, start, end = _between(*taken[:4])
    return Spans(family[number], number - before(rows)[family[number]], start, end)


def free_on(walls: Walls, lots: Integers, angle: Floats, rows: Rows) -> Spans:
    """Free pieces of families of rows, each on one of the lots and in a direction of its own [rad].

    Parameters
    ----------
    walls
        Those of all lots; see :func:`free_pieces`.
    lots, angle, rows
        Lot and direction of each family, and its rows.
    """
    quick = compiled.quick("free_rows")
    if quick is None:
        found = [
            free_pieces(walls.of(lots[some]).turned(angle[some]), block).after(some.start)
            for some, block in rows.blocks()
        ]
        return joined(found)
    names, ends = quick(
        (walls.starts, walls.ends, walls.away, walls.body), walls.ranges(lots),
        (np.cos(angle), np.sin(angle)), (rows.first, rows.pitch, rows.count),
    )  # fmt: skip
    return Spans(names[:, 0], names[:, 1], ends[:, 0], ends[:, 1])


def covered(walls: Walls, rows: Rows) -> tuple[Integers, Floats, Floats]:
    """What bodies take of rows, each as one piece: number of the row over all, low and high end.

    ``walls``: those of a body one after the other.
    """
    return _covered(walls, rows)[:3]


def _covered(walls: Walls, rows: Rows) -> tuple[Integers, Floats, Floats, Integers]:
    """The same, with the first wall of the body of each."""
    fresh = np.ones(len(walls.body), dtype=bool)
    fresh[1:] = (np.diff(walls.body) != 0) | (np.diff(walls.owner) != 0)
    start, which = np.flatnonzero(fresh), np.cumsum(fresh) - 1
    if not len(start):
        return which, walls.away, walls.away, which
    low, high = _extent(walls)
    low, high = np.minimum.reduceat(low, start), np.maximum.reduceat(high, start)
    owner = walls.owner[start]
    first, each = _met(low, high, rows, owner)
    row, wall = steps(first[which], each[which]), np.repeat(np.arange(len(which)), each[which])
    begin, end = _piece(walls, rows, row, wall)
    # a slot for each row of each body
    slot = (np.cumsum(each) - each - first)[which[wall]] + row
    ends = np.full((2, int(each.sum())), np.inf)
    np.minimum.at(ends[0], slot, begin)
    np.minimum.at(ends[1], slot, -end)
    return steps(first + before(rows)[owner], each), ends[0], -ends[1], np.repeat(start, each)


def _extent(walls: Walls) -> tuple[Floats, Floats]:
    """Between which places across rows each wall takes something."""
    low, high = (
        np.minimum(walls.starts[:, 1], walls.ends[:, 1]),
        np.maximum(walls.starts[:, 1], walls.ends[:, 1]),
    )
    return low - walls.away, high + walls.away


def _met(low: Floats, high: Floats, rows: Rows, owner: Integers) -> tuple[Integers, Integers]:
    """First of the rows between two places, and how many there are."""
    shift = rows.first[owner]
    first = np.maximum(np.ceil((low - shift) / rows.pitch), 0).astype(np.int64)
    last = np.minimum(np.floor((high - shift) / rows.pitch), rows.count[owner] - 1)
    return first, np.maximum(last.astype(np.int64) - first + 1, 0)


def _piece(walls: Walls, rows: Rows, row: Integers, wall: Integers) -> tuple[Floats, Floats]:
    across = rows.first[walls.owner[wall]] + row * rows.pitch
    ends = np.vstack([walls.starts.T, walls.ends.T, walls.away])[:, wall]
    return within_away(across, ends)


def within_away(across: Floats, walls: Floats) -> tuple[Floats, Floats]:
    """Piece of a row within the distance of an edge, for each pair; infinite ends: none.

    ``walls``: for each pair along and across of the start and of the end, and the distance.

    Examples
    --------
    Half a metre beside an edge of 2 m that lies along the row, with 1 m kept from it:

    >>> low, high = within_away(np.array([0.5]), np.array([[0.0], [0.0], [2.0], [0.0], [1.0]]))
    >>> low.round(3).tolist(), high.round(3).tolist()
    ([-0.866], [2.866])
    """
    u0, v0, u1, v1, away = walls
    low, high = np.full(len(across), np.inf), np.full(len(across), -np.inf)
    for u, v in ((u0, v0), (u1, v1)):
        off = across - v
        inside = away * away - off * off
        half = np.sqrt(np.maximum(inside, 0.0))
        low = np.where(inside >= 0, np.minimum(low, u - half), low)
        high = np.where(inside >= 0, np.maximum(high, u + half), high)
    du, dv = u1 - u0, v1 - v0
    length = np.maximum(np.sqrt(du * du + dv * dv), 1e-12)
    out_u, out_v = away * dv / length, away * du / length
    steep = np.where(dv == 0, np.inf, dv)
    for side in (1.0, -1.0):
        share = (across - v0 - side * out_v) / steep
        meets = (share >= 0) & (share <= 1) & (dv != 0)
        u = u0 + share * du - side * out_u
        low = np.where(meets, np.minimum(low, u), low)
        high = np.where(meets, np.maximum(high, u), high)
    return low, high


def _between(
    row: Integers, low: Floats, high: Floats, crossed: NDArray[np.bool_]
) -> tuple[Integers, Floats, Floats]:
    """Gaps between what is taken of each row, inside the lot: row, start and end."""
    if len(row) < 2:
        return row[:0], low[:0], high[:0]
    sides, same = np.asarray(np.cumsum(crossed)), row[1:] == row[:-1]
    first = np.flatnonzero(np.append(True, ~same))
    before: Integers = np.repeat(sides[first] - crossed[first], np.diff(first, append=len(row)))
    inside = (sides - before) % 2 == 1
    far = _farthest(row, high)
    gap = inside[:-1] & same & (low[1:] > far[:-1])
    return row[:-1][gap], far[:-1][gap], low[1:][gap]


def _farthest(row: Integers, high: Floats) -> Floats:
    """The farthest end so far, row by row."""
    far, step = high, 1
    while step < len(row):
        same = row[step:] == row[:-step]
        if not same.any():
            break
        far = np.concatenate([
            far[:step], np.where(same, np.maximum(far[step:], far[:-step]), far[step:])
        ])  # fmt: skip
        step *= 2
    return far
