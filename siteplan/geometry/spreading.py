"""A given number of points as far apart as they go: basin hopping with exact polishing.

Each round shakes copies of the best points and throws new ones, pushes all of them apart as soft
discs a little larger than the best spacing, and polishes the most promising few. Polishing
maximises the least distance by linear programs: the distance along the present line of sight is
never more than the true one, so that each program's solution is a true improvement.
"""

from __future__ import annotations

from typing import Final

import numpy as np
import shapely
from scipy.optimize import linprog
from scipy.sparse import csr_array
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.scanline import Floats, Integers
from siteplan.geometry.soft_discs import GIVE, Crowds, Fence, fence_of, relax

SEED: Final = 20_260_314
ROUNDS: Final = 12
"""Rounds at effort 1."""
COPIES: Final = 36
"""Crowds pushed apart in one round."""
THROWN: Final = 0.3
"""Share of the crowds that begin from points thrown at random."""
POLISHED: Final = 3
"""Crowds polished in one round."""
STEPS: Final = 160
PROGRAMS: Final = 25
"""Most linear programs of one polish."""
REACH: Final = 0.1
"""Farthest move of a point in one program, in spacings."""
GAIN: Final = 1e-10
"""Share by which the spacing must grow for one more program."""


def spread_apart(area: BaseGeometry, points: Floats, *, effort: float) -> Floats:
    """As many points as given, their least distance at least as large, found by fixed trials.

    Parameters
    ----------
    area
        Area with width, in small coordinates [m].
    points
        Two points or more, inside the area.
    effort
        Scales the number of rounds.
    """
    # one unit of length for all, so that the tolerances of the programs mean the same
    unit = least_distance(points) / 10.0
    scaled = shapely.transform(area, lambda xy: xy / unit)
    return _best(scaled, points / unit, rounds=max(1, round(ROUNDS * effort))) * unit


def _best(area: BaseGeometry, points: Floats, *, rounds: int) -> Floats:
    fence = fence_of(area, give=GIVE * least_distance(points))
    random = np.random.default_rng(SEED)
    best = _polished(points, area, fence=fence)
    for _ in range(rounds):
        spacing = least_distance(best)
        target = spacing * (1 + 10 ** random.uniform(-4.0, -1.8))
        starts = [_start(best, spacing, area=area, random=random) for _ in range(COPIES)]
        number = np.repeat(np.arange(COPIES), len(points))
        crowds = Crowds(np.vstack(starts), number, np.zeros((0, 2)), np.zeros(0, dtype=np.int64))
        crowds, left = relax(crowds, fence, spacing=target, inset=0.0, steps=STEPS)
        for index in np.argsort(left, kind="stable")[:POLISHED]:
            tried = _polished(crowds.points[crowds.crowd == index], area, fence=fence)
            if least_distance(tried) > least_distance(best) * (1 + 1e-12):
                best = tried
    return best


def least_distance(points: Floats) -> float:
    """Distance of the nearest pair [m].

    Examples
    --------
    >>> least_distance(np.array([[0.0, 0.0], [3.0, 4.0], [9.0, 9.0]]))
    5.0
    """
    return float(np.asarray(cKDTree(points).query(points, k=2)[0])[:, 1].min())


def _start(
    best: Floats, spacing: float, *, area: BaseGeometry, random: np.random.Generator
) -> Floats:
    """Points thrown at random, or the best ones shaken, some of them put elsewhere."""
    if random.random() < THROWN:
        return _thrown(area, len(best), random=random)
    sigma = spacing * 10 ** random.uniform(-2.0, -0.4)
    shaken = best + random.normal(0.0, sigma, best.shape)
    moved = random.integers(0, min(4, len(best)))
    shaken[random.permutation(len(best))[:moved]] = _thrown(area, int(moved), random=random)
    return shaken


def _thrown(area: BaseGeometry, count: int, *, random: np.random.Generator) -> Floats:
    """Places inside the area's bounding box, those inside the area first."""
    west, south, east, north = area.bounds
    places = random.uniform((west, south), (east, north), (max(8, 4 * count), 2))
    inside = shapely.intersects_xy(area, places)
    return places[np.argsort(~inside, kind="stable")[:count]]


def _polished(points: Floats, area: BaseGeometry, *, fence: Fence) -> Floats:
    """Points moved uphill until their least distance grows no more."""
    points = _brought_inside(points, area)
    spacing = least_distance(points)
    if spacing <= 0:
        return points
    for _ in range(PROGRAMS):
        moved = _brought_inside(_moved(points, spacing, fence=fence), area)
        grown = least_distance(moved)
        if grown <= spacing * (1 + GAIN):
            break
        points, spacing = moved, grown
    return points


def _brought_inside(points: Floats, area: BaseGeometry) -> Floats:
    """Points outside put on the nearest edge."""
    outside = ~shapely.intersects_xy(area, points)
    if not outside.any():
        return points
    lines = shapely.shortest_line(area, shapely.points(points[outside]))
    points = points.copy()
    points[outside] = shapely.get_coordinates(lines).reshape(-1, 2, 2)[:, 0]
    return points


def _moved(points: Floats, spacing: float, *, fence: Fence) -> Floats:
    """Points after one linear program: the largest t with every near pair t apart."""
    count, reach = len(points), REACH * spacing
    pairs = cKDTree(points).query_pairs(spacing + 4 * reach, output_type="ndarray")
    line = points[pairs[:, 0]] - points[pairs[:, 1]]
    length = np.hypot(line[:, 0], line[:, 1])
    owner, normal, room = _half_planes(points, fence, reach=2 * reach)
    solved = linprog(  # type: ignore[call-overload]  # the stubs know no sparse matrices
        c=np.r_[np.zeros(2 * count), -1.0],
        A_ub=_coefficients(pairs, line / length[:, None], owner=owner, normal=normal, count=count),
        b_ub=np.r_[length, room],
        bounds=[(-reach, reach)] * (2 * count) + [(0.0, spacing + 2 * reach)],
        method="highs-ds",
        options={"primal_feasibility_tolerance": 1e-10, "dual_feasibility_tolerance": 1e-10},
    )
    if solved.status != 0:
        return points
    moves: Floats = np.asarray(solved.x[: 2 * count], dtype=np.float64)
    return points + moves.reshape(2, count).T


def _coefficients(
    pairs: Integers, sight: Floats, *, owner: Integers, normal: Floats, count: int
) -> csr_array:
    """Left side of the program: a line for each pair, then one for each half plane.

    The unknowns are the moves along x, the moves along y, and t.
    """
    pair, wall = np.arange(len(pairs)), len(pairs) + np.arange(owner.size)
    one, other = pairs.T
    entries = [
        (pair, one, -sight[:, 0]),
        (pair, other, sight[:, 0]),
        (pair, count + one, -sight[:, 1]),
        (pair, count + other, sight[:, 1]),
        (pair, np.full(pair.size, 2 * count), np.ones(pair.size)),
        (wall, owner, -normal[:, 0]),
        (wall, count + owner, -normal[:, 1]),
    ]
    row, column, value = (np.concatenate(part) for part in zip(*entries, strict=True))
    return csr_array((value, (row, column)), shape=(pair.size + wall.size, 2 * count + 1))


def _half_planes(points: Floats, fence: Fence, *, reach: float) -> tuple[Integers, Floats, Floats]:
    """For each point half planes that keep it inside: owner, inward normal, room to the plane.

    Edges are taken from the nearest outwards; one that a plane already taken cuts off is skipped.
    So a point may slide past a corner that juts into the area.
    """
    edges = np.arange(len(fence.start))
    end = fence.start + fence.step
    owner, normals, rooms = [], [], []
    for index, point in enumerate(points):
        inside, gradient, square = fence.feet(np.repeat(point[None], edges.size, axis=0), edges)
        near = np.flatnonzero(square <= reach**2 * 2)
        cut_off = np.zeros(edges.size, dtype=bool)
        for edge in near[np.argsort(square[near], kind="stable")]:
            if cut_off[edge]:
                continue
            room, normal = max(float(np.abs(inside[edge])), 0.0), gradient[edge]
            if inside[edge] < 0:
                normal = -normal
            plane = point - room * normal
            beyond = ((fence.start - plane) @ normal <= 1e-12) & ((end - plane) @ normal <= 1e-12)
            cut_off |= beyond
            owner.append(index)
            normals.append(normal)
            rooms.append(room)
    return (
        np.array(owner, dtype=np.int64),
        np.array(normals).reshape(-1, 2),
        np.array(rooms),
    )
