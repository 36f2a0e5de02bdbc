"""Straight pieces and arcs of a line whose bends are drawn with chords."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import LineString

from siteplan.geometry.lines.sweep import Points, Values, xy_of

XY = tuple[float, float]

DEVIATION_M: Final = 0.01
"""How far a line may depart from the pieces that stand for it [m]."""
LEAST_CHORDS: Final = 3
"""Fewer chords than this are a corner and no arc: any three points lie on a circle."""
LEAST_TURN_DEG: Final = 5.0
"""An arc that turns less is staked straight [deg]."""
MOST_TURN_DEG: Final = 270.0
"""An arc that turns more is given as two: its ends must not fall together [deg]."""


@dataclass(frozen=True, slots=True)
class Straight:
    """A straight piece from its start to its end, x and y [m]."""

    start: XY
    end: XY

    @property
    def length_m(self) -> float:
        """Length [m]."""
        return math.dist(self.start, self.end)


@dataclass(frozen=True, slots=True)
class Arc:
    """A piece of a circle.

    Parameters
    ----------
    start, end
        Its tangent points, x and y [m].
    centre
        Of the circle, x and y [m].
    turn_deg
        Angle through which it turns, positive to the left [deg].
    """

    start: XY
    end: XY
    centre: XY
    turn_deg: float

    @property
    def radius_m(self) -> float:
        """Radius of the circle [m]."""
        return math.dist(self.start, self.centre)

    @property
    def length_m(self) -> float:
        """Length along the arc [m]."""
        return self.radius_m * math.radians(abs(self.turn_deg))


Piece = Straight | Arc


def arcs_of(line: LineString, *, most_radius_m: float = math.inf) -> tuple[Piece, ...]:
    """Pieces of a line in its order, each beginning where the one before it ends.

    Chords become an arc where their ends and middles are within ``DEVIATION_M`` of it, and corners
    so near to a straight line are left out. A circle wider than ``most_radius_m`` stays chords.

    Examples
    --------
    >>> turns = np.linspace(0, math.pi / 2, 10)
    >>> bend = [(1.5 * math.sin(t), 1.5 - 1.5 * math.cos(t)) for t in turns]
    >>> pieces = arcs_of(LineString([(-5.0, 0.0), *bend, (1.5, 9.5)]))
    >>> [type(piece).__name__ for piece in pieces], round(pieces[1].radius_m, 3)
    (['Straight', 'Arc', 'Straight'], 1.5)
    """
    points = shapely.get_coordinates(shapely.remove_repeated_points(line))
    turns = _turns(points)
    pieces: list[Piece] = []
    here, last = 0, len(points) - 1
    while here < last:
        arc, end = _longest_arc(points, turns, here, most_radius_m)
        if arc is None:
            end = here + 1
            pieces.append(Straight(xy_of(points[here]), xy_of(points[end])))
        else:
            pieces.append(arc)
        here = end
    return _joined(pieces)


def _turns(points: Points) -> Values:
    """Turn at each point between two chords, positive to the left; 0 at both ends [rad]."""
    steps = np.diff(points, axis=0)
    step, other = steps[:-1], steps[1:]
    cross = step[:, 0] * other[:, 1] - step[:, 1] * other[:, 0]
    turns: Values = np.concatenate([[0.0], np.arctan2(cross, (step * other).sum(axis=1)), [0.0]])
    return turns


def _longest_arc(
    points: Points, turns: Values, here: int, most_radius_m: float
) -> tuple[Arc | None, int]:
    """The arc with most chords that begins at a point, and the number of its last point."""
    longest: Arc | None = None
    end = here + LEAST_CHORDS
    best = here
    while end < len(points) and _bends_one_way(turns[here + 1 : end]):
        arc = _arc_through(points[here : end + 1], left=bool(turns[here + 1] > 0))
        if arc is None:
            break
        # not yet an arc worth staking, but it may become one with more chords: go on
        if abs(arc.turn_deg) >= LEAST_TURN_DEG and arc.radius_m <= most_radius_m:
            longest, best = arc, end
        end += 1
    return longest, best


def _bends_one_way(turns: Values) -> bool:
    one_way = bool((turns > 0).all() or (turns < 0).all())
    return one_way and float(np.abs(turns).sum()) <= math.radians(MOST_TURN_DEG)


def _arc_through(points: Points, *, left: bool) -> Arc | None:
    """Arc from the first to the last point, past all others; None where one is too far from it.

    The centre lies on the bisector of first and last point, ``t`` from its middle along the unit
    normal n: ``|q - t n| = |a - t n|`` for a point q and the end a gives ``2 t (q n) = q q - a a``,
    solved for all points by least squares.
    """
    first, last = points[0], points[-1]
    chord = last - first
    width = float(np.hypot(*chord))
    if width < DEVIATION_M:
        return None
    middle = (first + last) / 2
    normal = np.array([-chord[1], chord[0]]) / width
    away = points[1:-1] - middle
    aside = away @ normal
    # points on the chord lie on no circle
    if float((aside**2).sum()) < 1e-12:
        return None
    excess = (away**2).sum(axis=1) - (width / 2) ** 2
    t = float((excess * aside).sum() / (2 * (aside**2).sum()))
    centre = middle + t * normal
    if not _is_near(points, centre, math.hypot(t, width / 2)):
        return None
    # An arc to the left has its middle on the right of the chord, its centre t to the left.
    half = math.atan2(width / 2, t if left else -t)
    turn = math.degrees(2 * half) * (1 if left else -1)
    return Arc(xy_of(first), xy_of(last), xy_of(centre), turn)


def _is_near(points: Points, centre: Values, radius: float) -> bool:
    """Whether ends and middles of all chords are near a circle."""
    middles = (points[1:] + points[:-1]) / 2
    reach = np.hypot(*(np.vstack([points, middles]) - centre).T)
    return bool((np.abs(reach - radius) <= DEVIATION_M).all())


def _joined(pieces: list[Piece]) -> tuple[Piece, ...]:
    """Pieces, of which straight ones that go on in a line are one."""
    joined: list[Piece] = []
    passed: list[XY] = []
    for piece in pieces:
        before = joined[-1] if joined else None
        if isinstance(piece, Straight) and isinstance(before, Straight):
            whole = Straight(before.start, piece.end)
            between = shapely.points([*passed, before.end])
            along = LineString([whole.start, whole.end])
            ahead = _goes_on(before, piece)
            if ahead and float(shapely.distance(between, along).max()) <= DEVIATION_M:
                passed.append(before.end)
                joined[-1] = whole
                continue
        passed = []
        joined.append(piece)
    return tuple(joined)


def _goes_on(straight: Straight, other: Straight) -> bool:
    """Whether a piece leads on where another ended, and not back."""
    ahead = (straight.end[0] - straight.start[0], straight.end[1] - straight.start[1])
    after = (other.end[0] - other.start[0], other.end[1] - other.start[1])
    return ahead[0] * after[0] + ahead[1] * after[1] > 0
