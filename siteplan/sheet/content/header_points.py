"""Points of the header that have to be staked: entry, bends and branching points."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely import LineString, MultiLineString, Point, STRtree

from siteplan.layout.model import Header, Landing, Layout
from siteplan.layout.pit import HeaderPit
from siteplan.sheet.content.ties import tie_targets
from siteplan.sheet.kept import kept
from siteplan.sheet.model import XY

BEND_DEG = 1.0
"""A smaller turn is dug straight (common practice, no source) [deg]."""
SAME_M = 0.01
"""Points closer than this are one stake [m]."""
STRAIGHT_M = 0.05
"""A header that runs so near to the line between two stakes is dug by them alone (common practice,
no source): the arc round a corner has stakes as far apart as that allows [m]."""
MOST_POINTS = 24
"""Of more points than this, an only sheet has the entry alone."""

ENTRY_NAME = "H1"
"""The first of them."""


@dataclass(frozen=True, slots=True)
class HeaderPoint:
    """A stake of the header, under a name of its own; ``main``: on its longest way.

    ``landing``: where it comes through the shore of a pond.
    """

    name: str
    at: XY
    main: bool
    landing: Landing | None = None

    @property
    def is_entry(self) -> bool:
        """Whether it is where the header enters the building."""
        return self.name == ENTRY_NAME

    @property
    def said(self) -> str:
        """What it is, beside its name on the plan, where a builder has to know."""
        if self.landing is None:
            return ""
        return "SHORE ENTRY" if self.landing.stated else "SHORE ENTRY, ASSUMED"


@kept
def header_points(layout: Layout) -> tuple[HeaderPoint, ...]:
    """Entry, bends and branching points of the header, from the entry along its longest way.

    Manifold and corners of a header pit come last.

    Points at an element have no name here: they are staked with the element.
    """
    header = layout.header
    if header is None:
        return ()
    near = _neighbours(header)
    order, main = _walk(near, (float(header.entry.point.x), float(header.entry.point.y)))
    taken = [
        *((landing.at, SAME_M) for landing in header.landings),
        *_by_elements(layout),
    ]
    bends = _bends(near, order[0])
    kept = [
        point
        for number, point in enumerate(order)
        if number == 0 or (point in bends and all(math.dist(point, at) > r for at, r in taken))
    ]
    # the entry comes first: it is `ENTRY_NAME`
    points = tuple(HeaderPoint(f"H{k}", at, at in main) for k, at in enumerate(kept, 1))
    points += tuple(_landings(header))
    return points + (() if header.pit is None else _of_pit(header, header.pit))


def _by_elements(layout: Layout) -> list[tuple[XY, float]]:
    """Where elements are staked, and how near to that no other stake stands."""
    return [
        (target, element.reach_m + SAME_M)
        for element in layout.elements
        for target in tie_targets(element)
    ]


def _landings(header: Header) -> Iterator[HeaderPoint]:
    """Where the header comes through a shore."""
    for number, landing in enumerate(header.landings, 1):
        name = "HS" if len(header.landings) == 1 else f"HS{number}"
        yield HeaderPoint(name, landing.at, True, landing)


def listed_points(layout: Layout, *, tabled: bool) -> tuple[HeaderPoint, ...]:
    """Points that are named on the plan and stand in the table of the header, which are the same.

    ``tabled``: whether the tables have sheets of their own, which have room for all of them.
    """
    points = header_points(layout)
    return points if tabled or len(points) <= MOST_POINTS else points[:1]


def _of_pit(header: Header, pit: HeaderPit) -> tuple[HeaderPoint, ...]:
    """The manifold of a header pit, and the corners of the pit."""
    joint = pit.joint(MultiLineString(list(header.runs)))
    corners = (HeaderPoint(f"HP{k}", at, True) for k, at in enumerate(pit.corners, 1))
    return HeaderPoint("HP", joint, True), *corners


def points_note(points: Sequence[HeaderPoint]) -> str:
    """What the points of the header are."""
    if len(points) < 2:
        return "H1: the entry."
    pit = " HP: the manifold in the header pit, HP1 and on: its corners."
    landings = [point.landing for point in points if point.landing is not None]
    shore = " HS: where header and electric line come through the shore"
    shore += ", as stated." if all(at.stated for at in landings) else ": assumed, nobody states it."
    others = "H1: the entry. Others: bends and branches of the header."
    others += shore if landings else ""
    return others + (pit if any(point.name == "HP" for point in points) else "")


def _neighbours(header: Header) -> dict[XY, list[XY]]:
    """Points of the header and the next ones along it; a leg that starts on a run joins it."""
    runs = [[(float(x), float(y)) for x, y, *_ in run.coords] for run in header.runs]
    spots = _Spots()
    paths = [[spots.known(point) for point in run] for run in runs]
    between = _Between(spots.points)
    near: dict[XY, dict[XY, None]] = {}
    for path in paths:
        for start, end in pairwise(path):
            stops = [start, *between.of(start, end), end]
            for stop, other in pairwise(stops):
                if stop != other:
                    near.setdefault(stop, {})[other] = None
                    near.setdefault(other, {})[stop] = None
    return {point: list(others) for point, others in near.items()}


class _Spots:
    """Points each known once; what comes nearer than ``SAME_M`` to one is that one."""

    def __init__(self) -> None:
        self.points: list[XY] = []
        self._cells: dict[tuple[int, int], list[int]] = {}

    def known(self, point: XY) -> XY:
        """The first known point that is this one; itself where there is none yet."""
        east, north = (math.floor(value / SAME_M) for value in point)
        around = [(east + x, north + y) for x in (-1, 0, 1) for y in (-1, 0, 1)]
        numbers = sorted(number for cell in around for number in self._cells.get(cell, ()))
        for number in numbers:
            if math.dist(point, self.points[number]) < SAME_M:
                return self.points[number]
        self._cells.setdefault((east, north), []).append(len(self.points))
        self.points.append(point)
        return point


class _Between:
    """Points that lie on straight pieces between two others."""

    def __init__(self, points: Sequence[XY]) -> None:
        self._points = points
        self._tree = STRtree(shapely.points(points))

    def of(self, start: XY, end: XY) -> list[XY]:
        """Points that lie on a straight piece, in its order."""
        length = math.dist(start, end)
        # the way over a point 1 cm beside a line is longer by about the square of that only
        longer = SAME_M**2
        aside = math.sqrt((length + longer) ** 2 - length**2)
        near = self._tree.query(LineString([start, end]), predicate="dwithin", distance=aside)
        candidates = (self._points[number] for number in sorted(near.tolist()))
        bends = [
            point
            for point in candidates
            if point not in (start, end)
            and math.dist(start, point) + math.dist(point, end) - length < longer
        ]
        return sorted(bends, key=lambda point: math.dist(start, point))


def _walk(near: dict[XY, list[XY]], entry: XY) -> tuple[list[XY], frozenset[XY]]:
    """All points in walking order, the longest way first, and the points of that way."""
    root = min(near, key=lambda point: math.dist(point, entry))
    before: dict[XY, XY] = {root: root}
    reach = {root: 0.0}
    stack, order = [root], []
    while stack:
        here = stack.pop()
        order.append(here)
        # one branch to its end before the next, so that numbers follow one another on the ground
        for other in reversed(near[here]):
            if other not in before:
                before[other] = here
                reach[other] = reach[here] + math.dist(here, other)
                stack.append(other)
    way = [max(order, key=lambda point: reach[point])]
    while way[-1] != root:
        way.append(before[way[-1]])
    main = frozenset(way)
    return [*reversed(way), *(point for point in order if point not in main)], main


def _bends(near: dict[XY, list[XY]], root: XY) -> frozenset[XY]:
    """Where the header ends or branches, and the bends by which it is dug between those."""
    ends = [point for point, others in near.items() if len(others) != 2 or point == root]
    bends = set(ends)
    for end in ends:
        for other in near[end]:
            bends.update(_straightened(_way_to_end(near, end, other)))
    return frozenset(point for point in bends if point in ends or _turns(point, near[point]))


def _way_to_end(near: dict[XY, list[XY]], start: XY, second: XY) -> list[XY]:
    """Points from one end or branch of the header to the next one."""
    way = [start, second]
    while len(near[way[-1]]) == 2 and way[-1] != start:
        first, last = near[way[-1]]
        way.append(last if first == way[-2] else first)
    return way


def _straightened(way: Sequence[XY]) -> list[XY]:
    """Points of a way that it stays near to when it runs straight between them.

    Examples
    --------
    >>> _straightened([(0.0, 0.0), (1.0, 0.01), (2.0, 0.0), (2.0, 3.0)])
    [(0.0, 0.0), (2.0, 0.0), (2.0, 3.0)]
    """
    # the same points whichever end it is walked from
    ordered = way if way[0] <= way[-1] else way[::-1]
    stakes, last = [ordered[0]], 0
    for here in range(2, len(ordered)):
        straight = LineString([ordered[last], ordered[here]])
        # as far as it goes: of an even arc the farthest point would be one or the other by chance
        if any(straight.distance(Point(at)) > STRAIGHT_M for at in ordered[last + 1 : here]):
            last = here - 1
            stakes.append(ordered[last])
    return [*stakes, ordered[-1]]


def _turns(point: XY, near: list[XY]) -> bool:
    """Whether the header ends, branches or bends at a point."""
    if len(near) != 2:
        return True
    toward, other = (math.atan2(end[1] - point[1], end[0] - point[0]) for end in near)
    turn = math.degrees(abs(toward - other)) % 360.0
    return abs(turn - 180.0) > BEND_DEG
