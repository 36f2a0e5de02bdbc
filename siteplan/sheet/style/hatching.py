"""Parallel lines over an area."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence

import numpy as np
import numpy.typing as npt
from shapely import Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError

Rings = Sequence[npt.ArrayLike]


def rings_of(area: BaseGeometry) -> tuple[tuple[tuple[float, float], ...], ...]:
    """All rings of a polygon or multipolygon, open (the first point is not repeated).

    Examples
    --------
    >>> rings_of(Polygon([(0, 0), (1, 0), (0, 1)]))
    (((0.0, 0.0), (1.0, 0.0), (0.0, 1.0)),)
    """
    parts = [part for part in get_parts(area) if isinstance(part, Polygon) and not part.is_empty]
    rings = [ring for part in parts for ring in (part.exterior, *part.interiors)]
    return tuple(tuple((float(p[0]), float(p[1])) for p in ring.coords[:-1]) for ring in rings)


def hatch_lines(rings: Rings, gap: float, angle_deg: float) -> npt.NDArray[np.float64]:
    """Segments, shape (n, 2, 2), of parallel lines ``gap`` apart between rings (even-odd).

    The lines belong to one grid through the origin, so that neighbouring areas hatch alike.

    Raises
    ------
    GeometryError
        The gap is not positive.

    Examples
    --------
    >>> hatch_lines([[(0, 0), (4, 0), (4, 2), (0, 2)]], 1.5, 0.0).tolist()
    [[[0.0, 1.5], [4.0, 1.5]]]
    """
    if gap <= 0.0:
        raise GeometryError(f"A hatch needs a gap above 0, not {gap:g}.")
    angle = math.radians(angle_deg)
    turn = np.array([[math.cos(angle), -math.sin(angle)], [math.sin(angle), math.cos(angle)]])
    edges = _edges(rings) @ turn
    if not len(edges):
        return np.empty((0, 2, 2))
    segments = [segment for height, xs in _cuts(edges, gap) for segment in _spans(height, xs)]
    return np.asarray(np.array(segments).reshape(-1, 2, 2) @ turn.T, float)


def _edges(rings: Rings) -> npt.NDArray[np.float64]:
    """Edges of all rings, shape (n, 2, 2)."""
    arrays = [np.asarray(ring, float) for ring in rings]
    if not arrays:
        return np.empty((0, 2, 2))
    return np.concatenate([np.stack([ring, np.roll(ring, -1, axis=0)], axis=1) for ring in arrays])


def _cuts(
    edges: npt.NDArray[np.float64], gap: float
) -> Iterable[tuple[float, npt.NDArray[np.float64]]]:
    """Height of each line and where it crosses the edges, sorted."""
    low, high = edges[..., 1].min(axis=1), edges[..., 1].max(axis=1)
    for step in range(math.floor(low.min() / gap) + 1, math.ceil(high.max() / gap)):
        height = step * gap
        # half open: a corner that lies on the line counts for one of its two edges
        crossing = edges[(low <= height) & (height < high)]
        start, end = crossing[:, 0], crossing[:, 1]
        share = (height - start[:, 1]) / (end[:, 1] - start[:, 1])
        yield height, np.sort(start[:, 0] + share * (end[:, 0] - start[:, 0]))


def _spans(height: float, xs: npt.NDArray[np.float64]) -> Iterable[tuple[float, ...]]:
    for left, right in zip(xs[::2], xs[1::2], strict=False):
        if right > left:
            yield (left, height, right, height)
