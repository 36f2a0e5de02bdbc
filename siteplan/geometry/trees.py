"""Trees of straight links between numbered points: growing, pruning, and the runs they form."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString

from siteplan.geometry.tolerance import TOLERANCE

Link = tuple[int, int]
Points = npt.NDArray[np.float64]

STRAIGHT: Final = 0.1 * TOLERANCE
"""How far a point may lie off a straight line and still count as on it [m]."""


def nearest_tree(costs: npt.NDArray[np.float64]) -> list[Link]:
    """Cheapest tree over a symmetric cost table, grown from its first row; ties: lowest index.

    Examples
    --------
    >>> import numpy as np
    >>> nearest_tree(np.array([[0.0, 2.0, 9.0], [2.0, 0.0, 3.0], [9.0, 3.0, 0.0]]))
    [(0, 1), (1, 2)]
    """
    table = np.round(costs, 6)  # equal lengths must tie, whatever their last bits
    best, parent = table[0].copy(), np.zeros(len(table), dtype=np.intp)
    best[0] = math.inf
    joined = np.zeros(len(table), dtype=bool)
    joined[0] = True
    links: list[Link] = []
    for _ in range(len(table) - 1):
        nearest = int(np.argmin(best))
        if not math.isfinite(best[nearest]):
            break
        links.append((int(parent[nearest]), nearest))
        joined[nearest] = True
        closer = ~joined & (table[nearest] < best)
        best[closer], parent[closer] = table[nearest][closer], nearest
        best[nearest] = math.inf
    return links


def spanning(links: Iterable[Link], price: Mapping[Link, float]) -> list[Link]:
    """Cheapest of the links that hold together the same points without a circle."""
    root: dict[int, int] = {}

    def find(point: int) -> int:
        while root.setdefault(point, point) != point:
            point = root[point]
        return point

    kept = []
    for link in sorted(links, key=lambda pair: (round(price[pair], 6), pair)):
        first, second = find(link[0]), find(link[1])
        if first != second:
            root[first] = second
            kept.append(link)
    return kept


def pruned(links: Sequence[Link], required: Iterable[int]) -> list[Link]:
    """Links without the dead ends that lead to no required point.

    Examples
    --------
    >>> pruned([(0, 1), (1, 2), (1, 3), (3, 4)], [0, 2])
    [(0, 1), (1, 2)]
    """
    needed, kept = set(required), list(links)
    while True:
        degree: dict[int, int] = {}
        for link in kept:
            for point in link:
                degree[point] = degree.get(point, 0) + 1
        dead = {point for point, count in degree.items() if count == 1} - needed
        if not dead:
            return kept
        kept = [link for link in kept if not dead.intersection(link)]


def noded(points: Points, links: Sequence[Link]) -> tuple[Points, list[Link]]:
    """Points and links of the same drawing, with no link through a point or across another."""
    while True:
        links = _split_at_points(points, links)
        crossing = _first_crossing(points, links)
        if crossing is None:
            return points, links
        spot, first, second = crossing
        points, middle = np.concatenate([points, spot[None]]), len(points)
        crossed = [first, second]
        links = [link for link in links if link not in crossed]
        links += [(point, middle) for link in crossed for point in link]


def tree_runs(points: Points, links: Sequence[Link], root: int) -> list[LineString]:
    """Pieces of a tree from one branching point to the next, the root's first, led outward.

    Points in a straight piece are left out, bends stay.

    Examples
    --------
    >>> import numpy as np
    >>> spots = np.array([[0.0, 0.0], [1.0, 0.0], [2.0, 0.0], [2.0, 1.0], [3.0, 0.0]])
    >>> [run.wkt for run in tree_runs(spots, [(0, 1), (1, 2), (2, 3), (2, 4)], 0)]
    ['LINESTRING (0 0, 2 0)', 'LINESTRING (2 0, 2 1)', 'LINESTRING (2 0, 3 0)']
    """
    neighbours = neighbours_of(links)
    runs, waiting = [], [(root, point) for point in neighbours.get(root, [])]
    while waiting:
        chain = list(waiting.pop(0))
        while len(neighbours[chain[-1]]) == 2:
            chain.append(next(p for p in neighbours[chain[-1]] if p != chain[-2]))
        runs.append(LineString(_without_straight_points(points[chain])))
        waiting += [(chain[-1], point) for point in neighbours[chain[-1]] if point != chain[-2]]
    return runs


def neighbours_of(links: Iterable[Link]) -> dict[int, list[int]]:
    """Points that each point is linked with, in rising order."""
    found: dict[int, list[int]] = {}
    for first, second in links:
        found.setdefault(first, []).append(second)
        found.setdefault(second, []).append(first)
    return {point: sorted(others) for point, others in found.items()}


def unpaired_ends(points: Points, links: Sequence[Link]) -> int:
    """Links that end at a bend or branch with no straight continuation: a measure of untidiness.

    Examples
    --------
    >>> import numpy as np
    >>> unpaired_ends(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]), [(0, 1), (1, 2)])
    2
    """
    total = 0
    for point, others in neighbours_of(links).items():
        if len(others) < 2:
            continue
        steps = points[others] - points[point]
        units = steps / np.hypot(steps[:, 0], steps[:, 1])[:, None]
        opposite = units @ units.T < -1 + 1e-6
        total += int(np.count_nonzero(~opposite.any(axis=1)))
    return total


def _split_at_points(points: Points, links: Sequence[Link]) -> list[Link]:
    used = np.unique(np.asarray(links).ravel())
    split: set[Link] = set()
    for first, second in links:
        step = points[second] - points[first]
        length = math.hypot(*step)
        offsets = points[used] - points[first]
        along = offsets @ step / length
        off = np.abs(offsets[:, 0] * step[1] - offsets[:, 1] * step[0]) / length
        on = (off < TOLERANCE) & (along > TOLERANCE) & (along < length - TOLERANCE)
        chain = [first, *(int(p) for p in used[on][np.argsort(along[on])]), second]
        split.update((min(a, b), max(a, b)) for a, b in pairwise(chain))
    return sorted(split)


def _first_crossing(points: Points, links: Sequence[Link]) -> tuple[Points, Link, Link] | None:
    lines = shapely.linestrings(points[np.asarray(links)])
    pairs = shapely.STRtree(lines).query(lines, predicate="crosses")
    for first, second in pairs.T[pairs[0] < pairs[1]]:
        if not set(links[first]).intersection(links[second]):
            spot = shapely.get_coordinates(shapely.intersection(lines[first], lines[second]))[0]
            return spot, links[first], links[second]
    return None


def _without_straight_points(chain: Points) -> Points:
    kept = [chain[0]]
    for here, after in pairwise(chain[1:]):
        step = after - kept[-1]
        offset = here - kept[-1]
        if abs(offset[0] * step[1] - offset[1] * step[0]) > STRAIGHT * math.hypot(*step):
            kept.append(here)
    return np.array([*kept, chain[-1]])
