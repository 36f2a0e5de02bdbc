"""Chords of a region along parallel lines, and the small helpers that share its rings."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

Points = npt.NDArray[np.float64]
Values = npt.NDArray[np.float64]

SAME_LEVEL: Final = 1e-9
"""Difference of heights that is rounding, not shape [m]."""
BETWEEN_BANDS: Final = 1.0
"""Height between the bands of directions that are swept at once [m]."""


def polygons_of(shape: BaseGeometry) -> list[Polygon]:
    """Polygons of any shape, without stray lines, points and empty parts.

    Examples
    --------
    >>> mixed = shapely.GeometryCollection([shapely.Point(0, 0), shapely.box(0, 0, 2, 3)])
    >>> [part.area for part in polygons_of(mixed)]
    [6.0]
    """
    if shape.is_empty:
        return []
    if isinstance(shape, Polygon):
        return [shape] if shape.area > 0 else []
    return [part for piece in getattr(shape, "geoms", ()) for part in polygons_of(piece)]


def polygonal(shape: BaseGeometry) -> Polygon | MultiPolygon:
    """Polygon or multipolygon part of any shape, free of a precision grid."""
    parts = polygons_of(shape)
    clean: Polygon | MultiPolygon = parts[0] if len(parts) == 1 else MultiPolygon(parts)
    # A grid would stick to every later overlay and swallow offsets as small as the tolerance.
    return shapely.set_precision(clean, 0) if shapely.get_precision(clean) else clean


def joined_polygons(shape: BaseGeometry) -> BaseGeometry:
    """Polygons of a shape as one: overlays leave stray points and lines behind."""
    parts = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return shapely.union_all(parts) if parts else MultiPolygon()


def xy_of(point: Values) -> tuple[float, float]:
    """X and y of a point of an array, as plain floats [m]."""
    return float(point[0]), float(point[1])


def rings_of(shape: BaseGeometry) -> list[npt.NDArray[np.float64]]:
    """Rings of all polygons as open coordinate arrays, the inside always on the left."""
    turned = [orient(part, 1.0) for part in polygons_of(shape)]
    return [
        shapely.get_coordinates(ring)[:-1]
        for part in turned
        for ring in (part.exterior, *part.interiors)
    ]


@dataclass(frozen=True, slots=True)
class SweepEdges:
    """Edges of a region in a frame whose x axis is the direction of the lines.

    Parameters
    ----------
    low, high
        Lower and upper end of each edge that is not along the lines: arrays of shape (n, 2).
    levels
        Heights of all vertices, rising, each once.
    """

    low: Points
    high: Points
    levels: Values


@dataclass(frozen=True, slots=True)
class Chords:
    """Stretches of lines inside a region, line by line and from left to right.

    Parameters
    ----------
    line
        Index of the line each chord lies on.
    start, end
        Where it begins and ends along the line [m].
    """

    line: npt.NDArray[np.intp]
    start: Values
    end: Values

    @property
    def length(self) -> Values:
        """Length of each chord [m]."""
        return self.end - self.start


def frame_of(direction_deg: float) -> Points:
    """Matrix that turns row vectors into the frame of a direction; its transpose turns back.

    Examples
    --------
    >>> (np.array([[0.0, 2.0]]) @ frame_of(90.0)).round(9).tolist()
    [[2.0, 0.0]]
    """
    turn = math.radians(direction_deg)
    return np.array([[math.cos(turn), -math.sin(turn)], [math.sin(turn), math.cos(turn)]])


@dataclass(frozen=True, slots=True)
class Bands:
    """Where the heights of several directions lie that are swept at once, none near another.

    Parameters
    ----------
    lift
        What was added to the heights of each direction [m].
    low, high
        Least and greatest height of each direction, lifted [m].
    """

    lift: Values
    low: Values
    high: Values

    def of(self, heights: Values) -> npt.NDArray[np.intp]:
        """Number of the direction that each height belongs to."""
        return np.searchsorted(self.low - BETWEEN_BANDS / 2, heights) - 1


def sweep_edges(rings: Sequence[Points], direction_deg: float) -> SweepEdges:
    """Edges of closed rings, ready for chords along one direction."""
    return swept(rings, (direction_deg,))[0]


def swept(rings: Sequence[Points], directions_deg: Sequence[float]) -> tuple[SweepEdges, Bands]:
    """Edges of closed rings in the frames of several directions, each lifted to its own band.

    A chord lies between edges of one direction alone, so that one sweep serves all of them.
    """
    points = np.concatenate(rings)
    turn = np.radians(np.asarray(directions_deg, dtype=np.float64))[:, None]
    along = points[:, 0] * np.cos(turn) + points[:, 1] * np.sin(turn)
    across = points[:, 1] * np.cos(turn) - points[:, 0] * np.sin(turn)
    lowest, highest = across.min(axis=1), across.max(axis=1)
    apart = float((highest - lowest).max()) + BETWEEN_BANDS
    # one direction alone stays where it is
    numbers = np.arange(len(turn))
    lift = numbers * apart - lowest if len(turn) > 1 else np.zeros(1)
    heights, levels = _snapped((across + lift[:, None]).ravel())
    places = np.stack([along.ravel(), heights], axis=1)
    following = np.concatenate(
        [np.roll(np.arange(len(ring)), -1) + first for ring, first in _offsets(rings)]
    )
    after = places[(following + (numbers * len(points))[:, None]).ravel()]
    rising = places[:, 1] < after[:, 1]
    falling = places[:, 1] > after[:, 1]
    low = np.concatenate([places[rising], after[falling]])
    high = np.concatenate([after[rising], places[falling]])
    return SweepEdges(low, high, levels), Bands(lift, lowest + lift, highest + lift)


def _offsets(rings: Sequence[Points]) -> list[tuple[Points, int]]:
    firsts = np.cumsum([0, *(len(ring) for ring in rings[:-1])])
    return [(ring, int(first)) for ring, first in zip(rings, firsts, strict=True)]


def _snapped(heights: Values) -> tuple[Values, Values]:
    """Heights with those that differ by rounding alone made equal, and the different ones.

    Otherwise an edge along the lines would come out with a slope of its last bits.
    """
    order = np.argsort(heights, kind="stable")
    rising = heights[order]
    group = np.concatenate([[0], np.cumsum(np.diff(rising) > SAME_LEVEL)])
    levels = rising[np.concatenate([[True], np.diff(group) > 0])]
    snapped = np.empty_like(heights)
    snapped[order] = levels[group]
    return snapped, levels


def chords_at(edges: SweepEdges, levels: Values, *, above: bool) -> Chords:
    """Chords at rising heights, as the limit from just above or from just below each.

    At the height of a vertex or of an edge along the lines the two limits differ; both lie in
    the region, because a region holds its edge.

    Examples
    --------
    >>> square = sweep_edges([np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])], 0.0)
    >>> chords_at(square, np.array([0.0, 3.0]), above=True).line.tolist()
    [0]
    >>> chords_at(square, np.array([0.0, 3.0]), above=False).line.tolist()
    [1]
    """
    side: Literal["left", "right"] = "left" if above else "right"
    first = np.searchsorted(levels, edges.low[:, 1], side)
    count = np.searchsorted(levels, edges.high[:, 1], side) - first
    edge = np.repeat(np.arange(len(count)), count)
    line = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count - first, count)
    low, step = edges.low[edge], (edges.high - edges.low)[edge]
    crossing = low[:, 0] + (levels[line] - low[:, 1]) * step[:, 0] / step[:, 1]
    order = np.lexsort((crossing, line))
    line, crossing = line[order], crossing[order]
    return Chords(line[::2].astype(np.intp), crossing[::2], crossing[1::2])


def slabs_of(edges: SweepEdges, levels: Values) -> tuple[Chords, Chords]:
    """Chords at both ends of each slab between two heights, as limits from inside the slab.

    All vertices lie on the heights given, so that the same edges bound a slab below and above; the
    two ends of a chord have one place in the arrays. A chord at the lower end has the number of
    its slab as its line, one at the upper end the number after it.

    Examples
    --------
    >>> square = sweep_edges([np.array([[0.0, 0.0], [4.0, 0.0], [4.0, 3.0], [0.0, 3.0]])], 0.0)
    >>> low, high = slabs_of(square, np.array([0.0, 1.0, 3.0]))
    >>> low.line.tolist(), high.line.tolist(), low.length.tolist()
    ([0, 1], [1, 2], [4.0, 4.0])
    """
    first = np.searchsorted(levels, edges.low[:, 1])
    count = np.searchsorted(levels, edges.high[:, 1]) - first
    edge = np.repeat(np.arange(len(count)), count)
    slab = np.arange(len(edge)) - np.repeat(np.cumsum(count) - count - first, count)
    low, step = edges.low[edge], (edges.high - edges.low)[edge]
    slope = step[:, 0] / step[:, 1]
    below = low[:, 0] + (levels[slab] - low[:, 1]) * slope
    above = low[:, 0] + (levels[slab + 1] - low[:, 1]) * slope
    order = np.lexsort((below + above, slab))
    slab, below, above = slab[order], below[order], above[order]
    line = slab[::2].astype(np.intp)
    return (
        Chords(line, below[::2], below[1::2]),
        Chords(line + 1, above[::2], above[1::2]),
    )
