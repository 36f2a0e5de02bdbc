"""The bottom of a pond: how deep it is anywhere, its area and volume by depth, at low water.

Surveyed, the bottom is linear over the Delaunay triangles of all points whose depth is known: the
shore (0), the depth contours and the soundings, lines with further points on them. A value between
three corners is never beyond them, so that the bottom rises to the shore and nowhere comes out
deeper than what was measured around. With one depth it falls from the shore at the slope of its
sides. All depths are below the lowest level; `siteplan.checks.pond_depth` measures them again.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Final, Protocol

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import joined_polygons, polygonal
from siteplan.geometry.offset import keep_inside
from siteplan.ponds.triangles import Triangles, triangles_of
from siteplan.site.model import Feature
from siteplan.site.pond_survey import USUAL_SLOPE

Floats = NDArray[np.float64]

STEPS: Final = 24
"""Steps of depth in which a volume is added up."""
HAIR_M: Final = 0.01
"""By so much less an area is drawn in to find slivers [m]."""
RIM: Final = 48
"""Places around an element at which the depth under it is read."""


class Bottom(Protocol):
    """What is known of a pond's bottom, at its lowest level."""

    @property
    def shore(self) -> BaseGeometry:
        """Water surface at the lowest level."""

    @property
    def deepest_m(self) -> float:
        """Greatest depth known [m]."""

    def at_least(self, depth_m: float) -> BaseGeometry:
        """Where the water is so deep or deeper."""

    def depths(self, at: Floats) -> Floats:
        """Depth at places [m]; 0 on land."""

    def area_m2(self, depth_m: float) -> float:
        """Area of the water so deep or deeper [m2]."""


@dataclass(frozen=True, eq=False)
class SlopedBottom:
    """A basin of one depth inside of its sides.

    Parameters
    ----------
    outline
        Shore at the level of the survey.
    full_m
        Depth inside of the sides, below that level [m].
    slope
        How far out the sides lie for one down [-].
    drawdown_m
        How far the lowest level lies below that of the survey [m].
    """

    outline: BaseGeometry
    full_m: float
    slope: float
    drawdown_m: float = 0.0

    @cached_property
    def shore(self) -> BaseGeometry:
        """Water surface at the lowest level."""
        return keep_inside(self.outline, self.slope * self.drawdown_m)

    @cached_property
    def deepest_m(self) -> float:
        """Greatest depth [m]: a narrow pond ends where its sides meet."""
        half = shapely.maximum_inscribed_circle(polygonal(self.outline), tolerance=0.05).length
        sides = half / self.slope if self.slope > 0 else math.inf
        return min(self.full_m, sides) - self.drawdown_m

    def at_least(self, depth_m: float) -> BaseGeometry:
        """Where the water is so deep or deeper."""
        below = max(depth_m, 0.0) + self.drawdown_m
        if below > self.full_m:
            return shapely.Polygon()
        return keep_inside(self.outline, self.slope * below)

    def depths(self, at: Floats) -> Floats:
        """Depth at places [m]; 0 on land."""
        points = shapely.points(at)
        inside = shapely.covers(self.outline, points)
        off = shapely.distance(shapely.boundary(self.outline), points)
        sides = off / self.slope if self.slope > 0 else np.full(len(at), math.inf)
        depth = np.where(inside, np.minimum(self.full_m, sides), 0.0)
        return np.asarray(np.maximum(depth - self.drawdown_m, 0.0))

    def area_m2(self, depth_m: float) -> float:
        """Area of the water so deep or deeper [m2]."""
        return float(self.at_least(depth_m).area)


@dataclass(frozen=True, eq=False)
class SurveyedBottom:
    """A bottom measured by depth contours, soundings or both.

    Parameters
    ----------
    outline
        Shore at the level of the survey.
    triangles
        Between the points whose depth is known, below that level.
    shoals
        Ground within a ring of a contour, and the most that is known to lie over it [m].
    drawdown_m
        How far the lowest level lies below that of the survey [m].
    """

    outline: BaseGeometry
    triangles: Triangles
    shoals: tuple[tuple[float, BaseGeometry], ...] = ()
    drawdown_m: float = 0.0

    @cached_property
    def shore(self) -> BaseGeometry:
        """Water surface at the lowest level."""
        return self.outline if self.drawdown_m == 0 else self.at_least(0.0)

    @property
    def deepest_m(self) -> float:
        """Greatest depth known [m]."""
        return float(self.triangles.depths_m.max()) - self.drawdown_m

    def at_least(self, depth_m: float) -> BaseGeometry:
        """Where the water is so deep or deeper."""
        below = max(depth_m, 0.0) + self.drawdown_m
        if below <= 0.0:
            return self.outline
        shoals = [shape for known, shape in self.shoals if known < below]
        deep = self.triangles.deeper_than(below).intersection(self.outline)
        return joined_polygons(deep.difference(shapely.union_all(shoals)))

    def depths(self, at: Floats) -> Floats:
        """Depth at places [m]; 0 on land."""
        points = shapely.points(at)
        depth = np.where(shapely.covers(self.outline, points), self.triangles.at(at), 0.0)
        for known, shape in self.shoals:
            inside = shapely.intersects(shape, points)
            depth = np.where(inside, np.minimum(depth, known), depth)
        return np.asarray(np.maximum(depth - self.drawdown_m, 0.0))

    def area_m2(self, depth_m: float) -> float:
        """Area of the water so deep or deeper [m2]."""
        below = max(depth_m, 0.0) + self.drawdown_m
        return float(self.outline.area) if below <= 0 else self.triangles.area_m2(below)


def bottom_of(pond: Feature) -> Bottom | None:
    """Bottom of a pond; None where nothing is known of its depth."""
    survey = pond.survey
    if pond.contours or survey.soundings:
        lines = [(0.0, pond.shape.boundary)]
        lines += [(contour.depth_m, contour.shape.boundary) for contour in pond.contours]
        spots = [(each.depth_m, each.at) for each in survey.soundings]
        return SurveyedBottom(
            pond.shape, triangles_of(lines, spots), _shoals(pond), survey.drawdown_m
        )
    if pond.depth_m is None:
        return None
    slope = USUAL_SLOPE if survey.side_slope is None else survey.side_slope
    return SlopedBottom(pond.shape, pond.depth_m, slope, survey.drawdown_m)


def _shoals(pond: Feature) -> tuple[tuple[float, BaseGeometry], ...]:
    """Ground within rings of contours: nothing says that the water there is as deep."""
    holes = []
    for contour in pond.contours:
        for ring in contour.shape.interiors:
            hole = shapely.Polygon(ring)
            around = [
                other.depth_m
                for other in pond.contours
                if other.depth_m < contour.depth_m and other.shape.covers(hole)
            ]
            holes.append((max(around, default=0.0), hole))
    return tuple(holes)


def well_inside(area: BaseGeometry, reach_m: float) -> BaseGeometry:
    """Where the middle of something round may lie that lies in an area with all of it.

    Examples
    --------
    >>> well_inside(shapely.box(0, 0, 10, 10), 3.0).bounds
    (3.0, 3.0, 7.0, 7.0)
    """
    # between the bands along many short sides slivers may be left: another way to draw an area in
    # cuts them off, and nothing else
    drawn_in = shapely.buffer(area, -max(reach_m - HAIR_M, 0.0), quad_segs=32)
    return joined_polygons(keep_inside(area, reach_m).intersection(drawn_in))


def least_depth(bottom: Bottom, at: tuple[float, float], reach_m: float) -> float:
    """Least depth under something round [m].

    Read in its middle and around its rim.
    """
    turns = np.arange(RIM) * math.tau / RIM
    rim = np.column_stack((np.cos(turns), np.sin(turns))) * reach_m
    places = np.vstack((np.zeros((1, 2)), rim)) + np.asarray(at)
    return float(bottom.depths(places).min())


@dataclass(frozen=True, slots=True)
class Level:
    """Water so deep or deeper: its area and volume.

    Parameters
    ----------
    depth_m
        Below the lowest level [m].
    area_m2
        Of the water that is so deep [m2].
    below_m3
        Water that lies deeper [m3].
    """

    depth_m: float
    area_m2: float
    below_m3: float


def levels(bottom: Bottom, steps: int = STEPS) -> tuple[Level, ...]:
    """Area and volume by depth, from the lowest level down to the deepest place.

    Examples
    --------
    A basin with upright walls, 30 by 20 m and 4 m deep, holds 2,400 m3.

    >>> basin = SlopedBottom(shapely.box(0, 0, 30, 20), 4.0, 0.0)
    >>> [round(level.below_m3) for level in levels(basin, 2)]
    [2400, 1200, 0]
    """
    depths = [float(depth) for depth in np.linspace(0.0, bottom.deepest_m, steps + 1)]
    areas = [bottom.area_m2(depth) for depth in depths]
    levels = [Level(depths[-1], areas[-1], 0.0)]
    for nth in range(steps - 1, -1, -1):
        slice_m3 = (depths[nth + 1] - depths[nth]) * (areas[nth] + areas[nth + 1]) / 2
        levels.append(Level(depths[nth], areas[nth], levels[-1].below_m3 + slice_m3))
    return tuple(reversed(levels))


def volume_m3(bottom: Bottom, steps: int = STEPS) -> float:
    """Water in a pond at its lowest level [m3]."""
    return levels(bottom, steps)[0].below_m3
