"""Two fixed points from which every element can be taped."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon, get_parts

from siteplan.geometry.boundary import courses
from siteplan.layout.model import Element, Layout, Trench
from siteplan.sheet.model import XY
from siteplan.site.model import Site

TAPE_M: Final = 45.0
"""Length that is still taped well, about 150 ft (common practice, no source) [m]."""
MOST_CORNERS: Final = 24

Array = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class TiePoint:
    """A corner that stands on the ground, under a letter of its own."""

    name: str
    at: XY
    what: str


def tie_points(site: Site, layout: Layout) -> tuple[TiePoint, ...]:
    """The two corners, of buildings or else of the parcel, that tie the elements best.

    Best means: seen from every element past the buildings, within a tape's length, and under an
    angle near 90 degrees between the two tapes. Empty where there is nothing to tie.
    """
    targets = np.array([point for one in layout.elements for point in tie_targets(one)])
    if not len(targets):
        return ()
    corners, what = _corners(site)
    middle = targets.mean(axis=0)
    corners = sorted(corners, key=lambda corner: (float(np.hypot(*(corner - middle))), *corner))
    near = np.array(corners[:MOST_CORNERS])
    first, second = _best_pair(near, targets, _seen(site, near, targets))
    return tuple(
        TiePoint(name, (float(near[k][0]), float(near[k][1])), what)
        for name, k in (("A", first), ("B", second))
    )


def tie_targets(element: Element) -> tuple[XY, ...]:
    """Points of an element that are staked: its centre, or both ends of a trench."""
    if isinstance(element, Trench):
        start, end = element.line.coords[0], element.line.coords[-1]
        return (start[0], start[1]), (end[0], end[1])
    return ((element.x_m, element.y_m),)


def _corners(site: Site) -> tuple[list[Array], str]:
    shapes = [part for one in site.of_kind("building") for part in get_parts(one.shape)]
    found = [
        np.asarray(side.start)
        for shape in shapes
        if isinstance(shape, Polygon)
        for side in courses(shape)
    ]
    if len(found) >= 2:
        return found, "building corner"
    return [np.asarray(side.start) for side in courses(site.parcel)], "property corner"


def _seen(site: Site, corners: Array, targets: Array) -> npt.NDArray[np.bool_]:
    """Whether each target is seen from each corner, shape (corners, targets)."""
    walls = shapely.union_all([one.shape for one in site.of_kind("building")]).buffer(-0.05)
    shapely.prepare(walls)
    ends = np.stack(np.broadcast_arrays(corners[:, None, :], targets[None, :, :]), axis=2)
    lines = shapely.linestrings(ends.reshape(-1, 2, 2))
    hidden = np.asarray(shapely.intersects(walls, lines))
    return ~hidden.reshape(len(corners), len(targets))


def _best_pair(corners: Array, targets: Array, seen: npt.NDArray[np.bool_]) -> tuple[int, int]:
    away = targets[None] - corners[:, None]
    reach = np.hypot(away[..., 0], away[..., 1])
    direction = away / np.maximum(reach, 1e-9)[..., None]
    short = np.where(seen, 1.0, 0.1) * np.where(reach <= TAPE_M, 1.0, TAPE_M / (2 * reach + 1.0))

    def worth(pair: tuple[int, int]) -> float:
        one, other = pair
        a, b = direction[one], direction[other]
        sine = np.abs(a[:, 0] * b[:, 1] - a[:, 1] * b[:, 0])
        value = sine * short[one] * short[other]
        return float(value.mean() + value.min())

    return max(combinations(range(len(corners)), 2), key=worth)
