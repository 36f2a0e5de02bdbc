"""Offsets that never fall short: straight sides at the exact distance, arcs outside the true arc.

A buffer with inscribed arcs gives a 100 ft setback that is 0.48 ft short at 8 pieces a quarter.
Here every arc is replaced by tangents, so that a point outside the result is at least the
distance away, and along straight sides exactly so.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError
from siteplan.geometry.tolerance import ARC_OUT, ARC_STEP_DEG, TOLERANCE

Coordinates = NDArray[np.float64]

FAR_M: Final = 20_000.0
"""Nearer to the origin than this a lot is put by its own frame [m]."""
HAIR_M2: Final = 1e-6
"""Parts of an area no larger are what rounding leaves [m2]."""
OVER_SEGMENTS: Final = 32
"""Pieces of a quarter of an arc where an area is widened for a bound."""


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


def widened_over(area: BaseGeometry, distance: float) -> BaseGeometry:
    """Area widened by a distance or a little more on all sides: for bounds, not for setbacks.

    Quicker than :func:`grow` by far, and along straight sides up to 0.07 % wider.

    Examples
    --------
    >>> from shapely import box
    >>> wide = widened_over(box(0, 0, 10, 10), 3)
    >>> wide.covers(box(0, 0, 10, 10).buffer(3, quad_segs=512)), round(wide.area - 100 - 120, 2)
    (True, 28.38)
    """
    # the pieces of a drawn arc lie inside it, and one may span a step and a half: their middles
    # come to lie on the true circle
    radius = distance / math.cos(3 * math.pi / (8 * OVER_SEGMENTS))
    return shapely.buffer(area, radius, quad_segs=OVER_SEGMENTS)


def keep_inside(area: BaseGeometry, distance: float) -> BaseGeometry:
    """Part of an area that is at least a distance away from its edge; hairs of it are left out.

    Examples
    --------
    >>> from shapely import box
    >>> keep_inside(box(0, 0, 10, 10), 3).bounds
    (3.0, 3.0, 7.0, 7.0)
    """
    if distance == 0 or area.is_empty:
        return area
    # far from the origin the last digits of a coordinate are coarse, and parts overlap by them
    middle = np.round(np.mean(np.reshape(area.bounds, (2, 2)), axis=0))
    away = middle if np.abs(middle).max() > FAR_M else np.zeros(2)
    near = shapely.transform(area, lambda points: points - away) if away.any() else area
    kept = _without_hairs(near.difference(grow(near.boundary, distance)))
    if not away.any():
        return kept
    return _without_hairs(shapely.transform(kept, lambda points: points + away))


def _without_hairs(area: BaseGeometry) -> BaseGeometry:
    """A valid area, without parts that nobody could stand on; what holes take stays taken."""
    if not area.is_valid:
        area = shapely.make_valid(area, method="structure", keep_collapsed=False)
    parts = shapely.get_parts(area)
    large = shapely.area(parts) > HAIR_M2
    return area if large.all() else shapely.MultiPolygon(parts[large].tolist())


def _pieces(part: BaseGeometry, distance: float) -> Iterator[BaseGeometry]:
    if part.geom_type == "Point":
        yield _disc(np.asarray(part.coords[0][:2]), distance)
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
        yield _disc(coordinates[0], distance)
        return
    along = steps[real] / lengths[real, None]
    left = np.column_stack((-along[:, 1], along[:, 0])) * distance
    corners = np.stack((starts + left, ends + left, ends - left, starts - left), axis=1)
    yield from np.asarray(shapely.polygons(corners))
    headings = np.arctan2(along[:, 1], along[:, 0])
    turns = (np.roll(headings, -1) - headings + math.pi) % math.tau - math.pi
    if not closed:
        # half a turn to the left at the far end, and as much at the beginning
        turns[-1] = math.pi
        yield from _wedges(starts[:1], headings[:1] + math.pi / 2, np.array([math.pi]), distance)
    # a turn to the left opens on the right, and the other way round
    begins = np.where(turns > 0, headings - math.pi / 2, headings + turns + math.pi / 2)
    real = turns != 0
    yield from _wedges(ends[real], begins[real], np.abs(turns[real]), distance)


def _disc(center: Coordinates, distance: float) -> BaseGeometry:
    """Disc whose edge is replaced by tangents to the true circle."""
    count = math.ceil(math.tau / arc_step(distance) - TOLERANCE)
    middles = math.tau / count * (np.arange(count) + 0.5)
    rim = np.column_stack((np.cos(middles), np.sin(middles)))
    return shapely.Polygon(center + rim * (distance / math.cos(math.pi / count)))


def _wedges(
    corners: Coordinates, starts: Coordinates, sweeps: Coordinates, distance: float
) -> Iterator[BaseGeometry]:
    """Sectors around corners whose arcs are replaced by tangents to the true circle.

    Tangents lie outside the circle, a buffer's chords inside: a rule's distance is never undercut.
    """
    counts = np.maximum(1, np.ceil(sweeps / arc_step(distance) - TOLERANCE)).astype(np.intp)
    # each: its corner a little behind, a hair before its rim, the rim's start, tangents, and back
    owner = np.repeat(np.arange(len(counts)), counts + 5)
    nth = np.arange(len(owner)) - np.repeat(np.cumsum(counts + 5) - counts - 5, counts + 5)
    sweep, count = sweeps[owner], counts[owner]
    step = sweep / count
    # a hair of overlap with the neighbouring rectangles: rounding must not leave a gap
    hair = TOLERANCE / distance
    tangent = (nth >= 3) & (nth < count + 3)
    turned = np.select(
        [nth == 0, nth == 1, nth == 2, tangent, nth == count + 3],
        [sweep / 2, -hair, 0.0, step * (nth - 2.5), sweep],
        sweep + hair,
    )
    out = np.select([nth == 0, tangent], [-TOLERANCE, distance / np.cos(step / 2)], distance)
    angles = starts[owner] + turned
    rim = np.column_stack((np.cos(angles), np.sin(angles))) * out[:, None]
    rings = shapely.linearrings(corners[owner] + rim, indices=owner)
    yield from np.asarray(shapely.polygons(rings))


def arc_step(radius: float) -> float:
    """Widest angle that one straight piece of an arc spans [rad].

    Small arcs need few: their tangents stay within half a centimetre of them all the same.
    """
    return max(math.radians(ARC_STEP_DEG), 2 * math.acos(radius / (radius + ARC_OUT)))
