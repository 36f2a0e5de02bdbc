"""A frame of a lot's own: what is worked out in it is the same however the lot is turned."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import polygonal, polygons_of
from siteplan.geometry.points.scanline import boundary_edges
from siteplan.geometry.tolerance import PARALLEL_RAD

Floats = NDArray[np.float64]

DIGITS: Final = 9
"""Digits kept of a coordinate [m]: turning must leave no last bits that break ties."""
EVEN_M: Final = 0.01
"""Ground whose middle lies so little to one side lies on no side [m]."""
RIGHT: Final = math.pi / 2
DRAWN_M: Final = 3.0
"""Edges from this length on were drawn as lines; shorter ones may be chords of an arc [m]."""


@dataclass(frozen=True, slots=True)
class OwnFrame:
    """Frame of a lot: its axes as rows, in the site's frame, and its origin there [m]."""

    axes: tuple[tuple[float, float], tuple[float, float]]
    origin: tuple[float, float]

    def into(self, shape: BaseGeometry) -> BaseGeometry:
        """Shape in the lot's own frame, its rings begun and turned the same however drawn."""
        turned = shapely.transform(shape, self.points_into)
        if not turned.is_valid and polygons_of(turned):
            turned = polygonal(shapely.make_valid(turned))
        return shapely.normalize(turned) if polygons_of(turned) else turned

    def points_into(self, points: Floats) -> Floats:
        """Points of the site's frame in the lot's own."""
        turned = (points - np.array(self.origin)) @ np.array(self.axes).T
        return np.asarray(np.round(turned, DIGITS))

    def turned(self, way: tuple[float, float]) -> tuple[float, float]:
        """A direction of the site's frame in the lot's own."""
        x, y = (np.array(self.axes) @ np.array(way)).tolist()
        return x, y

    def back(self, points: Floats) -> Floats:
        """Points of the lot's own frame in the site's."""
        return np.asarray(np.round(points @ np.array(self.axes) + np.array(self.origin), DIGITS))


SITES: Final = OwnFrame(((1.0, 0.0), (0.0, 1.0)), (0.0, 0.0))
"""The site's own."""


def along_edges_of(shape: BaseGeometry) -> OwnFrame:
    """Frame along the edges of a shape, begun at its middle.

    More of the shape lies on the far side of both axes from the middle of its bounds.
    """
    axes = axes_along(shape)
    middle = np.array(shape.centroid.coords[0])
    spots = (shapely.get_coordinates(shape) - middle) @ axes.T
    # seen from the middle of its bounds, whatever the frame is turned by
    aside = -(spots.min(axis=0) + spots.max(axis=0)) / 2
    return frame_from(axes, middle, aside)


def axes_along(shape: BaseGeometry) -> Floats:
    """Axes as rows, along and across most length of a shape's edges; the first has more of it.

    Edges that were drawn parallel or square to one another and are so but for rounding are one
    direction.

    Examples
    --------
    >>> axes_along(shapely.box(0, 0, 10, 30)).tolist()
    [[0.0, 1.0], [-1.0, 0.0]]
    """
    edges = boundary_edges(shape)
    step = edges[:, 2:] - edges[:, :2]
    length = np.hypot(step[:, 0], step[:, 1])
    if not np.any(length > 0):
        return np.eye(2)
    # chords of arcs lie as the site's frame does, not as the lot
    drawn = length >= min(DRAWN_M, length.max())
    step, length = step[drawn], length[drawn]
    # square directions are one: four times the angle goes round once
    angle = np.arctan2(step[:, 1], step[:, 0]) % RIGHT
    order = np.argsort(angle, kind="stable")
    around = np.concatenate([angle[order] - RIGHT, angle[order], angle[order] + RIGHT])
    up_to = np.concatenate([[0.0], np.cumsum(np.tile(length[order], 3))])
    low, high = (np.searchsorted(around, angle + off) for off in (-PARALLEL_RAD, PARALLEL_RAD))
    total = np.round(up_to[high] - up_to[low], 3)
    most = np.flatnonzero(total == total.max())
    # that of the longest of them, which rounding turns least
    longest = most[np.argmax(length[most])]
    axis = np.round(step[longest] / length[longest], 12)
    axes = np.array([axis, [-axis[1], axis[0]]]) + 0.0
    apart = np.abs(angle - angle[longest])
    chosen = np.minimum(apart, RIGHT - apart) <= PARALLEL_RAD
    # by the edges along each, else by how far the shape goes
    along, across = np.abs(axes @ step[chosen].T).sum(axis=1)
    if abs(along - across) <= EVEN_M:
        along, across = np.ptp(shapely.get_coordinates(shape) @ axes.T, axis=0)
    return axes if along >= across - EVEN_M else np.array([axes[1], -axes[0]]) + 0.0


def frame_from(axes: Floats, origin: Floats, aside: Floats) -> OwnFrame:
    """Frame of which the axes point to where a shape lies aside."""
    axes = axes.copy()
    axes[aside < -EVEN_M] *= -1.0
    (a, b), (c, d) = axes.tolist()
    return OwnFrame(((a, b), (c, d)), (float(origin[0]), float(origin[1])))
