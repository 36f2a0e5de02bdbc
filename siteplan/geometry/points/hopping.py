"""Basin hopping for crowds that want one point more than they have found room for.

A hop takes a point out of the thick of a crowd, puts it into a void, and pushes all apart as soft
discs. What overlap is left is the crowd's energy; a hop that lowers it is kept, one that raises it
a little sometimes, so that a crowd walks towards room for all over many hops.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.points.fence import EdgeIndex
from siteplan.geometry.points.scanline import Floats, Integers
from siteplan.geometry.points.soft_discs import Crowds, relax
from siteplan.preferences.table import count_of, counts_of, figure_of, figures_of

STEPS: Final = count_of("geometry.points.hopping.steps")
STAGES: Final = (
    *zip(
        counts_of("geometry.points.hopping.stage_steps"),
        figures_of("geometry.points.hopping.stage_energies"),
        strict=True,
    ),
)
WARMTH: Final = figure_of("geometry.points.hopping.warmth")
VOIDS: Final = count_of("geometry.points.hopping.voids")
SECOND: Final = figure_of("geometry.points.hopping.second")
SHAKEN: Final = figure_of("geometry.points.hopping.shaken")
SHAKES: Final = figures_of("geometry.points.hopping.shakes")
TO_EMPTIEST: Final = figure_of("geometry.points.hopping.to_emptiest")
FROM_SQUEEZED: Final = figure_of("geometry.points.hopping.from_squeezed")
RANK: Final = figure_of("geometry.points.hopping.rank")


@dataclass(frozen=True, slots=True)
class Ground:
    """Where points are pushed: the edges, and how far apart and inside they go [m]."""

    index: EdgeIndex
    spacing: float
    inset: float


@dataclass(frozen=True, slots=True)
class Crowd:
    """Points that move, points beside them that do not, and places for points [m]."""

    points: Floats
    held: Floats
    places: Floats


def places_in(area: BaseGeometry, step: float) -> Floats:
    """Places in an area and on its edge, a step apart [m]."""
    west, south, east, north = area.bounds
    x, y = np.meshgrid(np.arange(west, east + step, step), np.arange(south, north + step, step))
    grid = np.column_stack([x.ravel(), y.ravel()])
    inside = grid[shapely.intersects_xy(area, grid)]
    edge = shapely.get_coordinates(shapely.segmentize(area.boundary, step))
    return np.vstack([inside, edge])


def emptiest(crowd: Crowd, points: Floats, *, random: np.random.Generator) -> Floats:
    """One of a crowd's places: mostly the one farthest from all points of a few drawn."""
    places = crowd.places[random.integers(len(crowd.places), size=VOIDS)]
    everyone = np.vstack([points, crowd.held])
    # always the emptiest place would put the point back into the same void hop after hop
    if random.random() >= TO_EMPTIEST or len(everyone) == 0:
        return np.asarray(places[0], dtype=np.float64)
    x = places[:, None, 0] - everyone[None, :, 0]
    y = places[:, None, 1] - everyone[None, :, 1]
    chosen: Floats = places[int(np.argmax((x * x + y * y).min(axis=1)))]
    return chosen


def relocated(crowd: Crowd, spacing: float, *, random: np.random.Generator) -> Floats:
    """Points of a crowd, one or two of the most squeezed put into voids, all shaken a little."""
    points = crowd.points.copy()
    squeezed = np.argsort(-_squeeze(crowd, spacing), kind="stable")
    for _ in range(1 + int(random.random() < SECOND)):
        # the most squeezed points are mostly the ones too many, but not always: others have a
        # chance
        by_squeeze = random.random() < FROM_SQUEEZED
        rank = random.exponential(RANK) if by_squeeze else random.uniform(0, len(points))
        index = squeezed[min(int(rank), len(points) - 1)]
        points[index] = emptiest(crowd, np.delete(points, index, axis=0), random=random)
    # a shake over a range of sizes: small ones loosen what is jammed, large ones change who
    # touches whom
    if random.random() < SHAKEN:
        points += random.normal(
            0.0, spacing * 10 ** random.uniform(SHAKES[0], SHAKES[1]), points.shape
        )
    return points


def _squeeze(crowd: Crowd, spacing: float) -> Floats:
    """How much each point overlaps others, in squares of metres."""
    everyone = np.vstack([crowd.points, crowd.held])
    x = crowd.points[:, None, 0] - everyone[None, :, 0]
    y = crowd.points[:, None, 1] - everyone[None, :, 1]
    distance = np.sqrt(x * x + y * y)
    # a point does not squeeze itself
    np.fill_diagonal(distance, spacing)
    squeeze: Floats = (np.maximum(spacing - distance, 0.0) ** 2).sum(axis=1)
    return squeeze


def pushed(
    crowds: list[Crowd], begin: list[Floats], *, ground: Ground
) -> tuple[list[Floats], Floats]:
    """Points of each crowd pushed apart from where they begin, and the energy left in each."""
    number = np.arange(len(crowds))
    batch = Crowds(
        np.vstack(begin),
        np.repeat(number, [len(points) for points in begin]),
        np.vstack([crowd.held for crowd in crowds]),
        np.repeat(number, [len(crowd.held) for crowd in crowds]),
    )
    # few steps show which crowds come to nothing, and most do: only the others get more
    batch, energy = _relaxed(batch, ground, steps=STEPS)
    points = np.split(batch.points, np.flatnonzero(np.diff(batch.crowd)) + 1)
    # the longer a crowd is pushed, the less energy it may keep: a jam does not loosen with time
    for steps, limit in STAGES:
        hopeful = (energy < limit * ground.spacing**2) & (energy > 0)
        keep: Integers = np.flatnonzero(hopeful)
        if keep.size == 0:
            break
        some = Crowds(
            np.vstack([points[index] for index in keep]),
            np.repeat(np.arange(keep.size), [len(points[index]) for index in keep]),
            np.vstack([crowds[index].held for index in keep]),
            np.repeat(np.arange(keep.size), [len(crowds[index].held) for index in keep]),
        )
        some, left = _relaxed(some, ground, steps=steps)
        for index, moved in zip(
            keep, np.split(some.points, np.flatnonzero(np.diff(some.crowd)) + 1), strict=True
        ):
            points[index] = moved
        energy[keep] = left
    return points, energy


def _relaxed(batch: Crowds, ground: Ground, *, steps: int) -> tuple[Crowds, Floats]:
    return relax(batch, ground.index, spacing=ground.spacing, inset=ground.inset, steps=steps)


def kept(before: Floats, after: Floats, *, random: np.random.Generator) -> Integers:
    """Numbers of the crowds whose hop is kept, by their energies before and after it."""
    # never worse would leave each crowd in the first rest it comes to
    warm = WARMTH * random.exponential(size=before.size)
    return np.flatnonzero(after <= before * (1.0 + warm))
