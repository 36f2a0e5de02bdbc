"""The header as a tree: where each element joins it, and what lies between."""

from __future__ import annotations

import heapq
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from itertools import pairwise, product
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely import LineString, MultiLineString, Point, STRtree
from shapely.ops import substring

from siteplan.layout.elements import Element
from siteplan.layout.model import Header

SAME_M: Final = 5e-3
"""Points closer than this are one [m]."""
ELBOW_DEG: Final = 30.0
"""A smaller turn is bent without an elbow; common practice, no source [deg]."""

XY = tuple[float, float]


@dataclass(frozen=True)
class HeaderTree:
    """Points of a header, each with the way to the next one towards the entry.

    Parameters
    ----------
    points
        The entry first; every other point stands behind the one it leads to.
    parents
        Number of the point it leads to; -1 for the entry.
    lengths_m
        Length of that way [m].
    bends
        Turns on that way that take an elbow.
    stops
        For each element the point at which it joins.
    leads_m
        For each element the gap between it and the header [m].
    pit
        Point at which the manifold of a header pit stands; 0 where there is no pit.
    """

    points: tuple[XY, ...]
    parents: tuple[int, ...]
    lengths_m: tuple[float, ...]
    bends: tuple[int, ...]
    stops: tuple[int, ...]
    leads_m: tuple[float, ...]
    pit: int = 0

    @cached_property
    def reaches_m(self) -> tuple[float, ...]:
        """Way from the entry to each point [m]."""
        reach = [0.0] * len(self.points)
        for node in range(1, len(self.points)):
            reach[node] = reach[self.parents[node]] + self.lengths_m[node]
        return tuple(reach)

    @cached_property
    def children(self) -> tuple[tuple[int, ...], ...]:
        """Points that lead to each point."""
        children: list[list[int]] = [[] for _ in self.points]
        for node in range(1, len(self.points)):
            children[self.parents[node]].append(node)
        return tuple(tuple(below) for below in children)

    def way(self, node: int) -> list[int]:
        """Points from one to the entry, both included."""
        nodes = [node]
        while self.parents[nodes[-1]] >= 0:
            nodes.append(self.parents[nodes[-1]])
        return nodes

    def meeting(self, nodes: Sequence[int]) -> int:
        """The point farthest from the entry through which the ways of all lead."""
        common = set(self.way(nodes[0])).intersection(*(self.way(node) for node in nodes[1:]))
        return max(common, key=lambda node: (self.reaches_m[node], node))

    def between(self, nodes: Sequence[int]) -> list[int]:
        """Points from which the way to the next one towards the entry joins points."""
        top = self.meeting(nodes)
        return sorted({step for node in nodes for step in self.way(node)} - set(self.way(top)))

    def span(self, nodes: Sequence[int]) -> float:
        """Length of header that joins points with one another [m]."""
        # asked for a million times while loops are divided into circuits: sets of points as bits of
        # a whole number, and the lengths of eight of them looked up at a time
        some, every = 0, -1
        for node in nodes:
            some |= self._ways[node]
            every &= self._ways[node]
        between, length = some & ~every, 0.0
        for sums in self._sums:
            length += sums[between & 255]
            between >>= 8
        return length

    @cached_property
    def _ways(self) -> tuple[int, ...]:
        """Points on the way from each to the entry, as bits."""
        return tuple(sum(1 << step for step in self.way(node)) for node in range(len(self.points)))

    @cached_property
    def _sums(self) -> tuple[tuple[float, ...], ...]:
        """Lengths of every choice of eight points, for each eight of them [m]."""
        return tuple(
            tuple(
                sum(length for bit, length in enumerate(eight) if chosen >> bit & 1)
                for chosen in range(256)
            )
            for eight in (self.lengths_m[k : k + 8] for k in range(0, len(self.points), 8))
        )


def header_tree(header: Header, elements: Sequence[Element]) -> HeaderTree:
    """Tree of a header, with a point where it branches or where an element joins it.

    Examples
    --------
    >>> from siteplan.layout.elements import Bore
    >>> from siteplan.site.model import Entry
    >>> run = LineString([(0, 0), (10, 0), (10, 5)])
    >>> bores = [Bore("B1", 4.0, 0.0, 0.15, 90.0), Bore("B2", 10.0, 5.0, 0.15, 90.0)]
    >>> tree = header_tree(Header((run,), Entry("E1", Point(0, 0))), bores)
    >>> tree.points, tree.lengths_m, tree.bends, tree.stops
    (((0.0, 0.0), (4.0, 0.0), (10.0, 5.0)), (0.0, 4.0, 11.0), (0, 0, 1), (1, 2))
    """
    meetings = _meetings(elements, header.runs)
    ends = [Point(run.coords[at]) for run in header.runs for at in (0, -1)]
    # at a pit circuits end and two pipes go on, so that it is a point of the tree in any case
    joint = [] if header.pit is None else [Point(header.pit.joint(MultiLineString(header.runs)))]
    places = [*ends, *(at for at, _ in meetings), *joint]
    spots = shapely.points([(spot.x, spot.y) for spot in places])
    known = _Known()
    links: dict[int, dict[int, tuple[float, int]]] = {}
    tree = STRtree(spots)
    for run in header.runs:
        near = spots[np.sort(tree.query(run, predicate="dwithin", distance=SAME_M))]
        for start, end, length, bends in _pieces(run, near, known):
            links.setdefault(start, {})[end] = (length, bends)
            links.setdefault(end, {})[start] = (length, bends)
    root, *stops = known.nearest([header.entry.point, *(at for at, _ in meetings)])
    leads = [lead for _, lead in meetings]
    rooted = _rooted(known.points, links, root, stops=stops, leads=leads)
    if not joint:
        return rooted
    gaps = np.hypot(*(np.array(rooted.points) - (joint[0].x, joint[0].y)).T)
    return replace(rooted, pit=int(np.argmin(gaps)))


def _meetings(elements: Sequence[Element], runs: Sequence[LineString]) -> list[tuple[Point, float]]:
    """Where each element joins the header, and how far it lies from it."""
    ends = [Point(end) for element in elements for end in element.ends]
    whose = [number for number, element in enumerate(elements) for _ in element.ends]
    joints: list[list[tuple[Point, float]]] = [[] for _ in elements]
    nearest: dict[int, int] = {}
    for end, run in sorted(STRtree(runs).query_nearest(ends).T.tolist()):
        # of runs as near the first
        nearest.setdefault(end, run)
    for end, run in nearest.items():
        at = runs[run].interpolate(runs[run].project(ends[end]))
        joints[whose[end]].append((at, float(ends[end].distance(runs[run]))))
    return [min(some, key=lambda pair: round(pair[1], 3)) for some in joints]


class _Known:
    """Points met so far, near ones under one number."""

    def __init__(self) -> None:
        self.points: list[XY] = []
        self._squares: dict[tuple[int, int], list[int]] = {}

    def number(self, at: XY) -> int:
        """Number of a point, a new one where none is near."""
        column, row = (math.floor(value / SAME_M) for value in at)
        beside = [
            number
            for square in product(range(column - 1, column + 2), range(row - 1, row + 2))
            for number in self._squares.get(square, ())
        ]
        gaps = ((math.dist(self.points[number], at), number) for number in beside)
        gap, nearest = min(gaps, default=(math.inf, 0))
        if gap < SAME_M:
            return nearest
        self._squares.setdefault((column, row), []).append(len(self.points))
        self.points.append(at)
        return len(self.points) - 1

    def nearest(self, spots: Sequence[Point]) -> list[int]:
        """Number of the point nearest to each spot."""
        places = np.array([(at.x, at.y) for at in spots])
        _, numbers = cKDTree(np.array(self.points)).query(places)
        return [int(number) for number in np.atleast_1d(numbers)]


def _pieces(run: LineString, spots: np.ndarray, known: _Known) -> list[tuple[int, int, float, int]]:
    """A run cut at the spots on it: numbers of both ends, length and bends of each piece."""
    cuts = sorted({0.0, float(run.length), *shapely.line_locate_point(run, spots).tolist()})
    kept = [cuts[0]]
    # pieces of a few millimetres come from rounding: a fitting for each would be counted
    kept += [cut for before, cut in pairwise(cuts) if cut - before >= SAME_M]
    pieces = []
    for start, end in pairwise(kept):
        piece = LineString(substring(run, start, end).coords)
        first, last = ((float(x), float(y)) for x, y, *_ in (piece.coords[0], piece.coords[-1]))
        start_number, end_number = known.number(first), known.number(last)
        if start_number != end_number:
            pieces.append((start_number, end_number, float(piece.length), elbows_of(piece)))
    return pieces


def elbows_of(line: LineString) -> int:
    """Turns of a line that take an elbow.

    Examples
    --------
    >>> elbows_of(LineString([(0, 0), (0, 4), (4, 4)])), elbows_of(LineString([(0, 0), (0, 4)]))
    (1, 0)
    """
    steps = np.diff(np.array(line.coords)[:, :2], axis=0)
    # a drawing tells places to a grid: a line cut at a corner keeps a hair of the side before it
    steps = steps[np.hypot(steps[:, 0], steps[:, 1]) >= SAME_M]
    turns = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    change = np.abs((np.diff(turns) + 180.0) % 360.0 - 180.0)
    return int(np.count_nonzero(change > ELBOW_DEG))


def _rooted(
    points: Sequence[XY],
    links: dict[int, dict[int, tuple[float, int]]],
    root: int,
    *,
    stops: Sequence[int],
    leads: Sequence[float],
) -> HeaderTree:
    """Tree of shortest ways to the root, its points numbered outward."""
    order: list[tuple[int, int, float, int]] = []
    number: dict[int, int] = {}
    waiting: list[tuple[float, int, int, float, int]] = [(0.0, root, -1, 0.0, 0)]
    # nearest first, so that each point stands behind the one it leads to
    while waiting:
        reach, node, parent, length, bends = heapq.heappop(waiting)
        if node in number:
            continue
        number[node] = len(order)
        order.append((node, parent, length, bends))
        for other, (step, turns) in links.get(node, {}).items():
            if other not in number:
                heapq.heappush(waiting, (reach + step, other, number[node], step, turns))
    return HeaderTree(
        points=tuple(points[node] for node, *_ in order),
        parents=tuple(parent for _, parent, _, _ in order),
        lengths_m=tuple(length for _, _, length, _ in order),
        bends=tuple(bends for *_, bends in order),
        stops=tuple(number[stop] for stop in stops),
        leads_m=tuple(leads),
    )
