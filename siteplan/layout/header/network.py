"""What the router searches: places that a header may pass, the ways between them, their prices."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString
from shapely.ops import nearest_points, substring

from siteplan.geometry.lines.sweep import polygons_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways.comb import NO_COMBS, Combs, combs_of
from siteplan.geometry.ways.routing import Prices, Region, RouteGraph, Toll, route_graph
from siteplan.geometry.ways.trees import Link
from siteplan.layout.model import Ground
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.model import Entry, Feature
from siteplan.vocabulary.kinds import kinds

CROSSING_COST: Final = figure_of("layout.header.network.crossing_cost")
AVOID_COST: Final = figure_of("layout.header.network.avoid_cost")
HAND_COST: Final = figure_of("layout.header.network.hand_cost")
DRY_COST: Final = figure_of("layout.header.network.dry_cost")
LANDINGS: Final = count_of("layout.header.network.landings")
LANDINGS_APART: Final = 3.0
"""Least distance of places on a shore where the header may leave the water [m]."""
ENTRY_TOLERANCE: Final = TOLERANCE
"""How far an entry may lie off the passable ground and still be reached [m]."""
ROUND_END: Final = 0.6
"""Distance at which a pipe goes round the end of a trench it does not join [m]."""
ROUND_SLOPE: Final = 1.0
"""Distance at which a pipe goes round ground too steep for a machine [m]."""
END_FREE: Final = 0.05
"""Length at a joined trench end on which the header may touch the trench [m]."""

Ends = Sequence[Sequence[tuple[float, float]]]
Points = npt.NDArray[np.float64]
Floats = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Task:
    """What was asked for."""

    ground: Ground
    ends: Ends
    along_deg: float | None
    avoid: tuple[LineString, ...]
    combs: bool


@dataclass(frozen=True, slots=True)
class Network:
    """What the search works on: the stops are the entries, then all ends, each place once."""

    graph: RouteGraph
    marked: tuple[Toll, ...]
    trenches: tuple[Toll, ...]
    entries: tuple[tuple[Entry, int], ...]
    groups: tuple[tuple[int, ...], ...]
    spines: tuple[tuple[int, ...], ...]
    dug: dict[Link, float] = field(default_factory=dict, compare=False, repr=False)

    def dug_m(self, points: Points, links: Sequence[Link]) -> Floats:
        """What each link costs, without the share for direction, which only helped the search [m].

        ``points`` are those of the graph, and others after them.
        """
        own = len(self.graph.points)
        new = [link for link in links if link not in self.dug]
        if new:
            spans = points[np.array(new)]
            costs = Prices(self.marked).of(spans[:, 0], spans[:, 1])
            # the same link comes again and again in trees over this graph
            found = dict(zip(new, costs.tolist(), strict=True))
            self.dug.update({link: cost for link, cost in found.items() if max(link) < own})
        else:
            found = {}
        return np.array([found[link] if link in found else self.dug[link] for link in links])


class _Places:
    """Numbers for places, the same place always under one number."""

    def __init__(self) -> None:
        self.spots: list[tuple[float, float]] = []
        self._numbers: dict[tuple[float, float], int] = {}

    def number(self, x: float, y: float) -> int:
        """Number of a place, a new one where it is new."""
        key = (round(x, 6), round(y, 6))
        if key not in self._numbers:
            self._numbers[key] = len(self.spots)
            self.spots.append((x, y))
        return self._numbers[key]


def network_of(
    task: Task, region: Region, *, beside: Ends = (), strips: tuple[Toll, ...] = ()
) -> Network:
    """Graph over entries, ends, and further places beside the trenches and lines."""
    ground, along_deg = task.ground, task.along_deg
    places = _Places()
    entries = [
        (entry, places.number(*_foot(region, entry)))
        for entry in ground.entries
        if region.ground.distance(entry.point) <= ENTRY_TOLERANCE
    ]
    groups = tuple(tuple(places.number(float(x), float(y)) for x, y in pair) for pair in task.ends)
    # a trench runs round the ends of others a clear distance off, where it may turn
    aside = (*(spot for pair in beside for spot in pair), *landings(ground), *round_slopes(ground))
    for x, y in aside:
        places.number(x, y)
    stops = np.array(places.spots)
    # stops in rows are joined by a straight spine across them, which no graph of corners offers
    combs = NO_COMBS
    if task.combs and along_deg is not None and all(len(group) == 1 for group in groups):
        combs = _combs(stops, [g[0] for g in groups], [root for _, root in entries], along_deg)
    tolls = (*marked_tolls(ground.marked), *slope_tolls(ground.marked))
    marked = (*tolls, *strips, *dry_tolls(ground))
    trenches = trench_tolls(task.avoid)
    # of ways as long, the one square to the trenches is set out with a tape, and digs no slivers
    favoured = () if along_deg is None else (along_deg, along_deg + 90.0)
    graph = route_graph(
        region,
        stops,
        prices=Prices((*marked, *trenches), favoured, ground.memory),
        helpers=combs.points,
        helper_links=combs.links,
    )
    return Network(graph, marked, trenches, tuple(entries), groups, combs.spines)


def _foot(region: Region, entry: Entry) -> tuple[float, float]:
    """Place where the header meets an entry: the entry itself, unless it lies a little off."""
    spot = entry.point
    if not region.widened.covers(spot):
        spot = nearest_points(region.ground, spot)[0]
    return spot.x, spot.y


def _combs(stops: Points, bores: list[int], roots: list[int], along_deg: float) -> Combs:
    """Combs over the bores, numbered like the graph: stops first, then meeting points."""
    combs = combs_of(stops[bores], along_deg, anchors=stops[roots])
    numbers = np.array([*bores, *range(len(stops), len(stops) + len(combs.points))])
    spines = tuple(tuple(int(point) for point in numbers[list(spine)]) for spine in combs.spines)
    return Combs(combs.points, numbers[combs.links].astype(np.intp), spines)


def marked_tolls(marked: Sequence[Feature]) -> tuple[Toll, ...]:
    """What each crossing of a utility or drive costs."""
    # A polygon is crossed by going in and coming out: half the cost at each edge.
    return tuple(
        Toll(feature.shape.boundary, CROSSING_COST / 2)
        if polygons_of(feature.shape)
        else Toll(feature.shape, CROSSING_COST)
        for feature in marked
    )


def slope_tolls(marked: Sequence[Feature]) -> tuple[Toll, ...]:
    """What a metre costs besides that is dug by hand, where no machine works."""
    return tuple(Toll(feature.shape, HAND_COST) for feature in _slopes(marked))


def round_slopes(ground: Ground) -> tuple[tuple[float, float], ...]:
    """Places beside the corners of steep ground, to lead a pipe round it."""
    beside = [
        feature.shape.buffer(ROUND_SLOPE, join_style="mitre").simplify(ROUND_SLOPE / 4)
        for feature in _slopes(ground.marked)
    ]
    spots = shapely.get_coordinates(beside)
    free = shapely.contains_xy(ground.passable, spots[:, 0], spots[:, 1])
    return tuple((float(x), float(y)) for x, y in spots[free])


def _slopes(marked: Sequence[Feature]) -> list[Feature]:
    return [feature for feature in marked if kinds()[feature.kind].group == "slope"]


def dry_tolls(ground: Ground) -> tuple[Toll, ...]:
    """What a metre costs that is dug, where the rest of the header sinks in a pond."""
    if ground.entered is None or ground.entered.area == 0:
        return ()
    dry = ground.memory.of(shapely.difference, ground.passable, ground.entered)
    return (Toll(dry, DRY_COST),)


def landings(ground: Ground) -> tuple[tuple[float, float], ...]:
    """Places on the shore of a pond where the header may leave the water.

    The nearest to each entry is among them: from there the trench is shortest.
    """
    if ground.entered is None or ground.entered.area == 0:
        return ()
    shore = ground.entered.boundary.intersection(ground.passable)
    if shore.is_empty:
        return ()
    nearest = [nearest_points(shore, entry.point)[0] for entry in ground.entries]
    nearest += [shapely.Point(at) for at in ground.shore_entries]
    step = max(ground.entered.boundary.length / LANDINGS, LANDINGS_APART)
    along = shapely.get_coordinates(shapely.segmentize(shore, step))
    return tuple((float(x), float(y)) for x, y in (*shapely.get_coordinates(nearest), *along))


def trench_tolls(avoid: Sequence[LineString]) -> tuple[Toll, ...]:
    """What each crossing of a trench costs; at its end, where it is joined, it may be touched."""
    return tuple(
        Toll(substring(line, END_FREE, line.length - END_FREE), AVOID_COST)
        for line in avoid
        if line.length > 3 * END_FREE
    )


def round_ends(avoid: Sequence[LineString]) -> Ends:
    """Places a little beyond both ends of each trench, to lead a pipe round them."""
    beyond = []
    for line in avoid:
        # a line along a contour may begin with one point twice, and has no direction there
        points = shapely.get_coordinates(shapely.remove_repeated_points(line))
        steps = np.array([points[0] - points[1], points[-1] - points[-2]])
        steps *= ROUND_END / np.hypot(steps[:, 0], steps[:, 1])[:, None]
        beyond.append([(float(x), float(y)) for x, y in points[[0, -1]] + steps])
    return beyond
