"""Crossovers: short trenches that bring a single pipe from one far end to another.

A trench with an odd number of pipes has one that comes home through another trench. The two are
joined at their far ends by a trench of its own, which keeps to the ground where the header may
run and crosses no trench. It lies as deep as they do, and so passes under the header.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.ways.routing import (
    KnownWays,
    Prices,
    Region,
    RouteGraph,
    Toll,
    region_of,
    route_graph,
)
from siteplan.layout.elements import Element, Trench
from siteplan.layout.header.alongside import lies_along, strip_tolls
from siteplan.layout.header.crossings import crossings_of
from siteplan.layout.header.network import CROSSING_COST, marked_tolls, round_ends
from siteplan.layout.header.tree import HeaderTree
from siteplan.layout.model import Ground, Layout
from siteplan.layout.piping_model import Crossing, Crossover

ROUND_TRIP: Final = 2.0
"""A trench whose ends lie closer than this many widths leads round to its beginning."""
END_COST: Final = 10_000.0
"""Cost of a stretch at each far end that it touches, so that no way leads past a third one [m]."""
BESIDE_M: Final = 0.1
"""What a crossover keeps from a trench that it does not join; common practice, no source [m]."""
HEADER: Final = "header"

Pair = tuple[int, int]
Ways = dict[Pair, tuple[LineString, float]]
"""Way from one far end to another, and what it costs [m], by the numbers of both trenches."""


def single_pipes(elements: Sequence[Element]) -> list[int]:
    """Numbers of the trenches with one pipe that comes home through another trench."""
    return [
        number
        for number, element in enumerate(elements)
        if isinstance(element, Trench) and element.pipes % 2 and not leads_round(element)
    ]


def leads_round(trench: Trench) -> bool:
    """Whether a trench comes back to where it begins, so that every pipe does."""
    first, last = trench.line.coords[0], trench.line.coords[-1]
    near = math.dist(first[:2], last[:2]) <= ROUND_TRIP * trench.width_m
    return near and trench.length_m > 4 * ROUND_TRIP * trench.width_m


def join_far_ends(layout: Layout, tree: HeaderTree, ground: Ground) -> tuple[Crossover, ...]:
    """Crossovers of as many single pipes as have a way, with the least pipe in all.

    Parameters
    ----------
    layout
        Trenches, each from the end that the header joins, and the header.
    tree
        The header as a tree.
    ground
        Where the header may run, and what may be crossed at a cost.
    """
    single = single_pipes(layout.elements)
    best: list[tuple[Pair, LineString]] = []
    # every corner costs time, and matters only where the quick graph leaves a pipe without a way
    for fine in (False, True) if len(single) > 1 else ():
        ways = _ways(
            layout, single, ground, region=ground.memory.of(region_of, ground.passable, fine=fine)
        )
        costs = {pair: cost + _home(pair, tree) for pair, (_, cost) in ways.items()}
        chosen = _matched(costs, {pair: line for pair, (line, _) in ways.items()})
        # more pipes brought home count more than length: one left over is dead pipe that was paid
        # for
        if len(chosen) > len(best):
            best = [(pair, ways[pair][0]) for pair in sorted(chosen)]
        if len(best) == len(single) // 2:
            break
    return tuple(
        _crossover(f"X{number}", pair, line, layout=layout, ground=ground)
        for number, (pair, line) in enumerate(best, start=1)
    )


def course_of(crossover: Crossover, layout: Layout) -> LineString:
    """Line of a pipe from the one trench through a crossover into the other."""
    place = {trench.id: trench for trench in layout.of(Trench)}
    first, last = (place[name].line for name in crossover.trenches)
    ends = [line.coords[-1][:2] for line in (first, last)]
    way = [point[:2] for point in crossover.line.coords]
    if math.dist(way[0], ends[0]) > math.dist(way[-1], ends[0]):
        way.reverse()
    return shapely.remove_repeated_points(
        LineString([first.coords[-2][:2], *way, last.coords[-2][:2]]), BESIDE_M / 100
    )


def _home(pair: Pair, tree: HeaderTree) -> float:
    """Pipe along the header that a loop through both trenches takes [m]."""
    first, second = pair
    nodes = (tree.stops[first], tree.stops[second])
    return tree.span(nodes) + tree.leads_m[first] + tree.leads_m[second]


def _crossover(
    name: str, pair: Pair, line: LineString, *, layout: Layout, ground: Ground
) -> Crossover:
    trench, other = (layout.elements[number] for number in pair)
    assert isinstance(trench, Trench)
    assert isinstance(other, Trench)
    return Crossover(
        id=name,
        line=line,
        trenches=(trench.id, other.id),
        width_m=max(trench.width_m, other.width_m),
        depth_m=max(trench.depth_m, other.depth_m),
        crossings=(
            *crossings_of(MultiLineString([line]), ground.marked),
            *_under_header(line, layout),
        ),
    )


def _under_header(line: LineString, layout: Layout) -> tuple[Crossing, ...]:
    """Where a crossover passes under the header."""
    runs = MultiLineString(list(layout.header.runs) if layout.header is not None else [])
    spots = shapely.get_coordinates(shapely.intersection(line, runs).centroid)
    return tuple(Crossing(HEADER, HEADER, float(x), float(y)) for x, y in spots)


def _ways(layout: Layout, single: Sequence[int], ground: Ground, *, region: Region) -> Ways:
    """Ways between the far ends of the trenches with a single pipe, where there is one."""
    trenches = layout.of(Trench)
    ends = [_far_end(layout.elements[number]) for number in single]
    beside = [spot for pair in round_ends([trench.line for trench in trenches]) for spot in pair]
    runs = layout.header.runs if layout.header is not None else ()
    # over the header it may go, at a price: two pipes at one depth have to be led past each other
    over_header = Toll(MultiLineString(list(runs)), CROSSING_COST)
    tolls = (*marked_tolls(ground.marked), *strip_tolls(ground.strips), over_header)
    graph = route_graph(
        region,
        np.array([*ends, *beside]),
        prices=Prices(tolls),
        helpers=np.empty((0, 2)),
        helper_links=np.empty((0, 2), dtype=np.intp),
    )
    # the digger's way must not run through a trench that is to be, or is, laid
    graph = _off_trenches(graph, trenches, {layout.elements[k].id: p for p, k in enumerate(single)})
    costs, before = KnownWays.of(graph, range(len(single))).among(range(len(single)))
    crossover_ways: Ways = {}
    for start, other in combinations(range(len(single)), 2):
        cost = float(costs[start, other]) - 2 * END_COST
        # dearer is a way past the end of a third trench, which would have to be joined there
        if cost < END_COST:
            line = _traced(graph, before[start], start, other)
            if not lies_along(line, ground.strips, [ends[start], ends[other]]):
                crossover_ways[single[start], single[other]] = (line, cost)
    return crossover_ways


def _far_end(element: Element) -> tuple[float, float]:
    x, y = element.ends[-1]
    return float(x), float(y)


def _traced(graph: RouteGraph, before: npt.NDArray[np.intp], start: int, other: int) -> LineString:
    numbers = [other]
    while numbers[-1] != start:
        numbers.append(int(before[numbers[-1]]))
    return LineString(graph.points[numbers[::-1]])


def _off_trenches(
    graph: RouteGraph, trenches: Sequence[Trench], far_ends: dict[str, int]
) -> RouteGraph:
    """Graph without the stretches that cross a trench; each at a far end costs more.

    A stretch may reach into the trench at whose far end it begins or ends, but not leave it on the
    other side.
    """
    lines = np.asarray(shapely.linestrings(graph.points[graph.links]))
    around: list[BaseGeometry] = [
        trench.footprint.buffer(BESIDE_M, join_style="mitre") for trench in trenches
    ]
    keep = np.ones(len(lines), dtype=bool)
    hits = shapely.STRtree(around).query(lines, predicate="intersects")
    ends = np.array([far_ends.get(trench.id, -1) for trench in trenches])[hits[1]]
    own = (graph.links[hits[0]] == ends[:, None]).any(axis=1)
    keep[hits[0][~own]] = False
    for link, trench in hits.T[own]:
        # one piece, which ends at the far end: it does not come back into the trench
        keep[link] &= lines[link].intersection(around[trench]).geom_type == "LineString"
    touched = (graph.links < len(far_ends)).sum(axis=1)
    costs = graph.costs + END_COST * touched
    return RouteGraph(graph.points, graph.links[keep], costs[keep])


def _matched(costs: dict[Pair, float], lines: dict[Pair, LineString]) -> list[Pair]:
    """As many pairs as can be, of least cost in all, no trench twice, no two ways across.

    An integer programme; where two ways of its answer cross, both together are ruled out and it
    is solved again.
    """
    pairs = sorted(costs)
    across: list[Pair] = []
    most = len({number for pair in pairs for number in pair}) // 2
    while most > 0:
        # most pairs first, then least pipe: fewer pairs are always shorter, and useless
        chosen = _solved(pairs, costs, across, most)
        if chosen is None:
            most -= 1
            continue
        crossed = [
            (crossover, other)
            for crossover, other in combinations(chosen, 2)
            if lines[pairs[crossover]].intersects(lines[pairs[other]])
        ]
        if not crossed:
            return [pairs[place] for place in chosen]
        # ruling out only what did cross keeps the programme small: few of all pairs ever do
        across += crossed
    return []


def _solved(
    pairs: Sequence[Pair], costs: dict[Pair, float], across: Sequence[Pair], most: int
) -> list[int] | None:
    """Places of so many pairs of least cost, None where there are none."""
    # loads slowly, and only trenches joined in circuits need it
    from scipy.optimize import Bounds, LinearConstraint, milp  # noqa: PLC0415

    numbers = sorted({number for pair in pairs for number in pair})
    once = np.array([[float(number in pair) for pair in pairs] for number in numbers])
    limits = [LinearConstraint(once, 0, 1), LinearConstraint(np.ones((1, len(pairs))), most, most)]
    for crossover, other in across:
        row = np.zeros((1, len(pairs)))
        row[0, [crossover, other]] = 1.0
        limits.append(LinearConstraint(row, 0, 1))
    answer = milp(
        # neighbours in staking order where millimetres do not decide
        np.array([round(costs[pair], 3) + 1e-4 * (pair[1] - pair[0]) for pair in pairs]),
        integrality=np.ones(len(pairs), dtype=np.intp),
        bounds=Bounds(0, 1),
        constraints=limits,
        options={"mip_rel_gap": 0.0},
    )
    if answer.x is None:
        return None
    return [place for place, value in enumerate(answer.x) if value > 0.5]
