"""The edges of an area as a fence: how far inside a point stands, and which edges are near it."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from siteplan.geometry.points.scanline import Floats, Integers
from siteplan.preferences.table import count_of, figure_of

MANY_EDGES: Final = count_of("geometry.points.fence.many_edges")
GIVE: Final = figure_of("geometry.points.fence.give")
REACH: Final = figure_of("geometry.points.fence.reach")
MOST_WALLS: Final = count_of("geometry.points.fence.most_walls")
CELL: Final = figure_of("geometry.points.fence.cell")


def dot(vectors: Floats, other: Floats) -> Floats:
    """Scalar product of vectors, line by line; faster here than a sum along the lines."""
    return vectors[:, 0] * other[:, 0] + vectors[:, 1] * other[:, 1]


@dataclass(frozen=True, slots=True)
class Fence:
    """Edges of an area with its inside on their left.

    Parameters
    ----------
    start, step
        First corner of each edge and the way to the next [m].
    normal
        Unit vector into the area.
    reflex
        For each edge whether the area's angle at its first and at its second corner passes 180 deg.
    """

    start: Floats
    step: Floats
    normal: Floats
    reflex: Integers

    @property
    def end(self) -> Floats:
        """Second corner of each edge [m]."""
        return self.start + self.step

    def planes(self, points: Floats, edge: Integers) -> tuple[Floats, Floats, Floats]:
        """Half plane through each point's foot on an edge, and the point's distance to the foot.

        Inside it is ``normal . x >= offset``. Beside a corner that juts into the area the normal
        points from the corner to the point, elsewhere it is the edge's.
        """
        start, step, normal = self.start[edge], self.step[edge], self.normal[edge]
        off = points - start
        share = dot(off, step) / dot(step, step)
        clipped = np.minimum(np.maximum(share, 0.0), 1.0)
        foot = start + clipped[:, None] * step
        off = points - foot
        distance = np.sqrt(dot(off, off))
        juts = self.reflex[edge, (share > 0.5).astype(np.int64)] > 0
        round_it = ((share <= 0.0) | (share >= 1.0)) & juts & (distance > 1e-12)
        away = off / np.maximum(distance, 1e-12)[:, None]
        normal = np.where(round_it[:, None], away, normal)
        return normal, dot(normal, foot), distance


@dataclass(frozen=True, slots=True)
class Walls:
    """Half planes ``normal . x >= offset`` that keep points inside.

    Parameters
    ----------
    point
        Number of the point that minds the wall.
    normal
        Unit vector inwards; x in the first line, y in the second.
    offset
        Distance of the wall from the origin along the normal [m].
    """

    point: Integers
    normal: Floats
    offset: Floats


def fence_of(area: BaseGeometry, *, give: float = 0.0) -> Fence:
    """Fence of an area's rings, drawn in by ``give`` [m] where that spares very many edges."""
    if give > 0 and shapely.get_num_coordinates(area) > MANY_EDGES:
        # drawn in first by as much as simplifying may move an edge: the fence never lies outside
        drawn_in = shapely.simplify(shapely.buffer(area, -give), give)
        # a strip narrower than that would be gone: there all edges are kept
        area = area if drawn_in.is_empty else drawn_in
    starts, steps, reflexes = [], [], []
    for part in shapely.get_parts(area):
        if part.geom_type != "Polygon" or part.is_empty:
            continue
        turned = orient(part, 1.0)
        for ring in (turned.exterior, *turned.interiors):
            corners = shapely.get_coordinates(ring)[:-1]
            # a side without length has no normal
            corners = corners[np.hypot(*(np.roll(corners, -1, 0) - corners).T) > 1e-9]
            step = np.roll(corners, -1, axis=0) - corners
            before = np.roll(step, 1, axis=0)
            reflex = before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0] < 0
            starts.append(corners)
            steps.append(step)
            reflexes.append(np.column_stack([reflex, np.roll(reflex, -1)]))
    start, step = np.vstack(starts), np.vstack(steps)
    normal = np.column_stack([-step[:, 1], step[:, 0]]) / np.hypot(*step.T)[:, None]
    return Fence(start, step, normal, np.vstack(reflexes).astype(np.int64))


@dataclass(frozen=True, slots=True)
class EdgeIndex:
    """A raster over an area; for each of its cells the edges that may concern a point in it.

    Parameters
    ----------
    fence
        The edges.
    reach
        How far from an edge a point still minds it [m].
    corner
        South-west corner of the raster [m].
    cell
        Width of a cell [m].
    shape
        Number of columns and of rows.
    first
        For each cell, row by row, where its edges begin in ``edges``; one more at the end.
    edges
        Numbers of the edges, cell by cell.
    """

    fence: Fence
    reach: float
    corner: Floats
    cell: float
    shape: tuple[int, int]
    first: Integers
    edges: Integers

    def walls(self, points: Floats) -> Walls:
        """Half planes that keep each point in a convex part of the area around it.

        Edges are taken from the nearest outwards; one that a wall already taken cuts off is
        skipped. So a point may slide past a corner that juts into the area.
        """
        point, edge = self._listed(points)
        normal, offset, distance = self.fence.planes(points[point], edge)
        nearest = self._nearest(point, distance)
        minded = (nearest <= self.reach) | (dot(normal, points[point]) < offset)
        order = np.flatnonzero(minded & (distance <= self.reach + nearest))
        # the nearest edge first: it cuts off most of those behind it, so few walls are enough
        order = order[np.lexsort((distance[order], point[order]))]
        taken: list[Integers] = []
        # all points take their next wall in one pass: a loop over points would be far slower
        for _ in range(MOST_WALLS):
            owner = point[order]
            first = order[np.flatnonzero(np.diff(owner, prepend=-1))]
            if first.size == 0:
                break
            taken.append(first)
            wall = np.zeros(len(points), dtype=np.int64)
            wall[point[first]] = first
            wall = wall[owner]
            start, end = self.fence.start[edge[order]], self.fence.end[edge[order]]
            most = offset[wall] + 1e-9
            left = (dot(normal[wall], start) > most) | (dot(normal[wall], end) > most)
            order = order[left & (order != wall)]
        chosen = np.concatenate([np.zeros(0, dtype=np.int64), *taken])
        return Walls(point[chosen], np.ascontiguousarray(normal[chosen].T), offset[chosen])

    def _listed(self, points: Floats) -> tuple[Integers, Integers]:
        """Points and the edges of their cells."""
        column, row = np.floor((points - self.corner) / self.cell).astype(np.int64).T
        # a point off the raster takes the edges of the nearest cell: it still finds its way back
        column = np.clip(column, 0, self.shape[0] - 1)
        cell = np.clip(row, 0, self.shape[1] - 1) * self.shape[0] + column
        begin, count = self.first[cell], self.first[cell + 1] - self.first[cell]
        point = np.repeat(np.arange(len(points)), count)
        shift = np.cumsum(count) - count
        return point, self.edges[np.arange(point.size) - np.repeat(shift - begin, count)]

    def _nearest(self, point: Integers, distance: Floats) -> Floats:
        """For each listed pair the distance of its point to the nearest edge."""
        begin = np.flatnonzero(np.diff(point, prepend=-1))
        if begin.size == 0:
            return distance
        sizes = np.diff(np.r_[begin, point.size])
        return np.repeat(np.minimum.reduceat(distance, begin), sizes)


def edge_index(area: BaseGeometry, fence: Fence, *, spacing: float) -> EdgeIndex:
    """Index of a fence's near edges over its area, for points a spacing [m] apart."""
    cell, reach = CELL * spacing, REACH * spacing
    west, south, east, north = area.bounds
    corner = np.array([west - spacing, south - spacing])
    columns = math.ceil((east - west + 2 * spacing) / cell)
    rows = math.ceil((north - south + 2 * spacing) / cell)
    x, y = np.meshgrid(np.arange(columns) + 0.5, np.arange(rows) + 0.5)
    middles = corner + cell * np.column_stack([x.ravel(), y.ravel()])
    centre = np.asarray(shapely.points(middles))
    lines = np.asarray(shapely.linestrings(np.stack([fence.start, fence.end], axis=1)))
    tree = shapely.STRtree(lines)
    # no point of a cell is farther from its middle than half a diagonal
    half = cell * math.sqrt(0.5)
    owner, nearest = tree.query_nearest(centre, all_matches=False)
    gap = np.empty(centre.size)
    gap[owner] = shapely.distance(centre[owner], lines[nearest])
    # a point deep inside minds no edge; outside all are listed, so that a point pushed out comes
    # back
    minded = (gap <= reach + half) | ~shapely.intersects_xy(area, middles)
    some = np.flatnonzero(minded)
    # the nearest edge of a point anywhere in the cell, seen from the middle, and those a reach
    # behind it
    most = gap[some] + 2 * half + reach
    number, edge = tree.query(centre[some], "dwithin", most)
    number = some[number]
    order = np.lexsort((edge, number))
    first = np.searchsorted(number[order], np.arange(centre.size + 1))
    return EdgeIndex(fence, reach, corner, cell, (columns, rows), first, edge[order])
