"""Straight rows through many areas at once: where each row enters and leaves its area.

The same cut as :mod:`siteplan.geometry.points.scanline` makes of one area, for all in one sweep:
every edge of every area is cut by the rows of its own area. Arrays grow with the edges that there
are, so that no buffer has a size of its own.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.geometry.points.scanline import order_within

Floats = NDArray[np.float64]
Integers = NDArray[np.int64]
Shapes = NDArray[np.object_]

HAIR: Final = 1e-7
"""How far inside its edge an area's outermost row lies [m]."""


@dataclass(frozen=True, slots=True)
class Edges:
    """Edges of the rings of many areas, and the number of the area of each."""

    starts: Floats
    ends: Floats
    owner: Integers

    def of(self, areas: NDArray[np.bool_]) -> Edges:
        """Edges of some of the areas."""
        if areas.all():
            return self
        kept = areas[self.owner]
        return Edges(self.starts[kept], self.ends[kept], self.owner[kept])


@dataclass(frozen=True, slots=True)
class Spans:
    """Pieces of rows inside their areas, sorted by family, row and start.

    Parameters
    ----------
    family
        Number of the family of rows.
    row
        Number of the row in it.
    start, end
        Ends along the row [m].
    """

    family: Integers
    row: Integers
    start: Floats
    end: Floats

    @property
    def length(self) -> Floats:
        """Length of each piece [m]."""
        return self.end - self.start

    def where(self, kept: NDArray[np.bool_]) -> Spans:
        """The pieces kept."""
        return Spans(self.family[kept], self.row[kept], self.start[kept], self.end[kept])

    def after(self, families: int) -> Spans:
        """The same, as of families that stand after so many others."""
        return Spans(self.family + families, self.row, self.start, self.end)


def joined(pieces: list[Spans]) -> Spans:
    """Pieces of several, one after the other."""
    whole, real = np.zeros(0, dtype=np.int64), np.zeros(0)
    all_ = [Spans(whole, whole, real, real), *pieces]
    return Spans(
        np.concatenate([each.family for each in all_]),
        np.concatenate([each.row for each in all_]),
        np.concatenate([each.start for each in all_]),
        np.concatenate([each.end for each in all_]),
    )


def edges_of(areas: Shapes) -> Edges:
    """Edges of polygons and multipolygons; what is empty has none."""
    if (shapely.get_type_id(areas) == 3).all() and not shapely.get_num_interior_rings(areas).any():
        # one ring each: no copies of rings are made
        points, owner = shapely.get_coordinates(areas, return_index=True)
        joined = owner[1:] == owner[:-1]
        return Edges(points[:-1][joined], points[1:][joined], owner[:-1][joined].astype(np.int64))
    parts, area = shapely.get_parts(areas, return_index=True)
    polygonal = shapely.get_dimensions(parts) == 2
    rings, part = shapely.get_rings(parts[polygonal], return_index=True)
    points, ring = shapely.get_coordinates(rings, return_index=True)
    joined = ring[1:] == ring[:-1]
    owner = area[polygonal][part][ring[:-1]][joined]
    return Edges(points[:-1][joined], points[1:][joined], owner.astype(np.int64))


def turned(points: Floats, angle: Floats, which: Integers | None = None) -> tuple[Floats, Floats]:
    """Coordinates along and across directions [m].

    ``which``: number of the direction of each point; else there is one for each.
    """
    cosine, sine = np.cos(angle), np.sin(angle)
    if which is not None:
        cosine, sine = cosine[which], sine[which]
    x, y = points[:, 0], points[:, 1]
    return x * cosine + y * sine, y * cosine - x * sine


def cut(edges: Edges, angle: Floats, offsets: Floats, pitch: float) -> Spans:
    """Pieces inside of the rows of every family.

    Parameters
    ----------
    edges
        Edges of the areas.
    angle
        Direction of the rows of each area [rad].
    offsets
        For each area the places across it of row 0 of each of its families [m].
    pitch
        Distance from row to row [m].
    """
    along_0, across_0 = turned(edges.starts, angle, edges.owner)
    along_1, across_1 = turned(edges.ends, angle, edges.owner)
    shift = offsets[edges.owner]
    low, high = np.minimum(across_0, across_1)[:, None], np.maximum(across_0, across_1)[:, None]
    first = np.ceil((low - shift) / pitch)
    count = (np.ceil((high - shift) / pitch) - first).astype(np.int64)
    members = np.arange(offsets.size, dtype=np.int64).reshape(offsets.shape)[edges.owner]
    each = count.ravel()
    family, by_edge = np.repeat(members.ravel(), each), count.sum(axis=1)
    row = np.repeat(first.ravel() - (np.cumsum(each) - each), each) + np.arange(each.sum())
    begin = np.repeat(across_0, by_edge)
    share = np.repeat(shift.ravel(), each) + row * pitch - begin
    share = np.clip(share / np.repeat(across_1 - across_0, by_edge), 0.0, 1.0)
    along = np.repeat(along_0, by_edge) + share * np.repeat(along_1 - along_0, by_edge)
    return _paired(family, row.astype(np.int64), along)


def exact_order(group: Integers, value: Floats) -> Integers:
    """Order by group and by value within a group, also of values that nearly tie.

    Examples
    --------
    >>> exact_order(np.array([9, 0, 9, 9]), np.array([1.0, 5.0, 1 - 1e-15, 0.5])).tolist()
    [1, 3, 2, 0]
    """
    order = order_within(group, value)
    placed, within = value[order], group[order]
    if ((placed[1:] < placed[:-1]) & (within[1:] == within[:-1])).any():
        order = np.lexsort((value, group)).astype(np.int64)
    return order


def _paired(family: Integers, row: Integers, along: Floats) -> Spans:
    """Pieces from crossings: in each row these enter and leave by turns."""
    if along.size == 0:
        return Spans(family, row, along, along)
    rows = int(row.max() - row.min()) + 1
    order = exact_order(family * rows + (row - row.min()), along)
    ends, enter = along[order].reshape(-1, 2), order[::2]
    return Spans(family[enter], row[enter], ends[:, 0], ends[:, 1])


def apart(spans: Spans, gap: float) -> Spans:
    """The pieces, each begun so far behind the end of the one before in its row [m]."""
    same = np.zeros(len(spans.row), dtype=bool)
    same[1:] = (spans.row[1:] == spans.row[:-1]) & (spans.family[1:] == spans.family[:-1])
    start = spans.start.copy()
    start[1:] = np.where(same[1:], np.maximum(start[1:], spans.end[:-1] + gap), start[1:])
    return Spans(spans.family, spans.row, start, spans.end)


def directions(areas: Shapes, count: int) -> Floats:
    """Directions to lay rows in, a line for each area: along its longest sides, and across [rad].

    Every other direction is square to the one before it.
    """
    edges = edges_of(areas)
    steps = edges.ends - edges.starts
    length, angle = np.hypot(*steps.T), np.arctan2(steps[:, 1], steps[:, 0]) % (np.pi / 2)
    found = np.zeros((len(areas), count))
    begin = np.flatnonzero(np.diff(edges.owner, prepend=-1))
    each = np.diff(begin, append=len(edges.owner))
    for number in range(0, count, 2):
        longest = np.flatnonzero(length == np.repeat(np.maximum.reduceat(length, begin), each))
        # of several that are as long the first
        best = longest[np.flatnonzero(np.diff(edges.owner[longest], prepend=-1))]
        found[edges.owner[best], number] = angle[best]
        # sides that run nearly as the one taken say nothing new
        off = np.abs(angle - found[edges.owner, number])
        length = np.where(np.minimum(off, np.pi / 2 - off) < np.radians(8), 0.0, length)
    found[:, 1::2] = found[:, 0 : count - 1 : 2] + np.pi / 2
    return found


def families(edges: Edges, angle: Floats, pitch: float, count: int) -> Floats:
    """Places of row 0 of each area's families: from its lowest corner, and at its highest [m]."""
    _, across = turned(edges.starts, angle, edges.owner)
    ends = np.zeros((2, len(angle)))
    first = np.flatnonzero(np.diff(edges.owner, prepend=-1))
    if len(first):
        ends[:, edges.owner[first]] = (
            np.minimum.reduceat(across, first), np.maximum.reduceat(across, first)
        )  # fmt: skip
    shares = np.arange(count - 1) / max(count - 1, 1)
    inner = ends[0][:, None] + HAIR + pitch * shares
    return np.hstack([inner, ends[1][:, None] - HAIR])
