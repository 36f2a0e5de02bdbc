"""Where a long body can be driven: its width by exact offsets, length and turning by a search.

The search goes through poses, place and direction (``poses.py``). What it finds can be driven, and
a passage only a little wider than the body may be missed.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import LineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.distinct import distinct
from siteplan.geometry.frame import OwnFrame, along_edges_of
from siteplan.geometry.lines.sweep import joined_polygons
from siteplan.geometry.offset import keep_inside
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways.poses import HEADINGS, Floats, Numbers, PoseSearch, Vehicle
from siteplan.geometry.ways.raster import Raster
from siteplan.geometry.ways.routing import Prices, region_of, route_graph
from siteplan.preferences.table import count_of, figure_of

FINEST_CELL: Final = figure_of("geometry.ways.driving.finest_cell")
MOST_CELLS: Final = count_of("geometry.ways.driving.most_cells")


@dataclass(frozen=True, slots=True, eq=False)
class Reach:
    """Where a body gets to.

    Parameters
    ----------
    area
        Where the middle of its rear end can stand.
    clear
        Where its middle line can run as far as its width goes, joined to the gates.
    poses
        Places of the rear on the poses found, those of one wave after those of the one before.
    before
        For each pose the one it was reached from, -1 at the gates.
    cells
        For each pose the cell it lies in.
    raster
        The cells.
    frame
        The frame in which the cells lie.
    width
        Of the body [m].
    """

    area: BaseGeometry
    clear: BaseGeometry
    poses: Floats
    before: Numbers
    cells: Numbers
    raster: Raster
    frame: OwnFrame
    width: float

    def steps_to(self, x: float, y: float) -> int | None:
        """Number of the first pose with its rear at a place; None where there is none."""
        spot = self.frame.points_into(np.array([[x, y]]))
        steps = np.flatnonzero(self.cells == self.raster.cell_of(spot)[0])
        return int(steps[0]) if len(steps) else None

    def way_to(self, x: float, y: float) -> LineString | None:
        """A taut middle line from a gate to a place, along the poses that lead there.

        It bends at once where the body backs and fills; None where the body does not get there,
        or stands there to begin with.
        """
        number = self.steps_to(x, y)
        if number is None or not self.area.dwithin(shapely.Point(x, y), TOLERANCE):
            return None
        trail = _trail(self.before, number)
        driven = np.vstack([self.poses[trail], [(x, y)]])
        return self._along(driven) if len(trail) > 1 else None

    def first_way(
        self,
        ground: tuple[BaseGeometry, BaseGeometry],
        vehicle: Vehicle,
        grounds: Sequence[BaseGeometry],
        places: Floats,
    ) -> LineString | None:
        """A taut middle line to the place that is reached first through grounds in turn.

        Poses on a ground are gone through before those beside it, so that the way leaves it by
        as few moves as can be; None where it leads to none of the places.

        Parameters
        ----------
        ground
            What the body may cover, and the gates, as this was found with.
        vehicle
            The body.
        grounds
            The grounds, each within the next.
        places
            Places of the rear, (n, 2) [m].
        """
        free, gates, clear = (self.frame.into(shape) for shape in (*ground, self.clear))
        cells = self.raster.cell_of(self.frame.points_into(places))
        until = np.zeros(self.raster.count, dtype=bool)
        until[cells] = True
        search = PoseSearch.of(free, vehicle, self.raster)
        within = [self.frame.into(shape) for shape in grounds]
        poses, before, bins = search.explore(gates.intersection(clear), within, until)
        found = np.flatnonzero(until[bins // HEADINGS])
        if not len(found):
            return None
        trail = _trail(before, int(found[0]))
        place = places[cells == bins[found[0]] // HEADINGS][:1]
        return self._along(np.vstack([self.frame.back(poses[trail]), place]))

    def _along(self, driven: Floats) -> LineString | None:
        """A taut line along places that were driven through."""
        # the poses wander by a cell here and there: taut in a narrow corridor the line stays on
        # what can be driven, and only where that breaks it is given more room
        for room in (self.width / 2, self.width, 3 * self.width):
            corridor = self.clear.intersection(LineString(driven).buffer(room, quad_segs=2))
            way = _taut(corridor, driven[0], driven[-1])
            if way is not None:
                return way
        return _taut(self.clear, driven[0], driven[-1])


def _trail(before: Numbers, number: int) -> list[int]:
    """Numbers of the poses from a gate to a pose."""
    trail = [number]
    while before[trail[-1]] >= 0:
        trail.append(int(before[trail[-1]]))
    return trail[::-1]


def reach_of(free: BaseGeometry, gates: BaseGeometry, vehicle: Vehicle) -> Reach:
    """Where a body gets to that starts within the gates, in any direction.

    Parameters
    ----------
    free
        Ground that the body may cover, the gates included.
    gates
        Where the rear of the body may be at the start.
    vehicle
        The body.

    Examples
    --------
    >>> yard, street = shapely.box(0, 0, 30, 30), shapely.box(0, -12, 30, 0)
    >>> reach = reach_of(shapely.union(yard, street), street, Vehicle(2.4, 7.6, 7.6))
    >>> reach.area.contains(shapely.Point(15, 25))
    True
    """
    # cells and directions lie along the longest edge: a lot that is turned gives the same ground
    frame = along_edges_of(free)
    own = frame.into(free)
    # the width is exact and cheap: it leaves out most ground before the search of poses begins
    wide, starts = keep_inside(own, vehicle.width / 2), frame.into(gates)
    parts = [part for part in shapely.get_parts(wide) if part.intersects(starts)]
    clear = shapely.union_all([part for part in parts if part.geom_type == "Polygon"])
    # one raster for what is found and for the way there: the cells bound the time on large ground
    cells = Raster.over(own, FINEST_CELL, MOST_CELLS)
    if clear.is_empty:
        none = np.zeros(0, dtype=np.intp)
        return Reach(clear, clear, np.zeros((0, 2)), none, none, cells, frame, vehicle.width)
    search = PoseSearch.of(own, vehicle, cells)
    # a body that starts off clear ground by a hair would have its way begin elsewhere
    poses, before, bins = search.explore(starts.intersection(clear))
    reached = bins // HEADINGS
    area = joined_polygons(cells.area_of(distinct(reached)).intersection(clear))
    area, clear = (shapely.transform(shape, frame.back) for shape in (area, clear))
    return Reach(area, clear, frame.back(poses), before, reached, cells, frame, vehicle.width)


def _taut(corridor: BaseGeometry, start: Floats, end: Floats) -> LineString | None:
    """Shortest line in a corridor from one point to another; None where there is none."""
    corridor = joined_polygons(corridor)
    if corridor.is_empty:
        return None
    ends = [shapely.shortest_line(corridor, shapely.Point(spot)).coords[0] for spot in (start, end)]
    none = np.zeros((0, 2))
    # few corners first, which is quick; a corridor hardly wider than the line is lost in drawing
    # it in
    for fine in (False, True):
        graph = route_graph(
            region_of(corridor, fine=fine),
            np.array(ends),
            prices=Prices(),
            helpers=none,
            helper_links=np.zeros((0, 2), dtype=np.intp),
        )
        costs, before = graph.ways([0])
        if np.isfinite(costs[0, 1]):
            trail = [1]
            while trail[-1] != 0:
                trail.append(int(before[0, trail[-1]]))
            return LineString(graph.points[trail[::-1]])
    return None
