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
from scipy.spatial import cKDTree

from siteplan.geometry.points.fence import EdgeIndex, Walls
from siteplan.geometry.points.scanline import Floats, Integers
from siteplan.preferences.table import count_of, figure_of

MARGIN: Final = figure_of("geometry.points.soft_discs.margin")
LATER_MARGIN: Final = figure_of("geometry.points.soft_discs.later_margin")
OUTSIDE_WEIGHT: Final = figure_of("geometry.points.soft_discs.outside_weight")
MEMORY: Final = count_of("geometry.points.soft_discs.memory")
FIRST_SCALE: Final = figure_of("geometry.points.soft_discs.first_scale")
LARGEST_STEP: Final = figure_of("geometry.points.soft_discs.largest_step")


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
    """Who may touch whom: pairs of points, held ones numbered after all others, and walls."""

    disc: Integers
    other: Integers
    held: Floats
    walls: Walls


def neighbours_of(
    crowds: Crowds, index: EdgeIndex, *, spacing: float, margin: float = MARGIN
) -> _Neighbours:
    """Neighbours within the margin, in spacings."""
    count = len(crowds.points)
    everyone = np.vstack([crowds.points, crowds.held])
    # crowds are lifted apart, so that one tree serves all
    lift = 4 * spacing * np.concatenate([crowds.crowd, crowds.held_crowd])
    tree = cKDTree(np.column_stack([everyone, lift]), balanced_tree=False, compact_nodes=False)
    pairs = tree.query_pairs((1 + margin) * spacing, output_type="ndarray")
    disc, other = np.minimum(*pairs.T), np.maximum(*pairs.T)
    # two held points cannot be pushed apart: their pair would only cost time
    moving = disc < count
    return _Neighbours(disc[moving], other[moving], crowds.held, index.walls(crowds.points))


@dataclass(frozen=True, slots=True)
class _Touching:
    """Pairs that overlap and points beyond walls: by how much, and which way they are pushed."""

    disc: Integers
    other: Integers
    overlap: Floats
    apart: Floats
    point: Integers
    out: Floats
    normal: Floats

    def energy(self, count: int) -> Floats:
        """Energy of each point; that of a pair counts for its first point."""
        return np.asarray(
            np.bincount(self.disc, self.overlap**2, count)
            + np.bincount(self.point, OUTSIDE_WEIGHT * self.out**2, count),
            dtype=np.float64,
        )

    def gradient(self, count: int) -> Floats:
        """Gradient of the energy."""
        gradient = np.empty((count, 2))
        push = -2 * OUTSIDE_WEIGHT * self.out
        for axis in (0, 1):
            apart = self.apart[axis]
            gradient[:, axis] = (
                np.bincount(self.point, push * self.normal[axis], count)
                - np.bincount(self.disc, apart, count)
                + np.bincount(self.other, apart, count)[:count]
            )
        return gradient


def _touching(points: Floats, near: _Neighbours, *, spacing: float, inset: float) -> _Touching:
    x = np.concatenate([points[:, 0], near.held[:, 0]])
    y = np.concatenate([points[:, 1], near.held[:, 1]])
    off_x, off_y = x[near.disc] - x[near.other], y[near.disc] - y[near.other]
    square = off_x * off_x + off_y * off_y
    hit = np.flatnonzero(square < spacing * spacing)
    distance = np.sqrt(square[hit])
    overlap = spacing - distance
    # two points on one place have no direction to part in; the floor keeps that from being a fault
    push = 2 * overlap / np.maximum(distance, 1e-12)
    walls = near.walls
    out = walls.offset + inset - walls.normal[0] * x[walls.point] - walls.normal[1] * y[walls.point]
    beyond = np.flatnonzero(out > 0)
    return _Touching(
        near.disc[hit],
        near.other[hit],
        overlap,
        np.stack([off_x[hit] * push, off_y[hit] * push]),
        walls.point[beyond],
        out[beyond],
        walls.normal[:, beyond],
    )


def energy(
    points: Floats, near: _Neighbours, *, spacing: float, inset: float
) -> tuple[Floats, Floats]:
    """Energy of each point and its gradient."""
    touching = _touching(points, near, spacing=spacing, inset=inset)
    return touching.energy(len(points)), touching.gradient(len(points))


@dataclass(frozen=True, slots=True)
class _Step:
    """A step taken: the move, how the gradient changed, and one over their product by crowd."""

    move: Floats
    change: Floats
    weight: Floats


@dataclass(frozen=True, slots=True)
class _Members:
    """Which coordinates, x and y by turns, belong to which crowd."""

    crowd: Integers
    first: Integers

    def total(self, values: Floats, other: Floats) -> Floats:
        """Scalar product over the coordinates of each crowd."""
        return np.add.reduceat(values * other, self.first)

    def scaled(self, factor: Floats, values: Floats) -> Floats:
        """Coordinates times the factor of their crowd."""
        return factor[self.crowd] * values


def relax(
    crowds: Crowds, index: EdgeIndex, *, spacing: float, inset: float, steps: int
) -> tuple[Crowds, Floats]:
    """Crowds after a number of quasi-Newton steps, and the energy of each."""
    first = np.flatnonzero(np.diff(crowds.crowd, prepend=-1))
    members = _Members(np.repeat(crowds.crowd, 2), 2 * first)
    # who may touch whom is listed once for many steps: searching neighbours anew costs more than a
    # step
    near, points, count = neighbours_of(crowds, index, spacing=spacing), crowds.points, first.size
    touching = _touching(points, near, spacing=spacing, inset=inset)
    gradient = touching.gradient(len(points)).ravel()
    scale = np.full(count, FIRST_SCALE)
    history: deque[_Step] = deque(maxlen=MEMORY)
    for number in range(1, steps + 1):
        move = -_direction(gradient, history, scale=scale, members=members)
        largest = np.maximum.reduceat(np.abs(move), members.first)
        # far from rest the curvature is a poor guide, and an unbounded step throws points through
        # others; a whole crowd is shortened alike, so that its move keeps its direction
        longest = LARGEST_STEP * spacing
        move = members.scaled(longest / np.maximum(largest, longest), move)
        points = points + move.reshape(-1, 2)
        # points move most in the first steps, so the lists are renewed early, and seldom later
        if number in (6, 20) or number % 40 == 0:
            moved = replace(crowds, points=points)
            near = neighbours_of(moved, index, spacing=spacing, margin=LATER_MARGIN)
        touching = _touching(points, near, spacing=spacing, inset=inset)
        slope = touching.gradient(len(points)).ravel()
        step, scale = _step(move, slope - gradient, members=members, scale=scale)
        history.append(step)
        gradient = slope
    return replace(crowds, points=points), np.add.reduceat(touching.energy(len(points)), first)


def _step(
    move: Floats, change: Floats, *, members: _Members, scale: Floats
) -> tuple[_Step, Floats]:
    """The step to remember, and the inverse curvature along it, of each crowd."""
    along, square = members.total(move, change), members.total(change, change)
    # a crowd at rest, or in a place of negative curvature, adds nothing to the memory
    curved = along > 1e-12 * square
    weight = np.where(curved, 1.0 / np.where(curved, along, 1.0), 0.0)
    scale = np.where(curved, along / np.where(curved, square, 1.0), scale)
    return _Step(move, change, weight), scale


def _direction(
    gradient: Floats, history: deque[_Step], *, scale: Floats, members: _Members
) -> Floats:
    """Gradient times the approximate inverse of the curvature: the two-loop recursion."""
    vector, shares = gradient, []
    for step in reversed(history):
        share = step.weight * members.total(step.move, vector)
        vector = vector - members.scaled(share, step.change)
        shares.append(share)
    # the latest curvature stands for all that the few remembered steps do not tell
    vector = members.scaled(scale, vector)
    for step, share in zip(history, reversed(shares), strict=True):
        back = step.weight * members.total(step.change, vector)
        vector = vector + members.scaled(share - back, step.move)
    return vector
