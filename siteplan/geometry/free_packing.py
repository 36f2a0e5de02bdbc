"""More points than straight rows hold: ruin a patch, put one more point in, push all apart.

Every round takes a batch of patches of the present packing. In each the points are shaken and, in
three patches of four, one more is put into a void; then soft discs push them apart. A patch in
which everything fits again, exactly, replaces the old one. The number of patches is fixed and the
random numbers are seeded, so that the same area gives the same points.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.packing_bound import packing_bound
from siteplan.geometry.scanline import Floats, Integers
from siteplan.geometry.soft_discs import GIVE, Crowds, Fence, fence_of, relax
from siteplan.geometry.tolerance import TOLERANCE

SEED: Final = 20_260_314
PATCHES: Final = 96
"""Patches of one round."""
ROUNDS: Final = 10
"""Rounds at effort 1: about a second on a residential lot."""
SMALLEST: Final = 1.2
LARGEST: Final = 6.5
"""Radius of a patch, in spacings; a large one takes in a whole lot."""
INSERTIONS: Final = 0.75
"""Share of the patches that get one more point."""
STAGES: Final = ((24, 9e-2), (24, 5e-2), (48, 8e-3), (48, 3e-3), (96, 2e-4), (160, 0.0))
"""Steps, and the energy in squares of the spacing up to which a patch is then pushed on.

Of 4,600 patches on three test areas nearly all of those that found room kept below.
"""
SHAKEN_STAGES: Final = 3
"""Stages after which a patch without a new point is given up: it only adds variety."""
SLACK: Final = TOLERANCE
"""How much farther apart and farther inside points are pushed than they must be [m]."""


@dataclass(frozen=True, slots=True)
class _Ground:
    """The area, prepared: its edges, the area widened a hair, and a raster of places in it."""

    fence: Fence
    widened: BaseGeometry
    raster: Floats
    spacing: float


@dataclass(frozen=True, slots=True)
class _Patch:
    """Part of a packing: which points may move, where they begin, and whether one is new."""

    moving: Integers
    begin: Floats
    held: Integers
    inserted: bool


def improve(area: BaseGeometry, spacing: float, *, points: Floats, effort: float) -> Floats:
    """Packing at least as large as the one given, found by a fixed number of trials.

    Parameters
    ----------
    area
        Area with width, in small coordinates [m].
    points
        Points inside, pairwise a spacing apart.
    effort
        Scales the number of rounds.
    """
    widened = shapely.buffer(area, TOLERANCE / 2, quad_segs=2)
    shapely.prepare(widened)
    ground = _Ground(fence_of(area, give=GIVE * spacing), widened, _raster(area, spacing), spacing)
    random = np.random.default_rng(SEED)
    most = packing_bound(area, spacing)
    for _ in range(max(1, round(ROUNDS * effort))):
        if len(points) >= most:
            break
        patches = [_patch(ground, points, random=random) for _ in range(PATCHES)]
        points = _replaced(ground, points, found=_pushed(ground, points, patches=patches))
    return points


def _raster(area: BaseGeometry, spacing: float) -> Floats:
    """Places in an area and on its edge, a quarter of a spacing apart."""
    west, south, east, north = area.bounds
    step = spacing / 4
    x, y = np.meshgrid(np.arange(west, east + step, step), np.arange(south, north + step, step))
    grid = np.column_stack([x.ravel(), y.ravel()])
    inside = grid[shapely.intersects_xy(area, grid)]
    edge = shapely.get_coordinates(shapely.segmentize(area.boundary, step))
    return np.vstack([inside, edge])


def _patch(ground: _Ground, points: Floats, *, random: np.random.Generator) -> _Patch:
    """Points around a void, shaken, with or without one more."""
    spacing = ground.spacing
    inserted = bool(random.random() < INSERTIONS)
    chosen = ground.raster[random.integers(len(ground.raster), size=8)]
    void = np.hypot(*(chosen[:, None, :] - points[None, :, :]).T).min(axis=0)
    centre = chosen[int(np.argmax(void)) if random.random() < 0.7 else 0]
    radius = spacing * SMALLEST * (LARGEST / SMALLEST) ** random.random()
    distance = np.hypot(*(points - centre).T)
    moving = np.flatnonzero(distance <= radius)
    held = np.flatnonzero((distance > radius) & (distance <= radius + 2 * spacing))
    sigma = spacing * 0.02 * 20.0 ** random.random()
    begin = points[moving] + np.clip(random.normal(0.0, sigma, (moving.size, 2)), -spacing, spacing)
    if inserted:
        begin = np.vstack([begin, centre])
    return _Patch(moving, begin, held, inserted)


def _pushed(
    ground: _Ground, points: Floats, *, patches: list[_Patch]
) -> list[tuple[_Patch, Floats]]:
    """Patches in which all discs found room, and their points."""
    patches = [patch for patch in patches if len(patch.begin)]
    if not patches:
        return []
    number = np.arange(len(patches))
    crowds = Crowds(
        np.vstack([patch.begin for patch in patches]),
        np.repeat(number, [len(patch.begin) for patch in patches]),
        points[np.concatenate([patch.held for patch in patches])],
        np.repeat(number, [patch.held.size for patch in patches]),
    )
    found: list[tuple[_Patch, Floats]] = []
    inserted = np.array([patch.inserted for patch in patches])
    for stage, (steps, limit) in enumerate(STAGES, start=1):
        crowds, left = relax(
            crowds, ground.fence, spacing=ground.spacing + SLACK, inset=SLACK, steps=steps
        )
        done = left < 4 * SLACK**2
        found += [
            (patches[number[index]], crowds.points[crowds.crowd == index])
            for index in np.flatnonzero(done)
        ]
        hopeful = ~done & (left < limit * ground.spacing**2)
        hopeful &= inserted[number] | (stage < SHAKEN_STAGES)
        keep = np.flatnonzero(hopeful)
        if keep.size == 0:
            break
        crowds, number = crowds.kept(keep), number[keep]
    return found


def _replaced(ground: _Ground, points: Floats, *, found: list[tuple[_Patch, Floats]]) -> Floats:
    """Packing with those patches put in that fit, those with one more point first."""
    found = sorted(found, key=lambda pair: not pair[0].inserted)
    touched = np.zeros(len(points), dtype=bool)
    added: list[Floats] = []
    points = points.copy()
    for patch, moved in found:
        if touched[patch.moving].any() or not _inside(ground, moved):
            continue
        others = np.ones(len(points), dtype=bool)
        others[patch.moving] = False
        rest = np.vstack([points[others], *added])
        if not _apart(moved, rest, spacing=ground.spacing):
            continue
        points[patch.moving] = moved[: patch.moving.size]
        touched[patch.moving] = True
        added.append(moved[patch.moving.size :])
    return np.vstack([points, *added])


def _inside(ground: _Ground, moved: Floats) -> bool:
    return bool(shapely.intersects_xy(ground.widened, moved).all())


def _apart(moved: Floats, rest: Floats, *, spacing: float) -> bool:
    """Whether the moved points keep the spacing among themselves and to all others."""
    everyone = np.vstack([moved, rest])
    gaps = np.asarray(cKDTree(everyone).query(moved, k=2)[0])
    return bool(gaps[:, 1].min() >= spacing - TOLERANCE / 2)
