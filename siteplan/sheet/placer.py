"""Finding a free place for a label: many candidates, the cheapest one is taken."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
import shapely.ops
from shapely import LineString, STRtree
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.model import XY

CLEARANCE_MM: Final = 0.5
"""Free paper around every text [mm]."""
LANDING_MM: Final = 2.0
"""Length of the level piece of a leader [mm]."""
FOOT_MM: Final = 0.6
"""Free paper between a label and its leader [mm]."""
REACHES_MM: Final = (8.0, 13.0, 19.0, 26.0, 34.0, 44.0, 56.0, 70.0)
"""How far a label may be led away from what it names [mm]."""
FAR_REACHES_MM: Final = (6.0, 10.5, 16.0, 22.0, 30.0, 50.0, 63.0, 80.0, 95.0, 112.0, 130.0, 150.0)
"""The same where none of those is free [mm]."""
MOST_NEW: Final = 100
"""Pieces of ink that are added before all are put in order anew."""
HARD: Final = 1e6
"""Ink of this cost is never covered, by a label or by its leader."""


@dataclass(frozen=True, slots=True)
class Candidate:
    """One place for a label.

    Parameters
    ----------
    center
        Middle of the label's box on paper [mm].
    angle_deg
        Direction of reading [deg].
    cost
        How much worse than the best place this one is by itself.
    leader
        Where a leader would point to on paper [mm]; None: no leader needed.
    stand_off
        How far from that point the leader ends, at the edge of a symbol [mm].
    """

    center: XY
    angle_deg: float = 0.0
    cost: float = 0.0
    leader: XY | None = None
    stand_off: float = 0.0


class Placer:
    """Knows the ink and the labels already on the plan window, all in millimetres on paper."""

    def __init__(self, bounds: tuple[float, float, float, float]) -> None:
        self._frame = shapely.box(*bounds)
        shapely.prepare(self._frame)
        self._ink: list[BaseGeometry] = []
        self._thing: list[int] = []
        self._cost: list[float] = []
        self._leader_cost: list[float] = []
        # old ink in a tree that is kept, the newest in a small one that is made anew
        self._old = STRtree([])
        self._new: STRtree | None = None
        self._settled = 0

    def add_line(
        self, points: npt.ArrayLike, cost: float, *, leader_cost: float | None = None
    ) -> None:
        """Remember a line, by its pieces, so that long ones are cheap to look up."""
        array = np.asarray(points, float)
        if len(array) < 2:
            return
        pieces = list(np.asarray(shapely.linestrings(np.stack([array[:-1], array[1:]], axis=1))))
        self._ink.extend(pieces)
        self._thing.extend([len(self._cost)] * len(pieces))
        self._cost.append(cost)
        self._leader_cost.append(cost if leader_cost is None else leader_cost)
        self._new = None

    def add_area(
        self, area: BaseGeometry, cost: float = HARD, *, leader_cost: float | None = None
    ) -> None:
        """Remember an area that labels should keep off, a symbol or a label."""
        self._ink.append(area)
        self._thing.append(len(self._cost))
        self._cost.append(cost)
        self._leader_cost.append(cost if leader_cost is None else leader_cost)
        self._new = None

    def best(
        self, candidates: Sequence[Candidate], width: float, height: float, *, most: float = HARD
    ) -> Candidate | None:
        """The cheapest candidate for a box of that size [mm], or None if all cost ``most``."""
        if not candidates:
            return None
        costs = self.rate(candidates, width, height)
        choice = int(np.argmin(costs))
        return candidates[choice] if costs[choice] < most else None

    def rate(
        self, candidates: Sequence[Candidate], width: float, height: float
    ) -> npt.NDArray[np.float64]:
        """What each candidate costs; ``HARD`` or more where the place is taken."""
        boxes = self._boxes(candidates, width + 2 * CLEARANCE_MM, height + 2 * CLEARANCE_MM)
        costs = np.array([candidate.cost for candidate in candidates])
        costs += self._covered(boxes, self._cost)
        costs[~shapely.contains(self._frame, boxes)] += HARD
        # a leader only adds to the cost: those that have lost already need not be looked at
        plain = [cost for cost, one in zip(costs, candidates, strict=True) if one.leader is None]
        beaten = min(plain, default=HARD)
        led = [
            index
            for index, one in enumerate(candidates)
            if one.leader is not None and costs[index] < min(beaten, HARD)
        ]
        if led:
            lines = [_leader(candidates[index], width, height) for index in led]
            costs[led] += self._covered(np.array(lines), self._leader_cost)
        return costs

    def has_line(self, area: BaseGeometry) -> bool:
        """Whether a line runs under an area."""
        return any(isinstance(self._ink[hit], LineString) for hit in self._hits(area))

    def is_free(self, spot: XY, radius: float) -> bool:
        """Whether no symbol and no label lies so near to a place on paper."""
        hits = self._hits(shapely.Point(spot).buffer(radius, quad_segs=4)) if self._ink else ()
        return not any(self._cost[self._thing[hit]] >= HARD for hit in hits)

    def crossed(self, points: npt.ArrayLike) -> float:
        """Cost of the ink under a line."""
        line = np.array([shapely.linestrings(np.asarray(points))])
        return float(self._covered(line, self._cost)[0])

    def _covered(
        self, shapes: npt.NDArray[np.object_], cost: list[float]
    ) -> npt.NDArray[np.float64]:
        """Cost of the ink under each shape."""
        if not self._ink:
            return np.zeros(len(shapes))
        which, ink = self._hits(shapes)
        # a line that passes under a label with several pieces counts once
        count = len(self._cost)
        which, thing = np.divmod(np.unique(which * count + np.asarray(self._thing)[ink]), count)
        weights = np.asarray(cost)[thing]
        return np.asarray(np.bincount(which, weights=weights, minlength=len(shapes)), float)

    def _hits(self, shapes: BaseGeometry | npt.NDArray[np.object_]) -> npt.NDArray[np.int64]:
        if self._new is None:
            if len(self._ink) - self._settled > MOST_NEW:
                self._old, self._settled = STRtree(self._ink), len(self._ink)
            self._new = STRtree(self._ink[self._settled :])
        old = np.asarray(self._old.query(shapes, predicate="intersects"), np.int64)
        new = np.asarray(self._new.query(shapes, predicate="intersects"), np.int64)
        # of many shapes the last row numbers the ink, of a single one all numbers do
        if new.ndim == 1:
            new += self._settled
        else:
            new[-1] += self._settled
        return np.concatenate([old, new], axis=-1)

    @staticmethod
    def _boxes(
        candidates: Sequence[Candidate], width: float, height: float
    ) -> npt.NDArray[np.object_]:
        turns: dict[float, int] = {}
        turn = [turns.setdefault(one.angle_deg, len(turns)) for one in candidates]
        along, up = np.array([_half_sides(width, height, angle) for angle in turns]).swapaxes(0, 1)
        centers = np.array([one.center for one in candidates])[:, None]
        return np.asarray(shapely.polygons(centers + along[turn] + up[turn]))


def box_corners(center: XY, width: float, height: float, angle_deg: float) -> list[XY]:
    """Corners of a turned box, from the lower left one counter-clockwise.

    Examples
    --------
    >>> box_corners((0.0, 0.0), 4.0, 2.0, 0.0)
    [(-2.0, -1.0), (2.0, -1.0), (2.0, 1.0), (-2.0, 1.0)]
    """
    along, up = _half_sides(width, height, angle_deg)
    return [
        (center[0] + right + left, center[1] + rise + fall)
        for (right, rise), (left, fall) in zip(along, up, strict=True)
    ]


def _half_sides(width: float, height: float, angle_deg: float) -> tuple[list[XY], list[XY]]:
    """Ways from the middle of a turned box to its corners: along its width, then its height."""
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    halves = ((-0.5, -0.5), (0.5, -0.5), (0.5, 0.5), (-0.5, 0.5))
    along = [(a * width * cosine, a * width * sine) for a, _ in halves]
    return along, [(-b * height * sine, b * height * cosine) for _, b in halves]


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
    share = max(1.0 - stand_off / max(reach, 1e-9), 0.05)
    return (*path[:-1], (x + share * (end_x - x), y + share * (end_y - y)))


def _leader(place: Candidate, width: float, height: float) -> BaseGeometry:
    """The leader without its tip: what it points at is no obstacle."""
    path = LineString(leader_path(place, width, height))
    tip = 0.1 if place.stand_off else 1.5
    return shapely.ops.substring(path, 0.0, max(path.length - tip, 0.1))


def around(center: XY, width: float, height: float, gap: float) -> list[Candidate]:
    """Eight places around a symbol that takes a circle of radius ``gap``, upper right first.

    Examples
    --------
    >>> around((0.0, 0.0), 6.0, 2.0, 2.0)[4].center
    (5.55, 0.0)
    """
    clear = gap + CLEARANCE_MM + 0.05
    slant = 0.72 * gap + CLEARANCE_MM + 0.05
    x, y = width / 2 + slant, height / 2 + slant
    spots = [
        (x, y), (x, -y), (-x, y), (-x, -y), (width / 2 + clear, 0.0), (-width / 2 - clear, 0.0),
        (0.0, height / 2 + clear), (0.0, -height / 2 - clear),
    ]  # fmt: skip
    return [
        Candidate((center[0] + dx, center[1] + dy), 0.0, 0.7 * rank)
        for rank, (dx, dy) in enumerate(spots)
    ]


def led(
    target: XY, width: float, height: float, *, stand_off: float = 0.0,
    reaches: Sequence[float] = REACHES_MM, step_deg: int = 20,
) -> list[Candidate]:  # fmt: skip
    """Places at growing distance around a point, each with a leader to it."""
    found = []
    for reach in reaches:
        for turn in range(0, 360, step_deg):
            dx, dy = math.cos(math.radians(turn)), math.sin(math.radians(turn))
            center = (
                target[0] + dx * (reach + width / 2),
                target[1] + dy * (reach + height / 2),
            )
            found.append(Candidate(center, 0.0, 14.0 + 0.6 * reach, target, stand_off))
    return found


def farther(candidates: Sequence[Candidate], size: tuple[float, float]) -> list[Candidate]:
    """Places still farther away from what the candidates' leaders point at, or between theirs.

    ``size``: width and height of the label [mm].
    """
    targets = dict.fromkeys((one.leader, one.stand_off) for one in candidates if one.leader)
    return [
        place
        for target, stand_off in targets
        if target is not None
        for place in led(target, *size, stand_off=stand_off, reaches=FAR_REACHES_MM, step_deg=8)
    ]
