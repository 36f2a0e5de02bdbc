"""Pushing crowded points apart: many small crowds at once, each until its discs no longer overlap.

Points are the centres of soft discs one spacing across. The energy of a crowd is the sum of the
squares of all overlaps and of four times the squares of the distances outside the area; it is
lowered by quasi-Newton steps of limited memory. All crowds of a batch lie in one array, so that a
step costs a few array operations whatever their number.

References
----------
D. C. Liu, J. Nocedal, "On the limited memory BFGS method for large scale optimization",
Mathematical Programming 45 (1989) 503-528.
"""

from __future__ import annotations

from collections import deque
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry
from shapely.geometry.polygon import orient

from siteplan.geometry.scanline import Floats, Integers

MARGIN: Final = 0.6
"""How much farther than the spacing neighbours are listed, in spacings."""
EDGE_MARGIN: Final = 0.3
"""Points this near an edge, in spacings, may come to lie outside."""
MANY_EDGES: Final = 250
"""Edges above which a fence may be simplified: time grows with them."""
GIVE: Final = 1 / 400
"""How far such a fence may be drawn in, in spacings."""
OUTSIDE_WEIGHT: Final = 4.0
MEMORY: Final = 5
"""Steps remembered for the curvature."""
FIRST_SCALE: Final = 0.15
"""Share of the gradient that the first step goes."""
LARGEST_STEP: Final = 0.25
"""Longest move of a point in one step, in spacings."""


def dot(one: Floats, other: Floats) -> Floats:
    """Scalar product of vectors, line by line; faster here than a sum along the lines."""
    return one[:, 0] * other[:, 0] + one[:, 1] * other[:, 1]


@dataclass(frozen=True, slots=True)
class Fence:
    """Edges of an area with its inside on their left.

    Parameters
    ----------
    start, step
        First corner of each edge and the way to the next [m].
    normal
        Unit vector into the area.
    reflex
        For each edge whether the area's angle at its first and at its second corner passes 180 deg.
    """

    start: Floats
    step: Floats
    normal: Floats
    reflex: Integers

    def feet(self, points: Floats, edge: Integers) -> tuple[Floats, Floats, Floats]:
        """Distance of each point to an edge, positive inside, its gradient, and its square."""
        start, step = self.start[edge], self.step[edge]
        off = points - start
        share = dot(off, step) / dot(step, step)
        clipped = np.minimum(np.maximum(share, 0.0), 1.0)
        off = off - clipped[:, None] * step
        square = dot(off, off)
        normal = self.normal[edge]
        # beside a corner the sign is the corner's: inside where the area's angle passes 180 deg
        corner = np.where(self.reflex[edge, (share > 0.5).astype(np.int64)] > 0, 1.0, -1.0)
        beside = (share <= 0.0) | (share >= 1.0)
        away = off / np.sqrt(np.maximum(square, 1e-30))[:, None]
        sign = np.where(beside, corner, np.where(dot(off, normal) >= 0, 1.0, -1.0))
        gradient = np.where((beside & (square > 1e-24))[:, None], sign[:, None] * away, normal)
        return sign * np.sqrt(square), gradient, square


def fence_of(area: BaseGeometry, *, give: float = 0.0) -> Fence:
    """Fence of an area's rings, drawn in by ``give`` [m] where that spares very many edges."""
    if give > 0 and shapely.get_num_coordinates(area) > MANY_EDGES:
        drawn_in = shapely.simplify(shapely.buffer(area, -give), give)
        area = area if drawn_in.is_empty else drawn_in
    starts, steps, reflexes = [], [], []
    for part in shapely.get_parts(area):
        if part.geom_type != "Polygon" or part.is_empty:
            continue
        turned = orient(part, 1.0)
        for ring in (turned.exterior, *turned.interiors):
            corners = shapely.get_coordinates(ring)[:-1]
            corners = corners[np.hypot(*(np.roll(corners, -1, 0) - corners).T) > 1e-9]
            step = np.roll(corners, -1, axis=0) - corners
            before = np.roll(step, 1, axis=0)
            reflex = before[:, 0] * step[:, 1] - before[:, 1] * step[:, 0] < 0
            starts.append(corners)
            steps.append(step)
            reflexes.append(np.column_stack([reflex, np.roll(reflex, -1)]))
    start, step = np.vstack(starts), np.vstack(steps)
    normal = np.column_stack([-step[:, 1], step[:, 0]]) / np.hypot(*step.T)[:, None]
    return Fence(start, step, normal, np.vstack(reflexes).astype(np.int64))


@dataclass(frozen=True, slots=True)
class Crowds:
    """Points of many crowds in one array, each crowd's together and in order.

    Parameters
    ----------
    points
        Points that may move [m].
    crowd
        Number of each point's crowd: 0, 1, 2 ... without a gap.
    held
        Points that stay where they are [m].
    held_crowd
        Number of the crowd beside which each of them stands.
    """

    points: Floats
    crowd: Integers
    held: Floats
    held_crowd: Integers

    def kept(self, keep: Integers) -> Crowds:
        """Only the crowds of the given numbers, numbered anew."""
        number = np.full(int(self.crowd.max(initial=-1)) + 1, -1)
        number[keep] = np.arange(keep.size)
        here, there = number[self.crowd], number[self.held_crowd]
        return Crowds(
            self.points[here >= 0], here[here >= 0], self.held[there >= 0], there[there >= 0]
        )


@dataclass(frozen=True, slots=True)
class _Neighbours:
    """Who may touch whom: pairs of points, points and held points, points and edges."""

    one: Integers
    other: Integers
    beside: Integers
    held: Floats
    edge_point: Integers
    edge: Integers
    first_edge: Integers


def neighbours_of(crowds: Crowds, fence: Fence, *, spacing: float) -> _Neighbours:
    """Neighbours within the margin."""
    count = len(crowds.points)
    everyone = np.vstack([crowds.points, crowds.held])
    # crowds are lifted apart, so that one tree serves all
    lift = 4 * spacing * np.concatenate([crowds.crowd, crowds.held_crowd])
    tree = cKDTree(np.column_stack([everyone, lift]))
    pairs = tree.query_pairs((1 + MARGIN) * spacing, output_type="ndarray")
    one, other = np.sort(pairs, axis=1).T
    moving, mixed = other < count, (one < count) & (other >= count)
    point, edge = _near_edges(crowds.points, fence, spacing=spacing)
    first = np.flatnonzero(np.diff(point, prepend=-1))
    return _Neighbours(
        one[moving],
        other[moving],
        one[mixed],
        crowds.held[other[mixed] - count],
        point,
        edge,
        first,
    )


def _near_edges(points: Floats, fence: Fence, *, spacing: float) -> tuple[Integers, Integers]:
    """Points near or beyond an edge, and the edges that may be nearest to them."""
    off_x = points[:, None, 0] - fence.start[None, :, 0]
    off_y = points[:, None, 1] - fence.start[None, :, 1]
    step_x, step_y = fence.step[:, 0], fence.step[:, 1]
    share = (off_x * step_x + off_y * step_y) / (step_x**2 + step_y**2)
    share = np.minimum(np.maximum(share, 0.0), 1.0)
    distance = np.hypot(off_x - share * step_x, off_y - share * step_y)
    nearest = distance.min(axis=1, keepdims=True)
    # a point may have been put deep outside: its nearest edge stays listed at any distance
    near = (distance <= nearest + 2 * EDGE_MARGIN * spacing) & (
        nearest <= 2 * EDGE_MARGIN * spacing
    )
    point, edge = np.nonzero(near)
    return point, edge


def energy(
    points: Floats, near: _Neighbours, *, fence: Fence, spacing: float, inset: float
) -> tuple[Floats, Floats]:
    """Energy of each point and its gradient."""
    count = len(points)
    apart = points[near.one] - points[near.other]
    overlap, push = _overlap(apart, spacing)
    beside, aside = _overlap(points[near.beside] - near.held, spacing)
    where, out, inward = _outside(points, near, fence=fence, inset=inset)
    total = np.asarray(
        np.bincount(near.one, overlap**2, count)
        + np.bincount(near.beside, beside**2, count)
        + np.bincount(where, OUTSIDE_WEIGHT * out**2, count),
        dtype=np.float64,
    )
    gradient = np.empty_like(points)
    for axis in (0, 1):
        gradient[:, axis] = -2 * (
            np.bincount(near.one, push[:, axis], count)
            - np.bincount(near.other, push[:, axis], count)
            + np.bincount(near.beside, aside[:, axis], count)
            + np.bincount(where, OUTSIDE_WEIGHT * out * inward[:, axis], count)
        )
    return total, gradient


def _overlap(apart: Floats, spacing: float) -> tuple[Floats, Floats]:
    """How far two discs overlap, and the push it gives the first one."""
    distance = np.sqrt(dot(apart, apart))
    overlap = np.maximum(spacing - distance, 0.0)
    return overlap, apart * (overlap / np.maximum(distance, 1e-12))[:, None]


def _outside(
    points: Floats, near: _Neighbours, *, fence: Fence, inset: float
) -> tuple[Integers, Floats, Floats]:
    """Points short of the inset, by how much, and the direction inwards."""
    if near.edge.size == 0:
        return near.edge, np.zeros(0), np.zeros((0, 2))
    inside, gradient, square = fence.feet(points[near.edge_point], near.edge)
    least = np.minimum.reduceat(square, near.first_edge)
    sizes = np.diff(np.r_[near.first_edge, near.edge.size])
    hit = np.flatnonzero((square <= np.repeat(least, sizes)) & (inside < inset))
    hit = hit[np.diff(near.edge_point[hit], prepend=-1) > 0]
    return near.edge_point[hit], inset - inside[hit], gradient[hit]


@dataclass(frozen=True, slots=True)
class _Step:
    """A step taken: the move, how the gradient changed, and one over their product by crowd."""

    move: Floats
    change: Floats
    weight: Floats


@dataclass(frozen=True, slots=True)
class _Members:
    """Which points belong to which crowd."""

    crowd: Integers
    first: Integers

    def total(self, one: Floats, other: Floats) -> Floats:
        """Scalar product over the points of each crowd."""
        return np.add.reduceat(dot(one, other), self.first)

    def scaled(self, factor: Floats, vectors: Floats) -> Floats:
        """Vectors times the factor of their crowd."""
        return factor[self.crowd][:, None] * vectors


def relax(
    crowds: Crowds, fence: Fence, *, spacing: float, inset: float, steps: int
) -> tuple[Crowds, Floats]:
    """Crowds after a number of quasi-Newton steps, and the energy of each."""
    members = _Members(crowds.crowd, np.flatnonzero(np.diff(crowds.crowd, prepend=-1)))
    near, points = neighbours_of(crowds, fence, spacing=spacing), crowds.points
    values, gradient = energy(points, near, fence=fence, spacing=spacing, inset=inset)
    scale = np.full(members.first.size, FIRST_SCALE)
    history: deque[_Step] = deque(maxlen=MEMORY)
    for number in range(1, steps + 1):
        move = -_direction(gradient, history, scale=scale, members=members)
        largest = np.maximum.reduceat(np.abs(move).max(axis=1), members.first)
        longest = LARGEST_STEP * spacing
        move = members.scaled(np.minimum(1.0, longest / np.maximum(largest, longest)), move)
        points = points + move
        if number in (8, 24) or number % 50 == 0:
            near = neighbours_of(replace(crowds, points=points), fence, spacing=spacing)
        values, fresh = energy(points, near, fence=fence, spacing=spacing, inset=inset)
        change = fresh - gradient
        along, square = members.total(move, change), members.total(change, change)
        # a crowd at rest, or in a place of negative curvature, adds nothing to the memory
        curved = along > 1e-12 * square
        safe = np.where(curved, along, 1.0)
        history.append(_Step(move, change, np.where(curved, 1.0 / safe, 0.0)))
        scale = np.where(curved, along / np.where(curved, square, 1.0), scale)
        gradient = fresh
    return replace(crowds, points=points), np.add.reduceat(values, members.first)


def _direction(
    gradient: Floats, history: deque[_Step], *, scale: Floats, members: _Members
) -> Floats:
    """Gradient times the approximate inverse of the curvature: the two-loop recursion."""
    vector, shares = gradient, []
    for step in reversed(history):
        share = step.weight * members.total(step.move, vector)
        vector = vector - members.scaled(share, step.change)
        shares.append(share)
    vector = members.scaled(scale, vector)
    for step, share in zip(history, reversed(shares), strict=True):
        back = step.weight * members.total(step.change, vector)
        vector = vector + members.scaled(share - back, step.move)
    return vector
