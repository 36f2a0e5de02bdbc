"""Bores as somebody typed them: a grid put where it was typed, or where it fits; each by its place.

The places where a corner of the grid may stand are exact for one direction: the area met with
itself, moved back by each column and then by each row.
"""

from __future__ import annotations

import math
from typing import Final

import numpy as np
import shapely
from shapely import affinity
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points

from siteplan.geometry.points.lattice import edge_directions
from siteplan.geometry.points.packing import centre_of
from siteplan.geometry.points.scanline import Floats
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.block import pipe_distance
from siteplan.layout.by_hand import joined_by_hand
from siteplan.layout.header.router import route_header
from siteplan.layout.model import Ground, Header
from siteplan.layout.way import Ways, ways_of
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.bore_grid import BoreGrid
from siteplan.site.model import VerticalOptions

EDGES: Final = count_of("layout.bores.grid.edges")
SCAN_STEP_DEG: Final = figure_of("layout.bores.grid.scan_step_deg")
PLACES_WEIGHED: Final = count_of("layout.bores.grid.places_weighed")
PLACES_ROUTED: Final = count_of("layout.bores.grid.places_routed")


def typed_places(ground: Ground, options: VerticalOptions) -> tuple[Floats, Header | None]:
    """Points exactly where somebody gave them, each or all as a grid, and a header.

    Those of a grid are told to and fro from its corner. Nothing is asked of the points. The header
    joins those that lie where it can come.
    """
    points, angle = _typed(options)
    ends = [[(float(x), float(y))] for x, y in points]
    return points, joined_by_hand(ground, ends, along_deg=math.degrees(angle))


def fitted_grid(
    ground: Ground, area: BaseGeometry, grid: BoreGrid
) -> tuple[Floats, Header | None] | None:
    """Points of a grid where it has the shortest header found, and that; None: it fits nowhere.

    Rows along and across the edges are tried first, then other directions. The points are in
    staking order, to and fro from the corner nearest to an entry.
    """
    slack = _with_slack(area)
    ways = ways_of(ground)
    # along the edges first: a grid askew is dearer to stake, so it is looked for only where it
    # must be
    for angles in _directions(area, grid):
        grids = [
            (cost, angle, points)
            for angle in angles
            for cost, points in _placed(slack, grid, angle=angle, ways=ways)
        ]
        if grids:
            grids.sort(key=lambda ranked: round(ranked[0], 4))
            routed = [
                (points, _header(ground, points, angle))
                for _, angle, points in grids[:PLACES_ROUTED]
            ]
            return min(routed, key=_header_length)
    return None


def stands(area: BaseGeometry, options: VerticalOptions) -> bool:
    """Whether bores stand in the area where they were typed, or their grid anywhere."""
    grid = options.grid
    if grid is None or options.placed:
        points = shapely.points(_typed(options)[0])
        return bool(np.all(shapely.distance(points, area) <= TOLERANCE))
    slack = _with_slack(area)
    return any(
        not _corner_places(slack, grid, angle).is_empty
        for angles in _directions(area, grid)
        for angle in angles
    )


def _with_slack(area: BaseGeometry) -> BaseGeometry:
    """Area in which a grid that fits to a hair is found, and a header still comes to every bore."""
    # half of the slack that routes get: a bore on its very edge would be off their ground by its
    # last bits
    return shapely.buffer(area, TOLERANCE / 4, quad_segs=1)


def _typed(options: VerticalOptions) -> tuple[Floats, float]:
    """Points where they were typed, and the direction of the rows [rad]: along the longest step."""
    grid = options.grid
    if grid is None:
        points = np.array(options.places)
        steps = points - points[0]
        far = steps[int(np.argmax(np.round(np.hypot(*steps.T), 6)))]
        return points, math.atan2(far[1], far[0])
    angle = math.radians(90.0 - (grid.along_deg or 0.0))
    return np.array(grid.corner or (0.0, 0.0)) + _offsets(grid, angle), angle


def _header_length(placed: tuple[Floats, Header | None]) -> float:
    header = placed[1]
    return round(header.length_m, 4) if header else math.inf


def _header(ground: Ground, points: Floats, angle: float) -> Header | None:
    ends = [[(float(x), float(y))] for x, y in points]
    return route_header(ground, ends, along_deg=math.degrees(angle))


def _directions(area: BaseGeometry, grid: BoreGrid) -> tuple[list[float], ...]:
    """Directions of the rows [rad], in groups: the next group only where one gives no room."""
    if grid.along_deg is not None:
        return ([math.radians(90.0 - grid.along_deg)],)
    edges = [float(edge) for edge in edge_directions(area)[:EDGES]]
    both = [angle for edge in edges for angle in (edge, edge + math.pi / 2)]
    steps = np.radians(np.arange(0.0, 180.0, SCAN_STEP_DEG))
    return both, [edges[0] + float(step) for step in steps]


def _offsets(grid: BoreGrid, angle: float) -> Floats:
    """Steps from the corner to each bore, row by row, to and fro [m]; rows to the left."""
    along = np.array([math.cos(angle), math.sin(angle)])
    across = np.array([-along[1], along[0]])
    steps = []
    for row in range(grid.rows):
        columns = range(grid.columns) if row % 2 == 0 else range(grid.columns - 1, -1, -1)
        steps += [
            column * grid.spacing_m * along + row * grid.row_spacing_m * across
            for column in columns
        ]
    return np.array(steps)


def _corner_places(area: BaseGeometry, grid: BoreGrid, angle: float) -> BaseGeometry:
    """Where the corner may stand so that every bore stands in the area."""
    along = np.array([math.cos(angle), math.sin(angle)])
    across = np.array([-along[1], along[0]])
    # near the origin, as the last digits of map coordinates are as large as what is left of a lot
    # that holds the grid exactly
    centre = centre_of(area)
    area = affinity.translate(area, *-centre)
    for step, count in (
        (grid.spacing_m * along, grid.columns),
        (grid.row_spacing_m * across, grid.rows),
    ):
        # a row must stand in the whole area, not in what the columns before have left of it
        whole = area
        for number in range(1, count):
            back = affinity.translate(whole, *(-number * step))
            area = shapely.intersection(area, back)
            if area.is_empty:
                return area
    return affinity.translate(area, *centre)


def _placed(
    area: BaseGeometry, grid: BoreGrid, *, angle: float, ways: Ways
) -> list[tuple[float, Floats]]:
    """Best places of the grid in one direction: pipe to the entry [m], points in staking order."""
    places = _corner_places(area, grid, angle)
    if places.is_empty:
        return []
    offsets = _offsets(grid, angle)
    corners = _worth_weighing(places, offsets, ways)
    points = (corners[:, None] + offsets[None]).reshape(-1, 2)
    distance = pipe_distance(points, ways).reshape(len(corners), -1)
    cost = np.round(distance.min(axis=1) + distance.mean(axis=1), 6)
    # what ranks blocks of rows ranks grids too: the way to the nearest bore, and to the mean one
    best = np.argsort(cost, kind="stable")[:PLACES_ROUTED]
    return [(float(cost[k]), corners[k] + _from_nearest(offsets, distance[k], grid)) for k in best]


def _worth_weighing(places: BaseGeometry, offsets: Floats, ways: Ways) -> Floats:
    """Corners of the allowed places, and those that bring a bore nearest to an entry or bend."""
    # the header is shortest where a bore stands near an entry or a bend on the way to one: so
    # those places beside the corners of the ground, instead of a raster of all
    aims = (ways.bends[:, None] - offsets[None]).reshape(-1, 2)
    near = [nearest_points(places, aim)[0] for aim in shapely.MultiPoint(aims).geoms]
    corners = np.vstack([shapely.get_coordinates(places), shapely.get_coordinates(near)])
    _, first = np.unique(np.round(corners, 6), axis=0, return_index=True)
    corners = corners[np.sort(first)]
    if len(ways.bends) == 0:
        return np.asarray(corners[:PLACES_WEIGHED])
    middle = corners + offsets.mean(axis=0)
    steps = middle[:, None] - ways.bends[None]
    # measuring true ways is dear: the straight way to the middle of the grid says which are worth
    # it
    reach = np.round((np.hypot(steps[..., 0], steps[..., 1]) + ways.lengths).min(axis=1), 6)
    return np.asarray(corners[np.argsort(reach, kind="stable")[:PLACES_WEIGHED]])


def _from_nearest(offsets: Floats, distance: Floats, grid: BoreGrid) -> Floats:
    """The same steps to and fro, begun at the grid's corner nearest to an entry."""
    rows = [slice(row * grid.columns, (row + 1) * grid.columns) for row in range(grid.rows)]
    table = np.array([offsets[row] for row in rows])
    length = np.array([distance[row] for row in rows])
    table[1::2], length[1::2] = table[1::2, ::-1].copy(), length[1::2, ::-1].copy()
    corners = {(r, c): length[r, c] for r in (0, -1) for c in (0, -1)}
    row, column = min(corners, key=lambda at: round(float(corners[at]), 6))
    table = table[::-1] if row else table
    table = (table[:, ::-1] if column else table).copy()
    table[1::2] = table[1::2, ::-1].copy()
    return np.asarray(table.reshape(-1, 2))
