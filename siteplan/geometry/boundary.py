"""The courses of a parcel boundary: straight lines and circular curves."""

from __future__ import annotations

import cmath
import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from siteplan.geometry.lines.sweep import xy_of
from siteplan.geometry.tolerance import TOLERANCE

XY = tuple[float, float]
Points = npt.NDArray[np.float64]

CURVE_TOLERANCE: Final = 0.02
"""How far a vertex may lie off the circle of its curve [m]."""
LEAST_BULGE: Final = 5 * CURVE_TOLERANCE
"""A flatter run of chords is taken for what it is, several sides [m]."""
STRAIGHT_TOLERANCE: Final = 0.005
"""How far a vertex may lie off the line between its neighbours and be no corner [m]."""
LEAST_CHORDS: Final = 4
"""Chords that make a curve; three points lie on some circle anyway."""
MOST_CHORDS: Final = 60
"""Of a more finely drawn curve so many vertices are looked at: they tell its circle as well."""
WIDEST_TURN_DEG: Final = 20.0
"""A sharper bend between two chords is a corner [deg]."""


ARC_OFF_M: Final = 0.0015
"""Chords this near to their circle stand for a true arc, and are drawn as one: a survey's and a
deed's curves come within 1 mm, a county's corners rarely so [m]."""
ARC_STEP_DEG: Final = 1.0
"""Angle between points of an arc where it is drawn in chords, for print [deg]."""


@dataclass(frozen=True, slots=True)
class Course:
    """A straight side from one corner to the next."""

    start: XY
    end: XY

    @property
    def length(self) -> float:
        """Horizontal length [m]."""
        return math.dist(self.start, self.end)

    @property
    def chord(self) -> float:
        """Straight distance between its ends, the same as its length [m]."""
        return self.length

    @property
    def points(self) -> tuple[XY, ...]:
        """Its two ends."""
        return (self.start, self.end)


@dataclass(frozen=True, slots=True)
class Curve:
    """A circular side, of which the boundary has the vertices ``points``.

    Parameters
    ----------
    radius
        Radius of the circle on which the vertices lie [m].
    center
        Its centre.
    delta_deg
        Central angle, positive [deg].
    """

    points: tuple[XY, ...]
    radius: float
    center: XY
    delta_deg: float

    @property
    def start(self) -> XY:
        """First point."""
        return self.points[0]

    @property
    def end(self) -> XY:
        """Last point."""
        return self.points[-1]

    @property
    def length(self) -> float:
        """Length along the arc [m]."""
        return self.radius * math.radians(self.delta_deg)

    @property
    def chord(self) -> float:
        """Straight distance between its ends [m]."""
        return math.dist(self.start, self.end)


Side = Course | Curve


def courses(parcel: Polygon) -> tuple[Side, ...]:
    """Sides of the parcel's outer boundary in its own direction, from a true corner on.

    Vertices on a straight line are merged; runs of at least four short chords that lie on one
    circle become a curve.

    Examples
    --------
    >>> [side.length for side in courses(Polygon([(0, 0), (30, 0), (60, 0), (60, 40), (0, 40)]))]
    [60.0, 40.0, 60.0, 40.0]
    """
    ring = _corners(_from_sharpest(np.asarray(parcel.exterior.coords[:-1], float)[:, :2]))
    # begun at the sharpest corner: no curve runs through it, so none is cut in two by where the
    # file begins
    ring = _from_sharpest(ring)
    closed = np.vstack([ring, ring[:1]])
    sides: list[Side] = []
    first = 0
    while first < len(ring):
        last = _curve_end(closed, first)
        if last is None:
            sides.append(Course(xy_of(closed[first]), xy_of(closed[first + 1])))
            last = first + 1
        else:
            sides.append(_curve(closed[first : last + 1]))
        first = last
    return tuple(sides)


def _turns(ring: Points) -> Points:
    """Change of direction at each vertex of a ring, left positive [rad]."""
    ahead = np.roll(ring, -1, axis=0) - ring
    behind = ring - np.roll(ring, 1, axis=0)
    cross = behind[:, 0] * ahead[:, 1] - behind[:, 1] * ahead[:, 0]
    return np.asarray(np.arctan2(cross, (behind * ahead).sum(axis=1)))


def _from_sharpest(ring: Points) -> Points:
    """The ring begun at the vertex where it turns most."""
    return np.roll(ring, -int(np.argmax(np.abs(_turns(ring)))), axis=0)


def _corners(ring: Points) -> Points:
    """The ring without vertices that lie on the line between their neighbours.

    Of a finely drawn curve every vertex lies near that line, and yet together they bend: of a run
    of them the first, the last and some between stay.
    """
    before, after = np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0)
    base = after - before
    cross = base[:, 0] * (ring - before)[:, 1] - base[:, 1] * (ring - before)[:, 0]
    off = np.abs(cross) / np.maximum(np.hypot(base[:, 0], base[:, 1]), 1e-12)
    kept = off > STRAIGHT_TOLERANCE
    flat = ~kept & (off > TOLERANCE)
    # the ring begins at its sharpest corner: no run goes over its end
    bounds = np.flatnonzero(np.diff(np.concatenate([[0], flat.astype(np.int8), [0]])))
    for first, end in bounds.reshape(-1, 2):
        if end - first > LEAST_CHORDS:
            some = np.linspace(first, end - 1, min(end - first, MOST_CHORDS))
            kept[np.round(some).astype(np.intp)] = True
    return ring[kept] if kept.sum() >= 3 else ring


def _curve_end(closed: Points, first: int) -> int | None:
    """Index of the last vertex of the curve that begins at ``first``, if one does."""
    end = None
    for last in range(first + LEAST_CHORDS, len(closed)):
        # a longer run cannot lie on a circle of which a part does not
        if not _on_circle(closed[first : last + 1]):
            break
        end = last
    # a flat run lies on some circle within the tolerance and proves nothing
    return end if end is not None and _bulge(closed[first : end + 1]) > LEAST_BULGE else None


def _on_circle(run: Points) -> bool:
    """Whether the run bends one way, nowhere sharply, and lies on its circle."""
    steps = np.diff(run, axis=0)
    cross = steps[:-1, 0] * steps[1:, 1] - steps[:-1, 1] * steps[1:, 0]
    turn = np.degrees(np.arctan2(cross, (steps[:-1] * steps[1:]).sum(axis=1)))
    if not (np.all(turn > 0.0) or np.all(turn < 0.0)) or np.abs(turn).max() > WIDEST_TURN_DEG:
        return False
    center, radius = _circle(run)
    return bool(np.abs(np.hypot(*(run - center).T) - radius).max() <= CURVE_TOLERANCE)


def _bulge(run: Points) -> float:
    """How far the run stands off the line between its ends [m]."""
    base = run[-1] - run[0]
    length = float(np.hypot(*base))
    if length < CURVE_TOLERANCE:
        return float(np.hypot(*(run - run[0]).T).max())
    off = base[0] * (run - run[0])[:, 1] - base[1] * (run - run[0])[:, 0]
    return float(np.abs(off).max()) / length


def _circle(run: Points) -> tuple[Points, float]:
    """Centre and radius of the circle with the least squared algebraic distance."""
    # around their middle the squares are small: with map coordinates the fit would be lost in
    # rounding
    middle = run.mean(axis=0)
    local = run - middle
    matrix = np.column_stack([2 * local, np.ones(len(local))])
    solution = np.linalg.lstsq(matrix, (local**2).sum(axis=1), rcond=None)[0]
    radius = math.sqrt(float(solution[2] + solution[0] ** 2 + solution[1] ** 2))
    return middle + solution[:2], radius


def _curve(run: Points) -> Curve:
    center, radius = _circle(run)
    angles = np.unwrap(np.arctan2(*(run - center).T[::-1]))
    delta = abs(float(np.degrees(angles[-1] - angles[0])))
    return Curve(tuple(xy_of(point) for point in run), radius, xy_of(center), delta)


def outline_with_arcs(parcel: Polygon) -> tuple[tuple[XY, ...], tuple[float, ...]]:
    """Corners of the outer boundary in its own order, and the bulge of the side behind each.

    A bulge is the tangent of a quarter of an arc's central angle, positive to the left, as DXF has
    it; 0 for a straight side. Curves in chords too long to be a true arc stay chords.

    Examples
    --------
    >>> corners, bulges = outline_with_arcs(Polygon([(0, 0), (60, 0), (60, 40), (0, 40)]))
    >>> len(corners), bulges
    (4, (0.0, 0.0, 0.0, 0.0))
    """
    ring = [xy_of(point) for point in np.asarray(parcel.exterior.coords[:-1], float)[:, :2]]
    place = {corner: number for number, corner in enumerate(ring)}
    bulges, dropped = [0.0] * len(ring), set()
    for curve in courses(parcel):
        if not isinstance(curve, Curve):
            continue
        for first, last, bulge in _true_arcs(curve, parcel):
            start, count = place[first], (place[last] - place[first]) % len(ring)
            bulges[start] = bulge
            dropped |= {(start + step) % len(ring) for step in range(1, count)}
    kept = [number for number in range(len(ring)) if number not in dropped]
    return tuple(ring[number] for number in kept), tuple(bulges[number] for number in kept)


def _true_arcs(curve: Curve, parcel: Polygon) -> list[tuple[XY, XY, float]]:
    """Start, end and bulge of the halves of a curve; none where the boundary is not on its arc."""
    run = np.array(curve.points)
    steps = np.diff(run[:3], axis=0)
    side = math.copysign(1.0, steps[0, 0] * steps[1, 1] - steps[0, 1] * steps[1, 0])
    angles = np.arctan2(*(run - curve.center).T[::-1])
    arcs = []
    middle = len(run) // 2
    for first, last in ((0, middle), (middle, len(run) - 1)):
        delta = side * (angles[last] - angles[first]) % math.tau
        arcs.append((curve.points[first], curve.points[last], side * math.tan(delta / 4)))
    drawn = [point for first, last, bulge in arcs for point in arc_points(first, last, bulge)]
    off = shapely.distance(parcel.exterior, shapely.points(drawn))
    return arcs if float(off.max()) <= ARC_OFF_M else []


def arc_points(start: XY, end: XY, bulge: float) -> list[XY]:
    """Points of an arc by its bulge, without its end; the start alone of a straight line.

    Examples
    --------
    >>> points = arc_points((1.0, 0.0), (-1.0, 0.0), 1.0)
    >>> len(points), [round(value, 9) for value in points[90]]
    (180, [0.0, 1.0])
    """
    if bulge == 0.0:
        return [start]
    delta = 4 * math.atan(bulge)
    count = max(2, math.ceil(abs(math.degrees(delta)) / ARC_STEP_DEG))
    chord = complex(end[0] - start[0], end[1] - start[1])
    # the center lies on the bisector of the chord
    toward = chord * complex(0.5, 0.5 / math.tan(delta / 2))
    turned = [toward - toward * cmath.rect(1.0, delta * step / count) for step in range(count)]
    return [(start[0] + step.real, start[1] + step.imag) for step in turned]
