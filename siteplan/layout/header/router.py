"""The header: one tidy pipe run that joins every element to an entry of the building."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry
from shapely.ops import nearest_points, substring

from siteplan.geometry.lines.sweep import polygonal, polygons_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways.comb import NO_COMBS, Combs, combs_of
from siteplan.geometry.ways.routing import (
    KnownWays,
    Prices,
    Region,
    RouteGraph,
    Toll,
    region_of,
    route_graph,
    shortest_tree,
    shunning,
)
from siteplan.geometry.ways.trees import Link, noded, opened, pruned, tree_runs, unpaired_ends
from siteplan.layout.header.alongside import (
    SQUARE_DEG,
    lies_along,
    strip_places,
    strip_tolls,
    worst_crossing,
)
from siteplan.layout.header.crossings import crossings_of
from siteplan.layout.header.ends import choose_ends
from siteplan.layout.model import Ground, Header
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.model import Entry, Feature

CROSSING_COST: Final = figure_of("layout.header.router.crossing_cost")
AVOID_COST: Final = figure_of("layout.header.router.avoid_cost")
BEND_COST: Final = figure_of("layout.header.router.bend_cost")
MAINS: Final = count_of("layout.header.router.mains")
MAIN_COST: Final = figure_of("layout.header.router.main_cost")
ENTRY_TOLERANCE: Final = TOLERANCE
"""How far an entry may lie off the passable ground and still be reached [m]."""
ROUND_END: Final = 0.6
"""Distance at which a pipe goes round the end of a trench it does not join [m]."""
END_FREE: Final = 0.05
"""Length at a joined trench end on which the header may touch the trench [m]."""

Ends = Sequence[Sequence[tuple[float, float]]]
Points = npt.NDArray[np.float64]


def reachable_area(ground: Ground) -> BaseGeometry:
    """Part of the available area from which a header can reach an entry.

    It holds the parts of the passable ground in which an entry lies; empty where none does.
    """
    passable = _reached(ground)
    if ground.area.is_empty or passable.is_empty:
        return polygonal(shapely.GeometryCollection())
    if shapely.covers(passable, ground.area):
        return ground.area
    return polygonal(shapely.intersection(ground.area, passable))


def route_header(
    ground: Ground,
    ends: Ends,
    *,
    along_deg: float | None = None,
    avoid: Sequence[LineString] = (),
    combs: bool = True,
    draft: bool = False,
) -> Header | None:
    """Header that joins every element to one entry, None where no entry can be reached.

    Of all entries the one with the cheapest header is taken: length, plus a cost for each
    crossing, trench crossed, and bend. It is a good tree, not a proven shortest one.

    Parameters
    ----------
    ground
        Passable ground, entries, and what may be crossed at a cost.
    ends
        For each element the points where its pipe may be joined, of which exactly one is: one for
        a bore, two for a trench.
    along_deg
        Direction of the rows, counter-clockwise from the x axis [deg]; None: there are no rows.
    avoid
        Trench centre lines; crossing one or running along it costs much.
    """
    if not ends:
        return None
    passable = _reached(ground)
    if passable.is_empty:
        return None
    task = _Task(ground, ends, along_deg, tuple(avoid), combs)
    # few corners, a little off the walls, are quick and give a tidy run; a passage hardly wider
    # than that is open only with every corner
    for fine in (False, True):
        region = region_of(passable, fine=fine)
        best = _cheapest(_network(task, region), along_deg)
        if best is not None and best.blemished:
            # places beside trench ends make a large graph: only where the header crosses one
            other = _cheapest(_network(task, region, beside=round_ends(avoid)), along_deg)
            # the way round may be longer than a crossing is worth
            best = min([best, other or best], key=_rounded_cost)
        best = best if draft else _off_strips(task, region, best)
        if best is not None:
            return _header(best, ground.marked)
    return None


def _off_strips(task: _Task, region: Region, best: _Route | None) -> _Route | None:
    """The route, or another that does not run along a line and crosses it more squarely.

    None where every route found runs along one.
    """
    strips = task.ground.strips
    if best is None or not strips:
        return best
    whole = _lines_of(best)
    keeps = not lies_along(whole, strips, _spots(task, best.entry))
    if keeps and worst_crossing(whole, strips) >= SQUARE_DEG:
        return best
    beside = [*round_ends(task.avoid), *strip_places(strips, _spots(task, *task.ground.entries))]
    network = _network(task, region, beside=beside, strips=strip_tolls(strips))
    other = _cheapest(network, task.along_deg)
    if other is None or lies_along(_lines_of(other), strips, _spots(task, other.entry)):
        return best if keeps else None
    squarer = worst_crossing(_lines_of(other), strips) > worst_crossing(whole, strips)
    return other if squarer or not keeps else best


def _lines_of(route: _Route) -> MultiLineString:
    return MultiLineString(list(route.points[np.array(route.links)]))


def _spots(task: _Task, *entries: Entry) -> tuple[tuple[float, float], ...]:
    """Places where a header begins or joins something."""
    begins = [(entry.point.x, entry.point.y) for entry in entries]
    return (*begins, *(spot for pair in task.ends for spot in pair))


def _cheapest(network: _Network, along_deg: float | None) -> _Route | None:
    routes = [
        route
        for entry, root in network.entries
        for route in _routes(network, entry, root, along_deg=along_deg)
    ]
    return min(routes, key=_rounded_cost, default=None)


def _rounded_cost(route: _Route) -> float:
    return round(route.cost_m, 4)


@dataclass(frozen=True, slots=True)
class _Task:
    """What was asked for."""

    ground: Ground
    ends: Ends
    along_deg: float | None
    avoid: tuple[LineString, ...]
    combs: bool


@dataclass(frozen=True, slots=True)
class _Network:
    """What the search works on: the stops are the entries, then all ends, each place once."""

    graph: RouteGraph
    marked: tuple[Toll, ...]
    trenches: tuple[Toll, ...]
    entries: tuple[tuple[Entry, int], ...]
    groups: tuple[tuple[int, ...], ...]
    spines: tuple[tuple[int, ...], ...]


@dataclass(frozen=True, slots=True)
class _Route:
    """A tree over points and its cost; the entry is the root.

    It is blemished where it crosses a trench or touches an end that is not to be joined.
    """

    entry: Entry
    root: int
    points: Points
    links: list[Link]
    cost_m: float
    blemished: bool = False


def _reached(ground: Ground) -> BaseGeometry:
    return polygonal(
        shapely.MultiPolygon(
            [
                part
                for part in polygons_of(ground.passable)
                if any(part.distance(entry.point) <= ENTRY_TOLERANCE for entry in ground.entries)
            ]
        )
    )


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


def _network(
    task: _Task, region: Region, *, beside: Ends = (), strips: tuple[Toll, ...] = ()
) -> _Network:
    """Graph over entries, ends, and further places beside the trenches and lines."""
    ground, along_deg = task.ground, task.along_deg
    places = _Places()
    entries = [
        (entry, places.number(*_foot(region, entry)))
        for entry in ground.entries
        if region.ground.distance(entry.point) <= ENTRY_TOLERANCE
    ]
    groups = tuple(tuple(places.number(float(x), float(y)) for x, y in pair) for pair in task.ends)
    for x, y in (spot for pair in beside for spot in pair):
        places.number(x, y)
    stops = np.array(places.spots)
    combs = NO_COMBS
    if task.combs and along_deg is not None and all(len(group) == 1 for group in groups):
        combs = _combs(stops, [g[0] for g in groups], [root for _, root in entries], along_deg)
    marked, trenches = (*marked_tolls(ground.marked), *strips), _trench_tolls(task.avoid)
    favoured = () if along_deg is None else (along_deg, along_deg + 90.0)
    graph = route_graph(
        region,
        stops,
        prices=Prices((*marked, *trenches), favoured),
        helpers=combs.points,
        helper_links=combs.links,
    )
    return _Network(graph, marked, trenches, tuple(entries), groups, combs.spines)


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


def _trench_tolls(avoid: Sequence[LineString]) -> tuple[Toll, ...]:
    # The header may touch a trench at its end, where it is joined.
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


def _routes(network: _Network, entry: Entry, root: int, *, along_deg: float | None) -> list[_Route]:
    """Trees worth comparing for one entry."""
    routes = []
    for chosen in choose_ends(network.graph, root, network.groups, along_deg=along_deg):
        required = [root, *chosen]
        unjoined = {point for group in network.groups for point in group} - set(chosen)
        # a header that touches the other end of a trench would look joined there
        graph = shunning(network.graph, sorted(unjoined), AVOID_COST)
        known = KnownWays.of(graph, [*required, *(p for spot in network.spines for p in spot)])
        routes.append(_best_of_spines(_Joining(network, entry, known, required)))
    return [route for route in routes if route.links]


def _best_of_spines(joining: _Joining) -> _Route:
    """Cheapest tree without a spine wished for, along one, or along two."""
    spine: tuple[int, ...] = ()
    best = joining.along(spine)
    # one main with rows off it is what a crew expects: a second must spare more than the first
    for _ in range(MAINS):
        tried = [(*spine, *other) for other in joining.network.spines]
        routes = [joining.along(wish) for wish in tried]
        ranked = sorted(range(len(routes)), key=lambda k: (round(routes[k].cost_m, 4), k))
        if not ranked or routes[ranked[0]].cost_m > best.cost_m - (MAIN_COST if spine else 0.0):
            break
        best, spine = routes[ranked[0]], tried[ranked[0]]
    return best


@dataclass(frozen=True, slots=True)
class _Joining:
    """What one entry and one choice of ends ask of a tree, and the routes made of trees so far."""

    network: _Network
    entry: Entry
    known: KnownWays
    required: list[int]
    made: dict[tuple[Link, ...], _Route] = field(default_factory=dict)

    def along(self, wished: tuple[int, ...]) -> _Route:
        """Route that leads along the points wished for, where they can be reached."""
        links = shortest_tree(self.known, self.required, wished=wished)
        key = tuple(sorted(links or ()))  # spines often come to the same tree
        if key not in self.made:
            self.made[key] = _tidied(self.network, self.entry, links, required=self.required)
        return self.made[key]


def _tidied(
    network: _Network, entry: Entry, links: list[Link] | None, *, required: list[int]
) -> _Route:
    """Route without overlaps and circles, and what it costs; without end where there is none."""
    if not links:
        return _Route(entry, required[0], network.graph.points, [], math.inf)
    # the tree knows only its points: where two stretches cross on the ground they are one pipe,
    # and a tee
    points, parts = noded(network.graph.points, links)
    spans = points[np.array(parts)]
    lengths = np.hypot(*(spans[:, 1] - spans[:, 0]).T)
    price = dict(zip(parts, (float(length) for length in lengths), strict=True))
    # noding may close circles
    parts = pruned(opened(parts, price), required)
    spans = points[np.array(parts)]
    # without the share for direction, which only helped the search: what is dug is compared
    cost = float(Prices(network.marked).of(spans[:, 0], spans[:, 1]).sum())
    cost += BEND_COST * unpaired_ends(points, parts)
    blemishes = _blemishes(network, spans, required)
    return _Route(entry, required[0], points, parts, cost + blemishes, blemishes > TOLERANCE)


def _blemishes(network: _Network, spans: Points, joined: Sequence[int]) -> float:
    """Cost of trenches crossed, and of ends touched that are not to be joined [m]."""
    if not network.trenches:
        return 0.0
    both = Prices(network.trenches).of(spans[:, 0], spans[:, 1])
    crossed = float((both - np.hypot(*(spans[:, 1] - spans[:, 0]).T)).sum())
    bare = sorted({point for group in network.groups for point in group} - set(joined))
    whole = MultiLineString(list(spans))
    gaps = shapely.distance(whole, shapely.points(network.graph.points[bare]))
    return crossed + AVOID_COST * int(np.count_nonzero(gaps <= TOLERANCE))


def _header(route: _Route, marked: Sequence[Feature]) -> Header:
    runs = tuple(tree_runs(route.points, route.links, route.root))
    whole = MultiLineString(list(runs))
    start = Point(route.points[route.root])
    crossings = [
        crossing
        for crossing in crossings_of(whole, marked)
        if start.distance(Point(crossing.x_m, crossing.y_m)) > TOLERANCE
    ]
    return Header(runs, route.entry, tuple(crossings))
