"""The header: one tidy pipe run that joins every element to an entry of the building."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import polygonal, polygons_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways.routing import (
    KnownWays,
    Prices,
    Region,
    region_of,
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
from siteplan.layout.header.network import (
    AVOID_COST,
    ENTRY_TOLERANCE,
    Ends,
    Network,
    Points,
    Task,
    network_of,
    round_ends,
)
from siteplan.layout.header.shore import landings_of
from siteplan.layout.model import Ground, Header
from siteplan.preferences.table import count_of, figure_of
from siteplan.site.model import Entry

BEND_COST: Final = figure_of("layout.header.router.bend_cost")
NEAR: Final = figure_of("layout.header.router.near")
MAINS: Final = count_of("layout.header.router.mains")
MAIN_COST: Final = figure_of("layout.header.router.main_cost")


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
    draft = drafted_header(ground, ends, along_deg=along_deg, avoid=avoid, combs=combs)
    return None if draft is None else draft.finished()


def drafted_header(
    ground: Ground,
    ends: Ends,
    *,
    along_deg: float | None = None,
    avoid: Sequence[LineString] = (),
    combs: bool = True,
) -> HeaderDraft | None:
    """The same before it is led off the lines that it runs along: to be compared with others.

    Finished it is hardly ever shorter, so of several drafts few need to be.
    """
    if not ends:
        return None
    passable = _reached(ground)
    if passable.is_empty:
        return None
    task = Task(ground, ends, along_deg, tuple(avoid), combs)
    # few corners, a little off the walls, are quick and give a tidy run; a passage hardly wider
    # than that is open only with every corner
    return _drafted(task, passable, fine=False) or _drafted(task, passable, fine=True)


def _drafted(task: Task, passable: BaseGeometry, *, fine: bool) -> HeaderDraft | None:
    region = task.ground.memory.of(region_of, passable, fine=fine)
    best = _cheapest(network_of(task, region), task.along_deg)
    if best is None:
        return None
    if best.blemished:
        # places beside trench ends make a large graph: only where the header crosses one
        other = _cheapest(network_of(task, region, beside=round_ends(task.avoid)), task.along_deg)
        # the way round may be longer than a crossing is worth
        best = min([best, other or best], key=_rounded_cost)
    return HeaderDraft(_header(best, task.ground), task, region, best, fine)


@dataclass(frozen=True, slots=True, eq=False)
class HeaderDraft:
    """A header that may still run along a line or cross it aslant, and what it was found with."""

    header: Header
    task: Task
    region: Region
    route: _Route
    fine: bool

    def finished(self) -> Header | None:
        """The header led off the lines that it runs along; None where no way keeps off them."""
        best = _off_strips(self.task, self.region, self.route)
        if best is self.route:
            return self.header
        if best is not None:
            return _header(best, self.task.ground)
        again = None if self.fine else _drafted(self.task, _reached(self.task.ground), fine=True)
        return None if again is None else again.finished()


def _off_strips(task: Task, region: Region, best: _Route) -> _Route | None:
    """The route, or another that does not run along a line and crosses it more squarely.

    None where every route found runs along one.
    """
    strips = task.ground.strips
    if not strips:
        return best
    whole = _lines_of(best)
    keeps = not lies_along(whole, strips, _spots(task, best.entry))
    if keeps and worst_crossing(whole, strips) >= SQUARE_DEG:
        return best
    beside = [*round_ends(task.avoid), *strip_places(strips, _spots(task, *task.ground.entries))]
    network = network_of(task, region, beside=beside, strips=strip_tolls(strips))
    other = _cheapest(network, task.along_deg)
    if other is None or lies_along(_lines_of(other), strips, _spots(task, other.entry)):
        return best if keeps else None
    squarer = worst_crossing(_lines_of(other), strips) > worst_crossing(whole, strips)
    return other if squarer or not keeps else best


def _lines_of(route: _Route) -> MultiLineString:
    return MultiLineString(list(route.points[np.array(route.links)]))


def _spots(task: Task, *entries: Entry) -> tuple[tuple[float, float], ...]:
    """Places where a header begins or joins something."""
    begins = [(entry.point.x, entry.point.y) for entry in entries]
    return (*begins, *(spot for pair in task.ends for spot in pair))


def _cheapest(network: Network, along_deg: float | None) -> _Route | None:
    joinings = [
        joining
        for entry, root in network.entries
        for joining in _joinings(network, entry, root, along_deg=along_deg)
    ]
    # a main spares about as much from one entry as from another
    limit_m = NEAR * min((joining.along(()).cost_m for joining in joinings), default=0.0)
    near = [joining for joining in joinings if joining.along(()).cost_m <= limit_m]
    routes = [_best_of_spines(joining) for joining in near]
    return min((route for route in routes if route.links), key=_rounded_cost, default=None)


def _rounded_cost(route: _Route) -> float:
    return round(route.cost_m, 4)


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


def _joinings(
    network: Network, entry: Entry, root: int, *, along_deg: float | None
) -> Iterator[_Joining]:
    """What one entry asks of a tree, for each choice of ends worth comparing."""
    for chosen in choose_ends(network.graph, root, network.groups, along_deg=along_deg):
        required = [root, *chosen]
        unjoined = {point for group in network.groups for point in group} - set(chosen)
        # a header that touches the other end of a trench would look joined there
        graph = shunning(network.graph, sorted(unjoined), AVOID_COST)
        known = KnownWays.of(graph, [*required, *(p for spot in network.spines for p in spot)])
        yield _Joining(network, entry, known, required)


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

    network: Network
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
    network: Network, entry: Entry, links: list[Link] | None, *, required: list[int]
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
    cost = float(network.dug_m(points, parts).sum())
    cost += BEND_COST * unpaired_ends(points, parts)
    blemishes = _blemishes(network, spans, required)
    return _Route(entry, required[0], points, parts, cost + blemishes, blemishes > TOLERANCE)


def _blemishes(network: Network, spans: Points, joined: Sequence[int]) -> float:
    """Cost of trenches crossed, and of ends touched that are not to be joined [m]."""
    if not network.trenches:
        return 0.0
    both = Prices(network.trenches).of(spans[:, 0], spans[:, 1])
    crossed = float((both - np.hypot(*(spans[:, 1] - spans[:, 0]).T)).sum())
    bare = sorted({point for group in network.groups for point in group} - set(joined))
    whole = MultiLineString(list(spans))
    gaps = shapely.distance(whole, shapely.points(network.graph.points[bare]))
    return crossed + AVOID_COST * int(np.count_nonzero(gaps <= TOLERANCE))


def _header(route: _Route, ground: Ground) -> Header:
    runs = tuple(tree_runs(route.points, route.links, route.root))
    whole = MultiLineString(list(runs))
    start = Point(route.points[route.root])
    crossings = [
        crossing
        for crossing in crossings_of(whole, ground.marked)
        if start.distance(Point(crossing.x_m, crossing.y_m)) > TOLERANCE
    ]
    return Header(runs, route.entry, tuple(crossings), landings=landings_of(whole, ground))
