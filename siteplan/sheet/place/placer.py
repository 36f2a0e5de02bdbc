"""Finding a free place for a label: many candidates, the cheapest one is taken."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator, Sequence
from functools import cache
from itertools import compress, islice
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.preferences.table import count_of
from siteplan.sheet.model import XY
from siteplan.sheet.place.candidates import CLEARANCE_MM, Candidate, by_cost
from siteplan.sheet.place.covered_ink import CoveredInk, Shapes
from siteplan.sheet.place.led_lines import ALONG_COST, LedLines

LANDING_MM: Final = 2.0
"""Length of the level piece of a leader [mm]."""
FOOT_MM: Final = 0.6
"""Free paper between a label and its leader [mm]."""
FIRST_BATCH: Final = count_of("sheet.place.placer.first_batch")
HARD: Final = 1e6
"""Ink of this cost is never covered, by a label or by its leader."""
FAR_OFF_MM: Final = 30.0
"""So far beyond the window lies nothing that is named in it [mm]."""
HALVES: Final = np.array([(-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5)])
"""Corners of a box of width and height 1 around the origin."""


PAIRS: Final = ((0, -1), (1, None))
"""All points of a line but the last, and all but the first."""


class Placer:
    """Knows the ink and the labels already on the plan window, all in millimetres on paper."""

    def __init__(self, bounds: tuple[float, float, float, float]) -> None:
        self._low, self._high = np.array(bounds[:2]), np.array(bounds[2:])
        # what rules out most places is asked for first: what neither a label nor a leader may
        # cover, then what no label may
        self._closed, self._hard, self._soft = CoveredInk(), CoveredInk(), CoveredInk()
        self._leaders = LedLines()

    @property
    def _all(self) -> tuple[CoveredInk, CoveredInk, CoveredInk]:
        return self._closed, self._hard, self._soft

    def sizes(self) -> tuple[int, ...]:
        """How much ink of each sort there is, to tell later what has come since."""
        return tuple(len(ink.shapes) for ink in (*self._all, self._leaders))

    def since(self, sizes: tuple[int, ...]) -> list[BaseGeometry]:
        """The ink that has come since it was so much."""
        inks: tuple[CoveredInk | LedLines, ...] = (*self._all, self._leaders)
        return [shape for ink, size in zip(inks, sizes, strict=True) for shape in ink.shapes[size:]]

    def without(self, ink: Iterable[BaseGeometry]) -> Placer:
        """Another placer, that does not know such ink."""
        left, gone = Placer((*self._low.tolist(), *self._high.tolist())), {id(part) for part in ink}
        left._closed = self._closed.without(gone)
        left._hard, left._soft = self._hard.without(gone), self._soft.without(gone)
        left._leaders = self._leaders.without(gone)
        return left

    def is_near(self, points: npt.NDArray[np.float64]) -> bool:
        """Whether a line comes so near to the window that a label or a leader may lie on it."""
        low, high = points.min(axis=0) - FAR_OFF_MM, points.max(axis=0) + FAR_OFF_MM
        return bool((low <= self._high).all() and (high >= self._low).all())

    def add_line(
        self, points: npt.ArrayLike, cost: float, *, leader_cost: float | None = None,
        goes_on: bool = False,
    ) -> None:  # fmt: skip
        """Remember a line, by its pieces, so that long ones are cheap to look up.

        ``goes_on``: it is the line remembered last, farther on.
        """
        array = np.asarray(points, float)
        if len(array) >= 2:
            pieces = shapely.linestrings(np.stack([array[:-1], array[1:]], axis=1))
            self._add(list(np.asarray(pieces)), cost, leader_cost, goes_on=goes_on)

    def add_pieces(
        self, pieces: Sequence[npt.NDArray[np.float64]], cost: float, *,
        leader_cost: float | None = None,
    ) -> None:  # fmt: skip
        """Remember a line of which each of the pieces is paid for by itself."""
        known = [piece for piece in pieces if len(piece) >= 2]
        if known:
            starts, ends = (np.concatenate([one[a:b] for one in known]) for a, b in PAIRS)
            left = iter(np.asarray(shapely.linestrings(np.stack([starts, ends], axis=1))))
            for number, piece in enumerate(known):
                some = list(islice(left, len(piece) - 1))
                self._add(some, cost, leader_cost, goes_on=number > 0)

    def add_leader(self, points: tuple[XY, ...]) -> None:
        """Remember a leader: no label lies on it, none meets it, and none should run along it."""
        self.add_line(points, HARD, leader_cost=0.0)
        self._leaders.add(points, HARD)

    def keep_leaders_apart(self, points: Sequence[XY]) -> None:
        """Keep leaders from running along a thin line, which they may cross."""
        self._leaders.keep_apart(points)

    def runs_along(self, points: tuple[XY, ...]) -> bool:
        """Whether a leader would run along another, and meet none."""
        costs = self._leaders.cost(np.array([shapely.linestrings(points)]), HARD)
        return float(costs[0]) == ALONG_COST

    def add_area(
        self, area: BaseGeometry, cost: float = HARD, *, leader_cost: float | None = None
    ) -> None:
        """Remember an area that labels should keep off, a symbol or a label."""
        self._add([area], cost, leader_cost)

    def add_disk(self, center: XY, radius: float, *, leader_cost: float) -> None:
        """Remember a symbol that takes a circle of a radius [mm]."""
        self.add_area(Polygon(_circle(radius) + center), leader_cost=leader_cost)

    def _add(
        self, shapes: Sequence[BaseGeometry], cost: float, leader_cost: float | None, *,
        goes_on: bool = False,
    ) -> None:  # fmt: skip
        led = cost if leader_cost is None else leader_cost
        ink = self._soft if cost < HARD else self._hard if led < HARD else self._closed
        ink.add(shapes, cost, led, goes_on=goes_on)

    def best(
        self, candidates: Iterable[Candidate], width: float, height: float, *, most: float = HARD
    ) -> Candidate | None:
        """The cheapest candidate for a box of that size [mm], or None if all cost ``most``."""
        return self.cheapest(by_cost(candidates), width, height, most=most)[1]

    def cheapest(
        self, candidates: Iterable[Candidate], width: float, height: float, *, most: float = HARD,
        allows: Callable[[Candidate], bool] = lambda _: True,
    ) -> tuple[float, Candidate | None]:  # fmt: skip
        """The cheapest candidate allowed and what it costs; ``most`` and None if all cost as much.

        Candidates come in the order of their own costs: once one costs more by itself than the
        best so far in all, the rest need not be looked at. ``allows`` is asked of those only that
        would be taken.
        """
        best: Candidate | None = None
        for some in _batches(candidates):
            if some[0].cost >= most:
                break
            costs = self._pruned(some, width, height, most)
            for place in np.argsort(costs, kind="stable").tolist():
                if not costs[place] < most:
                    break
                if allows(some[place]):
                    most, best = float(costs[place]), some[place]
                    break
        return most, best

    def beside(
        self, candidates: Sequence[Candidate], sizes: npt.ArrayLike
    ) -> npt.NDArray[np.float64]:
        """What each candidate costs that is not led; ``HARD`` or more where the place is taken.

        ``sizes``: width and height of all boxes, or a row with those of each [mm].
        """
        return self.boxes_beside(candidates, sizes)[0]

    def boxes_beside(
        self, candidates: Sequence[Candidate], sizes: npt.ArrayLike
    ) -> tuple[npt.NDArray[np.float64], Shapes]:
        """The same, and the box of each."""
        corners = corners_of(candidates, sizes, around=CLEARANCE_MM)
        costs = np.array([candidate.cost for candidate in candidates])
        boxes = np.asarray(shapely.polygons(corners))
        costs += self._covered(boxes)
        # added and not infinite: whoever asks adds costs of its own, and compares with HARD
        costs[~self._inside(corners)] += HARD
        return costs, boxes

    def rate(
        self, candidates: Sequence[Candidate], width: float, height: float
    ) -> npt.NDArray[np.float64]:
        """What each candidate costs; ``HARD`` or more where the place is taken."""
        costs = self.beside(candidates, (width, height))
        led = [index for index, candidate in enumerate(candidates) if candidate.leader is not None]
        if led:
            lines = leader_paths([candidates[index] for index in led], width, height)
            costs[led] += self._covered(lines, leader=True)
            whole = leader_paths([candidates[index] for index in led], width, height, tipped=True)
            # a tip in a text points at that, whatever it was led to
            costs[led] += self._leaders.cost(whole, HARD) + HARD * self._closed.touched(whole)
        return costs

    def _pruned(
        self, candidates: Sequence[Candidate], width: float, height: float, most: float
    ) -> npt.NDArray[np.float64]:
        """What each candidate costs; infinite for those found to cost ``most`` or more."""
        corners = corners_of(candidates, (width, height), around=CLEARANCE_MM)
        costs = np.array([candidate.cost for candidate in candidates])
        # the cheap tests first: most places go before a shape is made for them
        left = np.flatnonzero(self._inside(corners) & (costs < most))
        boxes = np.asarray(shapely.polygons(corners[left]))
        for ink in (self._closed, self._hard):
            # nothing pays for such ink, so that whether there is any is enough, not how much
            free = ~ink.touched(boxes)
            left, boxes = left[free], boxes[free]
        # what can be paid for is added up piece by piece: asked of the few that are left
        costs[left] += self._soft.covered(boxes)
        left = left[costs[left] < most]
        led = [index for index in left.tolist() if candidates[index].leader is not None]
        if led:
            whole = leader_paths([candidates[index] for index in led], width, height, tipped=True)
            # one may pay for hard ink, for closed ink not: a tip in a text points at that
            costs[led] += self._leaders.cost(whole, HARD) + HARD * self._closed.touched(whole)
            led = [index for index in led if costs[index] < most]
        if led:
            # last, as each has to be made anew
            lines = leader_paths([candidates[index] for index in led], width, height)
            for ink in (self._hard, self._soft):
                costs[led] += ink.covered(lines, leader=True)
        left_costs = np.full(len(costs), np.inf)
        left_costs[left] = costs[left]
        return left_costs

    def more(self, boxes: Shapes, since: tuple[int, ...]) -> npt.NDArray[np.float64]:
        """What each box costs more by ink that has come since it was so much."""
        inks = zip(self._all, since, strict=False)
        return np.asarray(sum(ink.covered(boxes, since=size) for ink, size in inks))

    def has_line(self, area: BaseGeometry) -> bool:
        """Whether a line runs under an area."""
        return any(
            isinstance(ink.shapes[hit], LineString) for ink in self._all for hit in ink.hits(area)
        )

    def free_of(self, spots: Sequence[XY], radius: float) -> list[XY]:
        """Those of the places on paper near which, so far around, lies no symbol and no label."""
        if not spots:
            return []
        around = np.asarray(shapely.buffer(shapely.points(list(spots)), radius, quad_segs=4))
        taken = self._closed.touched(around) | self._hard.touched(around)
        return list(compress(spots, ~taken))

    def is_bare(self, area: BaseGeometry) -> bool:
        """Whether there is no ink and no label at all under an area."""
        return not any(ink.touched(np.array([area], dtype=object))[0] for ink in self._all)

    def is_open(self, points: npt.ArrayLike) -> bool:
        """Whether a line passes no label, and nothing else that neither label nor leader may."""
        return not self._closed.touched(np.array([shapely.linestrings(np.asarray(points))]))[0]

    def crossed(self, points: npt.ArrayLike) -> float:
        """Cost of the ink under a line: as a leader it hides nothing that it crosses."""
        return float(self.crossings(np.asarray(points)[None])[0])

    def crossings(self, lines: npt.ArrayLike) -> npt.NDArray[np.float64]:
        """Cost of the ink under each of many lines of points, as of leaders."""
        return self._covered(np.asarray(shapely.linestrings(np.asarray(lines))), leader=True)

    def _covered(self, shapes: Shapes, *, leader: bool = False) -> npt.NDArray[np.float64]:
        return np.asarray(sum(ink.covered(shapes, leader=leader) for ink in self._all))

    def _inside(self, corners: npt.NDArray[np.float64]) -> npt.NDArray[np.bool_]:
        """Whether each box lies in the window."""
        within = (corners >= self._low) & (corners <= self._high)
        return np.asarray(within.all(axis=(1, 2)))


@cache
def _circle(radius: float) -> npt.NDArray[np.float64]:
    """Corners of a circle around the origin: of symbols thousands are alike."""
    return np.asarray(shapely.get_coordinates(shapely.Point(0.0, 0.0).buffer(radius, quad_segs=4)))


def _batches(candidates: Iterable[Candidate]) -> Iterator[list[Candidate]]:
    """The candidates in growing numbers: the first few are often good enough."""
    left, size = iter(candidates), FIRST_BATCH
    while some := list(islice(left, size)):
        yield some
        size *= 5


def corners_of(
    candidates: Sequence[Candidate], sizes: npt.ArrayLike, *, around: float = 0.0
) -> npt.NDArray[np.float64]:
    """Corners of the box of each candidate, grown by so much to each side.

    ``sizes``: width and height of all boxes, or a row with those of each [mm].
    """
    turns: dict[float, int] = {}
    turn = [turns.setdefault(candidate.angle_deg, len(turns)) for candidate in candidates]
    ways = np.array([_ways(angle) for angle in turns])[turn]
    size = np.broadcast_to(np.asarray(sizes, float) + 2 * around, (len(candidates), 2))
    along, up = (HALVES[:, axis] * size[:, axis, None] for axis in (0, 1))
    centers = np.array([candidate.center for candidate in candidates])[:, None]
    ends = centers + along[:, :, None] * ways[:, None, 0]
    return np.asarray(ends + up[:, :, None] * ways[:, None, 1], float)


def box_corners(center: XY, width: float, height: float, angle_deg: float) -> list[XY]:
    """Corners of a turned box, from the lower left one counter-clockwise.

    Examples
    --------
    >>> box_corners((0.0, 0.0), 4.0, 2.0, 0.0)
    [(-2.0, -1.0), (2.0, -1.0), (2.0, 1.0), (-2.0, 1.0)]
    """
    along, up = _ways(angle_deg)
    return [
        (
            center[0] + a * width * along[0] + b * height * up[0],
            center[1] + a * width * along[1] + b * height * up[1],
        )
        for a, b in HALVES.tolist()
    ]


def _ways(angle_deg: float) -> tuple[XY, XY]:
    """Direction along the width of a turned box, and that along its height."""
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    return (cosine, sine), (-sine, cosine)


def leader_path(place: Candidate, width: float, height: float) -> tuple[XY, ...]:
    """The leader on paper, from the label to what it names [mm].

    It leaves the middle of a short side over a level landing, or, where the label lies above or
    below what it names, the middle of a long side.

    Examples
    --------
    >>> leader_path(Candidate((0.0, 0.0), leader=(20.0, 9.0)), 10.0, 3.0)
    ((5.6, 0.0), (7.6, 0.0), (20.0, 9.0))
    """
    (x, y), target = place.center, place.leader or place.center
    across = target[0] - x
    # beside its landing a leader would fold back under its own label
    if abs(across) < width / 2 + LANDING_MM:
        side = math.copysign(1.0, target[1] - y)
        return _stopped(((x, y + side * (height / 2 + FOOT_MM)), target), place.stand_off)
    side = math.copysign(1.0, across)
    foot = x + side * (width / 2 + FOOT_MM)
    return _stopped(((foot, y), (foot + side * LANDING_MM, y), target), place.stand_off)


def _stopped(path: tuple[XY, ...], stand_off: float) -> tuple[XY, ...]:
    """The path, ending so far before its last point."""
    (x, y), (end_x, end_y) = path[-2:]
    reach = math.hypot(end_x - x, end_y - y)
    # a target nearer than its stand-off keeps a stub of leader, which else would turn round
    share = max(1.0 - stand_off / max(reach, 1e-9), 0.05)
    return (*path[:-1], (x + share * (end_x - x), y + share * (end_y - y)))


def leader_paths(
    places: Sequence[Candidate], width: float, height: float, *, tipped: bool = False
) -> Shapes:
    """The leaders, without their tips unless asked for: what they point at is no obstacle.

    As `leader_path` has each of them, many at a time, all of three points.
    """
    center = np.array([place.center for place in places])
    target = np.array([place.leader or place.center for place in places])
    off = np.array([place.stand_off for place in places])
    apart = target - center
    beside = np.abs(apart[:, 0]) >= width / 2 + LANDING_MM
    side = np.copysign(1.0, apart)
    foot = np.where(
        beside[:, None],
        np.stack([center[:, 0] + side[:, 0] * (width / 2 + FOOT_MM), center[:, 1]], axis=1),
        np.stack([center[:, 0], center[:, 1] + side[:, 1] * (height / 2 + FOOT_MM)], axis=1),
    )
    knee = foot.copy()
    knee[:, 0] += np.where(beside, side[:, 0] * LANDING_MM, 0.0)
    end = _ended(knee, target, off)
    if not tipped:
        # with a stand-off it ends at the edge already, without one inside of what it names
        end = _ended(knee, end, np.where(off, 0.1, 1.5))
    return np.asarray(shapely.linestrings(np.stack([foot, knee, end], axis=1)))


def _ended(
    knee: npt.NDArray[np.float64], target: npt.NDArray[np.float64], off: npt.NDArray[np.float64]
) -> npt.NDArray[np.float64]:
    """Ends of the last pieces of leaders, so far before their targets."""
    apart = target - knee
    reach = np.hypot(apart[:, 0], apart[:, 1])
    share = np.maximum(1.0 - off / np.maximum(reach, 1e-9), 0.05)
    return np.asarray(knee + share[:, None] * apart)
