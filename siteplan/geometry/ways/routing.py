"""Shortest tidy trees inside a region: visibility graph, tolls for crossings, branching.

The region is any polygon or multipolygon with holes. Routes bend only at reflex corners of the
region (a taut string does), at the points to be joined, and at helper points handed in.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.distinct import distinct
from siteplan.geometry.lines.sweep import polygonal, rings_of
from siteplan.geometry.memory import Memory
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways.crossed import crossing_counts
from siteplan.geometry.ways.trees import Link, nearest_tree, opened, pruned
from siteplan.preferences.table import count_of, figure_of

Points = npt.NDArray[np.float64]
Links = npt.NDArray[np.intp]

CORNER_CLEARANCE: Final = 0.25
"""How far a bend stands off a corner or an arc, so that an arc needs few bends [m]."""
PARALLEL: Final = 1e-3
"""Sine of the angle up to which two directions count as the same."""
OFF_DIRECTION: Final = figure_of("geometry.ways.routing.off_direction")
MANY_CORNERS: Final = count_of("geometry.ways.routing.many_corners")
FROM_STOPS: Final = count_of("geometry.ways.routing.from_stops")
FROM_CORNERS: Final = count_of("geometry.ways.routing.from_corners")
MANY_STOPS: Final = count_of("geometry.ways.routing.many_stops")
BETWEEN_STOPS: Final = count_of("geometry.ways.routing.between_stops")
WIDER: Final = count_of("geometry.ways.routing.wider")


@dataclass(frozen=True, slots=True)
class Toll:
    """A shape that may be crossed at a cost.

    Parameters
    ----------
    shape
        Line or point shape; a route pays at each crossing of it, and per metre along it.
    cost_m
        Cost of one crossing, as a length [m].
    """

    shape: BaseGeometry
    cost_m: float


@dataclass(frozen=True, slots=True)
class Prices:
    """What a stretch costs beside its length.

    Parameters
    ----------
    tolls
        Shapes that cost something to cross.
    favoured_deg
        Directions, counter-clockwise from the x axis, that a tidy drawing keeps [deg].
    memory
        What is known of stretches that were priced before.
    """

    tolls: tuple[Toll, ...] = ()
    favoured_deg: tuple[float, ...] = ()
    memory: Memory = field(default_factory=Memory, compare=False, repr=False)

    def of(self, starts: Points, ends: Points) -> npt.NDArray[np.float64]:
        """Cost of straight stretches, as a length [m]."""
        steps = ends - starts
        lengths = np.hypot(steps[:, 0], steps[:, 1])
        costs = lengths.copy()
        if self.favoured_deg:
            angles = np.radians(np.asarray(self.favoured_deg))
            across = np.abs(
                steps[:, :1] * np.sin(angles)[None] - steps[:, 1:] * np.cos(angles)[None]
            )
            off = np.all(across > PARALLEL * lengths[:, None], axis=1)
            # a few percent: enough that of nearly equal ways the one along the rows is taken, and
            # too little for a detour
            costs[off] *= 1.0 + OFF_DIRECTION
        return costs + self._tolls(starts, ends)

    def _tolls(self, starts: Points, ends: Points) -> npt.NDArray[np.float64]:
        if not self.tolls or not len(starts):
            return np.zeros(len(starts))
        shapes = np.array([toll.shape for toll in self.tolls], dtype=object)
        prices = np.array([toll.cost_m for toll in self.tolls])
        counts = crossing_counts(starts, ends, shapes, self.memory)
        return np.asarray((counts * prices).sum(axis=1))


@dataclass(frozen=True, slots=True)
class Region:
    """Ground that routes may use, prepared for many questions.

    Parameters
    ----------
    ground
        The region itself.
    widened
        The region with half the tolerance around it.
    inner
        The region a little drawn in and with few corners.
    corners
        Reflex corners, and for each the corner before and after it: shape (n, 3, 2).
    """

    ground: BaseGeometry
    widened: BaseGeometry
    inner: BaseGeometry
    corners: Points

    def holds(self, points: Points, pairs: Links) -> npt.NDArray[np.bool_]:
        """Whether the straight stretches between pairs of points stay inside, within tolerance."""
        lines = np.asarray(shapely.linestrings(points[pairs]))
        # `covers` works out a whole overlay for each line that crosses the edge of a polygon with
        # holes, so it is asked only of those that begin or end on the edge of the widened ground
        held = np.asarray(shapely.contains_properly(self.widened, lines))
        at_edge = ~np.asarray(shapely.contains_properly(self.widened, shapely.points(points)))
        doubtful = np.flatnonzero(~held & at_edge[pairs].any(axis=1))
        held[doubtful] = shapely.covers(self.widened, lines[doubtful])
        return held


def region_of(ground: BaseGeometry, *, fine: bool = False) -> Region:
    """Region for routing; ``fine`` keeps every corner instead of few that stand off a little."""
    ground = polygonal(ground)
    inner = ground
    # mitring a sliver divides by zero inside GEOS, harmlessly; nobody needs the warning
    with np.errstate(divide="ignore", invalid="ignore"):
        if not fine:
            # time grows with the square of the corners, and an arc has dozens that differ by
            # nothing
            drawn_in = ground.buffer(-CORNER_CLEARANCE, join_style="mitre")
            inner = polygonal(drawn_in.simplify(CORNER_CLEARANCE))
        # a stretch along the edge itself would fail by its last bits
        widened = ground.buffer(TOLERANCE / 2, join_style="mitre")
    shapely.prepare(widened)
    return Region(ground, widened, inner, _reflex_corners(inner))


def _reflex_corners(shape: BaseGeometry) -> Points:
    corners = [np.empty((0, 3, 2))]
    for ring in rings_of(shape):
        before, after = np.roll(ring, 1, axis=0), np.roll(ring, -1, axis=0)
        turns = _cross(ring - before, after - ring)
        corners.append(np.stack([ring, before, after], axis=1)[turns < 0])
    return np.concatenate(corners)


def _cross(first: Points, second: Points) -> npt.NDArray[np.float64]:
    return np.asarray(first[..., 0] * second[..., 1] - first[..., 1] * second[..., 0])


@dataclass(frozen=True, slots=True)
class RouteGraph:
    """Points, the straight stretches between them, and what each stretch costs [m]."""

    points: Points
    links: Links
    costs: npt.NDArray[np.float64]

    def ways(self, sources: Sequence[int]) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.intp]]:
        """Least cost from each source to every point, and the point before it (-9999: none)."""
        from scipy.sparse import csr_array  # noqa: PLC0415
        from scipy.sparse.csgraph import dijkstra  # noqa: PLC0415

        count = len(self.points)
        # earlier releases of scipy take no longer indices
        ends = tuple(self.links.T.astype(np.int32))
        # a stretch that costs nothing would be no stretch at all in a sparse matrix
        matrix = csr_array((self.costs + 1e-9, ends), shape=(count, count))
        costs, before = dijkstra(
            matrix, directed=False, indices=list(sources), return_predecessors=True
        )
        return np.atleast_2d(costs), np.atleast_2d(before).astype(np.intp)


def route_graph(
    region: Region, stops: Points, *, prices: Prices, helpers: Points, helper_links: Links
) -> RouteGraph:
    """Graph over stops, helper points and the region's corners, in this order.

    Stops see each other and the corners; helpers see the corners. Any other stretch from a helper
    must be proposed in ``helper_links`` (indices into stops followed by helpers); it is kept
    where the region holds it.
    """
    points = np.concatenate([stops, helpers, region.corners[:, 0]])
    many = len(region.corners) > MANY_CORNERS or len(stops) > MANY_STOPS
    for wider in (1, WIDER) if many else (1,):
        pairs = np.concatenate([_sightlines(region, stops, helpers, wider), helper_links])
        pairs = _each_once(pairs, len(points))
        steps = points[pairs[:, 1]] - points[pairs[:, 0]]
        pairs = pairs[np.hypot(*steps.T) > TOLERANCE]
        # the dear test last, and only for pairs that are left
        pairs = pairs[region.holds(points, pairs)]
        if many and _are_joined(pairs, len(points), len(stops)):
            break
    return RouteGraph(points, pairs, prices.of(points[pairs[:, 0]], points[pairs[:, 1]]))


def _each_once(pairs: Links, count: int) -> Links:
    """Pairs of so many numbers, each once, the lower number first."""
    numbers = distinct(pairs.min(axis=1) * count + pairs.max(axis=1))
    return np.stack(np.divmod(numbers, count), axis=1).astype(np.intp)


def _are_joined(pairs: Links, count: int, stops: int) -> bool:
    """Whether all stops, the first so many of the points, hang together."""
    from scipy.sparse import csr_array  # noqa: PLC0415
    from scipy.sparse.csgraph import connected_components  # noqa: PLC0415

    matrix = csr_array((np.ones(len(pairs)), tuple(pairs.T.astype(np.int32))), shape=(count, count))
    parts = connected_components(matrix, directed=False)[1]
    return bool((parts[:stops] == parts[0]).all())


def _sightlines(region: Region, stops: Points, helpers: Points, wider: int) -> Links:
    """Pairs of points worth testing: a taut string touches a corner only as a tangent."""
    free = np.concatenate([stops, helpers])
    corners = region.corners[:, 0]
    between = _among(stops, wider * BETWEEN_STOPS, MANY_STOPS)
    # A point between a curve and its few corners sees no tangent: it keeps all its sightlines.
    hidden = ~np.asarray(shapely.covers(region.inner, shapely.points(free)))
    to_corner = _pairs(free, corners, wider * FROM_STOPS, MANY_CORNERS)
    to_corner = to_corner[_tangent(region, free, to_corner) | hidden[to_corner[:, 0]]]
    to_corner[:, 1] += len(free)
    among = _among(corners, wider * FROM_CORNERS, MANY_CORNERS)
    for way in (slice(None), slice(None, None, -1)):
        among = among[_tangent(region, corners, among[:, way])]
    return np.concatenate([between, to_corner, among + len(free)]).astype(np.intp)


def _pairs(points: Points, others: Points, nearest: int, many: int) -> Links:
    """Numbers of points and others: all of few others, the nearest to each point of many."""
    if len(others) <= max(many, nearest):
        return np.indices((len(points), len(others))).reshape(2, -1).T
    # of a wood, a line drawn with thousands of points or a field of as many bores, all pairs would
    # fill the memory
    from scipy.spatial import cKDTree  # noqa: PLC0415

    near = cKDTree(others).query(points, k=nearest)[1]
    return np.stack([np.repeat(np.arange(len(points)), nearest), near.ravel()], axis=1)


def _among(points: Points, nearest: int, many: int) -> Links:
    """Pairs of points, each once: all of few, of many those near to one another."""
    if len(points) <= many:
        return np.stack(np.triu_indices(len(points), 1), axis=1)
    pairs = _each_once(_pairs(points, points, nearest, many), len(points))
    return pairs[pairs[:, 0] < pairs[:, 1]]


def _tangent(region: Region, origins: Points, pairs: Links) -> npt.NDArray[np.bool_]:
    """Whether the line from an origin to a corner leaves the corner's sides on one side."""
    corner, before, after = region.corners[pairs[:, 1]].swapaxes(0, 1)
    sight = corner - origins[pairs[:, 0]]
    side, other = _cross(sight, before - corner), _cross(sight, after - corner)
    return np.asarray(side * other >= -1e-9)


def shunning(graph: RouteGraph, places: Sequence[int], cost_m: float) -> RouteGraph:
    """Graph in which every stretch that touches one of the places costs more [m]."""
    if not places:
        return graph
    stretches = np.asarray(shapely.linestrings(graph.points[graph.links]))
    spots = np.asarray(shapely.points(graph.points[list(places)]))
    touches = shapely.STRtree(spots).query(stretches, predicate="dwithin", distance=TOLERANCE)
    touching = np.zeros(len(graph.links))
    touching[touches[0]] = 1.0
    return RouteGraph(graph.points, graph.links, graph.costs + cost_m * touching)


@dataclass(frozen=True, slots=True)
class KnownWays:
    """Ways from some points of a graph to all, found once and looked up often."""

    row: dict[int, int]
    costs: npt.NDArray[np.float64]
    before: npt.NDArray[np.intp]

    @classmethod
    def of(cls, graph: RouteGraph, sources: Iterable[int]) -> KnownWays:
        """Ways from the given points."""
        points = list(dict.fromkeys(sources))
        return cls({point: row for row, point in enumerate(points)}, *graph.ways(points))

    def among(self, points: Sequence[int]) -> tuple[npt.NDArray[np.float64], npt.NDArray[np.intp]]:
        """Costs and predecessors of some of its points."""
        rows = [self.row[point] for point in points]
        return self.costs[rows], self.before[rows]


def shortest_tree(
    known: KnownWays, required: Sequence[int], *, wished: Sequence[int] = ()
) -> list[Link] | None:
    """Links of a short tree through the required points, None where they do not hang together.

    Kou, Markowsky and Berman's construction: at most twice the shortest possible, in practice a
    few percent above it. The first required point is the root from which ties are settled.
    Points wished for take part where they can be reached and do not end up as dead ends.

    References
    ----------
    L. Kou, G. Markowsky, L. Berman, "A fast algorithm for Steiner trees", Acta Informatica 15
    (1981) 141-145.
    """
    joined = list(dict.fromkeys([*required, *wished]))
    costs, _ = known.among(joined)
    if not np.isfinite(costs[0, list(required)]).all():
        return None
    # the tree over shortest ways first, then its links: ways that share a stretch pay for it once
    links, prices = _links_along(known, joined, nearest_tree(costs[:, joined]))
    price = dict(zip(links, prices, strict=True))
    # ways laid over one another may close a circle, and points only wished for may end in nothing
    return pruned(opened(links, price), required)


def _links_along(
    known: KnownWays, joined: Sequence[int], ways: Sequence[Link]
) -> tuple[list[Link], list[float]]:
    """Links of the known ways from one joined point to another, each once, and what they cost."""
    if not ways:
        return [], []
    here, count = np.asarray(joined), known.costs.shape[1]
    source, target = np.array(ways).T
    row = np.array([known.row[joined[number]] for number in source])
    begin, point = here[source], here[target]
    keys, prices = [], []
    # back along all ways at once, one link at a time
    while len(point):
        before = known.before[row, point]
        keys.append(np.minimum(before, point) * count + np.maximum(before, point))
        prices.append(known.costs[row, point] - known.costs[row, before])
        on = before != begin
        row, begin, point = row[on], begin[on], before[on]
    links, first = np.unique(np.concatenate(keys), return_index=True)
    ends = zip(*(numbers.tolist() for numbers in np.divmod(links, count)), strict=True)
    return list(ends), np.concatenate(prices)[first].tolist()
