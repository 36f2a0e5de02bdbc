"""How deep the water is under a coil, measured from the survey of the pond itself.

Nothing is taken over from whoever laid the coil out: the triangles are drawn anew, one from the
side of another, and read by solving for the plane through their corners. (GEOS passes over points
on straight shores, and its triangles are then not those whose circles are empty.)
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.layout.elements import Coil
from siteplan.site.model import Feature, Site
from siteplan.site.pond_survey import USUAL_SLOPE, point_step

Floats = NDArray[np.float64]

FLAT_M2: Final = 1e-9
"""Twice the area of three places that lie on one line [m2]."""


@dataclass(frozen=True, eq=False)
class Gauge:
    """Reads the depth of one pond at its lowest level.

    Parameters
    ----------
    pond
        With its survey.
    planes
        Triangles between the places of known depth.
    depths_m
        Depths of the three corners of each, below the level of the survey [m].
    """

    pond: Feature
    planes: NDArray[np.object_] = field(default_factory=lambda: np.array([], dtype=object))
    depths_m: tuple[Floats, ...] = ()

    def least(self, at: BaseGeometry, reach_m: float) -> float:
        """Least depth known anywhere under something round [m]; 0 where nothing is known."""
        shore = self.pond.shape
        if not shore.covers(at):
            return 0.0
        drawdown = self.pond.survey.drawdown_m
        known = self._surveyed(at, reach_m) if len(self.planes) else self._sloped(at, reach_m)
        return max(known - drawdown, 0.0)

    def _sloped(self, at: BaseGeometry, reach_m: float) -> float:
        full, slope = self.pond.depth_m or 0.0, self.pond.survey.side_slope
        slope = USUAL_SLOPE if slope is None else slope
        off = float(at.distance(self.pond.shape.boundary)) - reach_m
        return full if off >= slope * full else max(off, 0.0) / slope

    def _surveyed(self, at: BaseGeometry, reach_m: float) -> float:
        disc = at.buffer(reach_m, quad_segs=16) if reach_m > 0 else at
        least, covered = np.inf, []
        shapely.prepare(disc)
        for number in np.flatnonzero(shapely.intersects(disc, self.planes)):
            plane, depths = self.planes[number], self.depths_m[number]
            part = plane.intersection(disc)
            if part.is_empty:
                continue
            covered.append(part)
            least = min(least, float(_read(plane, depths, shapely.get_coordinates(part)).min()))
        if not covered or disc.area - shapely.union_all(covered).area > 1e-6:
            return 0.0
        return min(least, self._over_shoals(disc))

    def _over_shoals(self, disc: BaseGeometry) -> float:
        """The most that is known within a ring of a contour that the disc meets [m]."""
        most = np.inf
        for contour in self.pond.contours:
            for ring in contour.shape.interiors:
                hole = shapely.Polygon(ring)
                if disc.intersection(hole).area > 0:
                    around = [
                        other.depth_m
                        for other in self.pond.contours
                        if other.depth_m < contour.depth_m and other.shape.covers(hole)
                    ]
                    most = min(most, max(around, default=0.0))
        return most


def water_around(coil: Coil, gauge: Gauge) -> tuple[float, float] | None:
    """How far a coil lies off the shore and in how much water [m]; None: not in its pond."""
    if not gauge.pond.shape.contains(coil.footprint):
        return None
    shore = float(coil.footprint.distance(gauge.pond.shape.boundary)) - coil.reach_m
    return shore, gauge.least(coil.footprint, coil.reach_m)


def gauge_of(pond: Feature) -> Gauge:
    """What reads the depth of a pond."""
    survey = pond.survey
    if not pond.contours and not survey.soundings:
        return Gauge(pond)
    lines = [(0.0, pond.shape.boundary)]
    lines.extend((contour.depth_m, contour.shape.boundary) for contour in pond.contours)
    step = point_step(sum(float(line.length) for _, line in lines))
    known: dict[tuple[float, ...], float] = {}
    for depth, line in lines:
        for at in shapely.get_coordinates(shapely.segmentize(line, step)):
            known[tuple(at)] = min(depth, known.get(tuple(at), np.inf))
    for sounding in survey.soundings:
        here = (sounding.at.x, sounding.at.y)
        known[here] = min(sounding.depth_m, known.get(here, np.inf))
    places, depths = np.array(list(known)), np.array(list(known.values()))
    threes = np.array(_triangles(places), dtype=np.intp).reshape(-1, 3)
    return Gauge(pond, np.asarray(shapely.polygons(places[threes])), tuple(depths[threes]))


def _triangles(places: Floats) -> list[tuple[int, int, int]]:
    """Corners of the triangles whose circles are empty, side by side from a first side outwards.

    A triangle stands on each side of another: its third corner is where the side is seen at the
    widest angle, so that no place lies in the circle through the three.
    """
    # a place and the one nearest to it are a side of some triangle, whatever lies around
    nearest = np.hypot(*(places[1:] - places[0]).T)
    second = 1 + int(np.argmin(nearest))
    waiting, triangles = [(0, second), (second, 0)], dict[tuple[int, ...], tuple[int, int, int]]()
    while waiting:
        first, second = waiting.pop()
        third = _third(places, first, second)
        if third is None:
            continue
        three = (first, second, third)
        if tuple(sorted(three)) not in triangles:
            triangles[tuple(sorted(three))] = three
            # the far sides, walked the other way round: what is beyond them lies to their left
            waiting += [(first, third), (third, second)]
    return list(triangles.values())


def _third(places: Floats, first: int, second: int) -> int | None:
    """The place left of a side that sees it at the widest angle; None where none lies there."""
    to_first, to_second = places[first] - places, places[second] - places
    across = to_first[:, 0] * to_second[:, 1] - to_first[:, 1] * to_second[:, 0]
    left = across > FLAT_M2
    if not left.any():
        return None
    cotangent = np.full(len(places), np.inf)
    cotangent[left] = (to_first * to_second).sum(axis=1)[left] / across[left]
    return int(np.argmin(cotangent))


def _read(plane: BaseGeometry, depths: Floats, places: Floats) -> Floats:
    """Depths of places in a triangle: on the plane through its corners [m]."""
    corners = shapely.get_coordinates(plane)[:3]
    origin = corners[0]
    slopes = np.linalg.solve(corners[1:] - origin, depths[1:] - depths[0])
    found = depths[0] + (places - origin) @ slopes
    # rounding must not read beyond what was measured
    return np.asarray(np.clip(found, depths.min(), depths.max()))


def water_over(at: Point, reach_m: float, site: Site) -> tuple[str, float]:
    """Id of the pond around a coil, and the least water over the whole coil [m]; nothing: 0."""
    for pond in site.of_kind("pond"):
        if pond.shape.covers(at):
            deep = gauge_of(pond).least(at, reach_m)
            return pond.id, max(deep - site.exchanger.pond.height_m, 0.0)
    return "", 0.0
