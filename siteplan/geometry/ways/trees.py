"""Trees of straight links between numbered points: growing, pruning, and the runs they form."""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping, Sequence
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, STRtree

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
    order = np.argsort(here, kind="stable")
    here, units = here[order], units[order]
    counts = np.bincount(here)[here]
    paired = np.zeros(len(here), bool)
    # those of one point stand side by side, and are few
    for step in range(1, int(counts.max(initial=0))):
        same = here[step:] == here[:-step]
        straight = same & ((units[step:] * units[:-step]).sum(axis=1) < -1 + 1e-6)
        paired[step:] |= straight
        paired[:-step] |= straight
    return int(np.count_nonzero(~paired & (counts > 1)))


def _split_at_points(points: Points, links: Sequence[Link]) -> list[Link]:
    used, pairs = np.unique(np.asarray(links)), np.asarray(links)
    spots = STRtree(shapely.points(points[used]))
    # somewhat farther, so that rounding leaves none out
    near = spots.query(shapely.linestrings(points[pairs]), "dwithin", distance=2 * TOLERANCE)
    which, place = near[0], used[near[1]]
    along, off, length = _places_beside(points, pairs[which], place)
    on = (np.abs(off) < TOLERANCE) & (along > TOLERANCE) & (along < length - TOLERANCE)
    which, place, along = which[on], place[on], along[on]
    chains = [list(link) for link in links]
    for number in np.unique(which):
        own = np.flatnonzero(which == number)
        own = own[np.lexsort((place[own], along[own]))]
        chains[number][1:1] = [int(point) for point in place[own]]
    return sorted({(min(a, b), max(a, b)) for chain in chains for a, b in pairwise(chain)})


def _places_beside(
    points: Points, pairs: npt.NDArray[np.intp], place: npt.NDArray[np.intp]
) -> tuple[Points, Points, Points]:
    """For links, each with a point: how far along it and off it that lies, and its length [m]."""
    start = points[pairs[:, 0]]
    step = points[pairs[:, 1]] - start
    length = np.hypot(step[:, 0], step[:, 1])
    east, north = (points[place] - start).T
    along = (east * step[:, 0] + north * step[:, 1]) / length
    off = (east * step[:, 1] - north * step[:, 0]) / length
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
    """Pairs of links without a common point whose boxes meet, in order."""
    pairs = np.asarray(links)
    lines = shapely.linestrings(points[pairs])
    first, second = STRtree(lines).query(lines)
    after = first < second
    first, second = first[after], second[after]
    apart = (pairs[first][:, :, None] != pairs[second][:, None, :]).all(axis=(1, 2))
    found = np.column_stack([first, second])[apart]
    return np.asarray(found[np.lexsort((found[:, 1], found[:, 0]))], dtype=np.intp)


def _without_straight_points(chain: Points) -> Points:
    kept = [chain[0]]
    for here, after in pairwise(chain[1:]):
        step = after - kept[-1]
        offset = here - kept[-1]
        if abs(offset[0] * step[1] - offset[1] * step[0]) > STRAIGHT * math.hypot(*step):
            kept.append(here)
    return np.array([*kept, chain[-1]])
