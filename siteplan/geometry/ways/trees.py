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
    table[:, 0] = math.inf  # what is joined is never joined again
    best, parent = table[0].copy(), np.zeros(len(table), dtype=np.intp)
    links: list[Link] = []
    for _ in range(len(table) - 1):
        nearest = int(best.argmin())
        if not math.isfinite(best[nearest]):
            break
        links.append((int(parent[nearest]), nearest))
        table[:, nearest] = best[nearest] = math.inf
        closer = table[nearest] < best
        best[closer], parent[closer] = table[nearest][closer], nearest
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


def opened(links: Sequence[Link], price: Mapping[Link, float]) -> list[Link]:
    """Like `spanning`, of links known to hang together: at once where they have no circle.

    Examples
    --------
    >>> opened([(0, 1), (1, 2), (0, 2)], {(0, 1): 1.0, (1, 2): 1.0, (0, 2): 3.0})
    [(0, 1), (1, 2)]
    """
    # so many links on so many points that hang together are a tree: nothing to sort
    if len(links) < len({point for link in links for point in link}):
        return list(links)
    return spanning(links, price)


def pruned(links: Sequence[Link], required: Iterable[int]) -> list[Link]:
    """Links without the dead ends that lead to no required point.

    Examples
    --------
    >>> pruned([(0, 1), (1, 2), (1, 3), (3, 4)], [0, 2])
    [(0, 1), (1, 2)]
    """
    needed, gone = set(required), set[int]()
    degree: dict[int, int] = {}
    others: dict[int, int] = {}  # sum of the neighbours left: of a dead end its only one
    for link in links:
        for point, other in (link, link[::-1]):
            degree[point] = degree.get(point, 0) + 1
            others[point] = others.get(point, 0) + other
    waiting = [point for point, count in degree.items() if count == 1 and point not in needed]
    while waiting:
        point = waiting.pop()
        gone.add(point)
        if not degree[point]:
            continue
        before = others[point]
        degree[before] -= 1
        others[before] -= point
        if degree[before] == 1 and before not in needed:
            waiting.append(before)
    return [link for link in links if gone.isdisjoint(link)]


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
    near: dict[int, list[int]] = {}
    for first, second in links:
        near.setdefault(first, []).append(second)
        near.setdefault(second, []).append(first)
    return {point: sorted(others) for point, others in near.items()}


def unpaired_ends(points: Points, links: Sequence[Link]) -> int:
    """Links that end at a bend or branch with no straight continuation: a measure of untidiness.

    Examples
    --------
    >>> import numpy as np
    >>> unpaired_ends(np.array([[0.0, 0.0], [1.0, 0.0], [1.0, 1.0]]), [(0, 1), (1, 2)])
    2
    """
    pairs = np.asarray(links, dtype=np.intp).reshape(-1, 2)
    here, there = np.concatenate([pairs, pairs[:, ::-1]]).T
    steps = points[there] - points[here]
    units = steps / np.hypot(steps[:, 0], steps[:, 1])[:, None]
    same = here[:, None] == here[None, :]
    paired = (same & (units @ units.T < -1 + 1e-6)).any(axis=1)
    return int(np.count_nonzero(~paired & (same.sum(axis=1) > 1)))


def _split_at_points(points: Points, links: Sequence[Link]) -> list[Link]:
    used = np.unique(np.asarray(links))
    along, off, length = _places_beside(points, links, used)
    on = (np.abs(off) < TOLERANCE) & (along > TOLERANCE) & (along < length - TOLERANCE)
    chains = [list(link) for link in links]
    for number in np.flatnonzero(on.any(axis=1)):
        through = used[on[number]][np.argsort(along[number, on[number]])]
        chains[number][1:1] = [int(point) for point in through]
    return sorted({(min(a, b), max(a, b)) for chain in chains for a, b in pairwise(chain)})


def _places_beside(
    points: Points, links: Sequence[Link], used: npt.NDArray[np.intp]
) -> tuple[Points, Points, Points]:
    """For each link and each point used: how far along it and off it, and the link's length [m]."""
    pairs = np.asarray(links)
    start = points[pairs[:, 0]]
    step = points[pairs[:, 1]] - start
    length = np.hypot(step[:, 0], step[:, 1])[:, None]
    east = points[used, 0][None] - start[:, :1]
    north = points[used, 1][None] - start[:, 1:]
    along = (east * step[:, :1] + north * step[:, 1:]) / length
    off = (east * step[:, 1:] - north * step[:, :1]) / length
    return along, off, length


def _first_crossing(points: Points, links: Sequence[Link]) -> tuple[Points, Link, Link] | None:
    near = _may_cross(points, links)
    if not len(near):
        return None
    lines = shapely.linestrings(points[np.asarray(links)])
    crossing = near[shapely.crosses(lines[near[:, 0]], lines[near[:, 1]])]
    if not len(crossing):
        return None
    first, second = crossing[0]
    spot = shapely.get_coordinates(shapely.intersection(lines[first], lines[second]))[0]
    return spot, links[first], links[second]


def _may_cross(points: Points, links: Sequence[Link]) -> npt.NDArray[np.intp]:
    """Pairs of links without a common point of which each has its ends on both sides of the other.

    Wider by the tolerance than a true crossing.
    """
    pairs = np.asarray(links)
    used, place = np.unique(pairs, return_inverse=True)
    place = place.reshape(-1, 2)
    _, off, _ = _places_beside(points, links, used)
    ends = off[:, place[:, 0]], off[:, place[:, 1]]
    astride = (np.minimum(*ends) < TOLERANCE) & (np.maximum(*ends) > -TOLERANCE)
    first, second = np.nonzero(np.triu(astride & astride.T, 1))
    apart = (pairs[first][:, :, None] != pairs[second][:, None, :]).all(axis=(1, 2))
    return np.asarray(np.column_stack([first, second])[apart], dtype=np.intp)


def _without_straight_points(chain: Points) -> Points:
    kept = [chain[0]]
    for here, after in pairwise(chain[1:]):
        step = after - kept[-1]
        offset = here - kept[-1]
        if abs(offset[0] * step[1] - offset[1] * step[0]) > STRAIGHT * math.hypot(*step):
            kept.append(here)
    return np.array([*kept, chain[-1]])
