"""Offsets that never fall short: straight sides at the exact distance, arcs outside the true arc.

A buffer with inscribed arcs gives a 100 ft setback that is 0.48 ft short at 8 pieces a quarter.
Here every arc is replaced by tangents, so that a point outside the result is at least the
distance away, and along straight sides exactly so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.geometry.tolerance import ARC_OUT, ARC_STEP_DEG, TOLERANCE

Coordinates = NDArray[np.float64]


def grow(shape: BaseGeometry, distance: float) -> BaseGeometry:
    """Shape widened by a distance on all sides, never by less.

    Parameters
    ----------
    shape
        Points, lines or polygons, single or multiple [m].
    distance
        Widening, zero or more [m]; zero gives the shape itself.

    Raises
    ------
    GeometryError
        Negative or not finite distance.

    Examples
    --------
    >>> from shapely import box
    >>> grown = grow(box(0, 0, 10, 10), 3)
    >>> grown.bounds
    (-3.0, -3.0, 13.0, 13.0)
    """
    if not math.isfinite(distance) or distance < 0:
        raise GeometryError(
            f"offset distance {distance!r} m is not zero or more; give a distance outwards."
        )
    if shape.is_empty or distance == 0:
        return shape
    pieces: list[BaseGeometry] = []
    for part in shapely.get_parts(shape):
        pieces.extend(_pieces(part, distance))
    return shapely.union_all(pieces)


def keep_inside(area: BaseGeometry, distance: float) -> BaseGeometry:
    """Part of an area that is at least a distance away from its edge.

    Examples
    --------
    >>> from shapely import box
    >>> keep_inside(box(0, 0, 10, 10), 3).bounds
    (3.0, 3.0, 7.0, 7.0)
    """
    if distance == 0 or area.is_empty:
        return area
    return area.difference(grow(area.boundary, distance))


def _pieces(part: BaseGeometry, distance: float) -> Iterator[BaseGeometry]:
    if part.geom_type == "Point":
        yield _wedge(np.asarray(part.coords[0][:2]), 0.0, math.tau, distance)
    elif isinstance(part, shapely.Polygon):
        yield part
        for ring in (part.exterior, *part.interiors):
            yield from _band(shapely.get_coordinates(ring), distance, closed=True)
    else:
        coordinates = shapely.get_coordinates(part)
        closed = bool(np.array_equal(coordinates[0], coordinates[-1]))
        yield from _band(coordinates, distance, closed=closed)


def _band(coordinates: Coordinates, distance: float, *, closed: bool) -> Iterator[BaseGeometry]:
    """Rectangle along every side, and a wedge at every outer corner and open end."""
    steps = np.diff(coordinates, axis=0)
    lengths = np.hypot(steps[:, 0], steps[:, 1])
    real = lengths > 0
    starts, ends = coordinates[:-1][real], coordinates[1:][real]
    if len(starts) == 0:
        yield _wedge(coordinates[0], 0.0, math.tau, distance)
        return
    along = steps[real] / lengths[real, None]
    left = np.column_stack((-along[:, 1], along[:, 0])) * distance
    corners = np.stack((starts + left, ends + left, ends - left, starts - left), axis=1)
    yield from np.asarray(shapely.polygons(corners))
    headings = np.arctan2(along[:, 1], along[:, 0])
    yield from _corner_wedges(ends, headings, distance, closed=closed)
    if not closed:
        yield _wedge(ends[-1], float(headings[-1]) - math.pi / 2, math.pi, distance)
        yield _wedge(starts[0], float(headings[0]) + math.pi / 2, math.pi, distance)


def _corner_wedges(
    ends: Coordinates, headings: Coordinates, distance: float, *, closed: bool
) -> Iterator[BaseGeometry]:
    following = np.roll(headings, -1)
    turns = (following - headings + math.pi) % math.tau - math.pi
    count = len(ends) if closed else len(ends) - 1
    for corner, heading, turn in zip(ends[:count], headings, turns, strict=False):
        if turn > 0:
            yield _wedge(corner, heading - math.pi / 2, turn, distance)
        elif turn < 0:
            yield _wedge(corner, heading + turn + math.pi / 2, -turn, distance)


def _wedge(corner: Coordinates, start: float, sweep: float, distance: float) -> BaseGeometry:
    """Sector around a corner whose arc is replaced by tangents to the true circle."""
    # tangents lie outside the circle, a buffer's chords inside: a rule's distance is never
    # undercut
    count = max(1, math.ceil(sweep / arc_step(distance) - TOLERANCE))
    step = sweep / count
    middles = start + step * (np.arange(count) + 0.5)
    arc = np.column_stack((np.cos(middles), np.sin(middles))) * (distance / math.cos(step / 2))
    if sweep >= math.tau:
        return shapely.Polygon(corner + arc)
    # A hair of overlap with the neighbouring rectangles: rounding must not leave a gap.
    hair = TOLERANCE / distance
    rim = [
        (math.cos(angle) * distance, math.sin(angle) * distance)
        for angle in (start - hair, start, start + sweep, start + sweep + hair)
    ]
    middle = start + sweep / 2
    base = (-TOLERANCE * math.cos(middle), -TOLERANCE * math.sin(middle))
    return shapely.Polygon(np.vstack((base, rim[:2], arc, rim[2:])) + corner)


def arc_step(radius: float) -> float:
    """Widest angle that one straight piece of an arc spans [rad].

    Small arcs need few: their tangents stay within half a centimetre of them all the same.
    """
    return max(math.radians(ARC_STEP_DEG), 2 * math.acos(radius / (radius + ARC_OUT)))
