"""More points than straight rows hold: put one more point into a patch and look for its room.

A patch is part of the packing, or all of a small one; its points may move and those around it are
held. One point more is put into a void of it, and the patch hops from arrangement to arrangement
(:mod:`siteplan.geometry.points.hopping`) until all its points find room, or its number of hops is
up. A patch in which everything fits, exactly, replaces the old one. The number of hops is fixed and
the random numbers are seeded, so that the same area gives the same points.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.points.fence import GIVE, edge_index, fence_of
from siteplan.geometry.points.few import most_points
from siteplan.geometry.points.hopping import (
    Crowd,
    Ground,
    emptiest,
    kept,
    places_in,
    pushed,
    relocated,
)
from siteplan.geometry.points.scanline import Floats, Integers
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.preferences.table import count_of, figure_of

SEED: Final = count_of("geometry.points.free.seed")
ROUNDS: Final = count_of("geometry.points.free.rounds")
CROWDED: Final = count_of("geometry.points.free.crowded")
FEWEST_PATCHES: Final = count_of("geometry.points.free.fewest_patches")
MOST_PATCHES: Final = count_of("geometry.points.free.most_patches")
WHOLE: Final = count_of("geometry.points.free.whole")
SMALLEST: Final = figure_of("geometry.points.free.smallest")
LARGEST: Final = figure_of("geometry.points.free.largest")
PATIENCE: Final = count_of("geometry.points.free.patience")
HOPELESS: Final = figure_of("geometry.points.free.hopeless")
SLACK: Final = TOLERANCE
"""How much farther apart and farther inside points are pushed than they must be [m]."""


@dataclass(frozen=True, slots=True)
class _Site:
    """The area, prepared: its edges, the area widened a hair, and a raster of places in it."""

    ground: Ground
    widened: BaseGeometry
    raster: Floats
    spacing: float


@dataclass(frozen=True, slots=True)
class _Patch:
    """Part of a packing with a point too many: which points of the packing it moves, and how."""

    moving: Integers
    held: Integers
    crowd: Crowd
    energy: float
    hops: int


def improve(area: BaseGeometry, spacing: float, *, points: Floats, effort: float) -> Floats:
    """Packing at least as large as the one given, found by a fixed number of trials.

    Parameters
    ----------
    area
        Area with width, in small coordinates [m].
    points
        Points inside, pairwise a spacing apart.
    effort
        Scales the number of rounds; a larger number goes on where a smaller one stops.
    """
    site = _site(area, spacing)
    random = np.random.default_rng(SEED)
    # where the bound is met no hop can add a point: the rest of the budget would be wasted
    most = most_points(area, spacing, held=len(points))
    patches: list[_Patch] = []
    for _ in range(max(1, round(ROUNDS * effort))):
        if len(points) >= most:
            break
        patches = _filled_up(site, points, patches=patches, random=random)
        patches = _hopped(site, patches, random=random)
        points, patches = _replaced(site, points, patches=patches)
    return points


def _site(area: BaseGeometry, spacing: float) -> _Site:
    widened = shapely.buffer(area, TOLERANCE / 2, quad_segs=2)
    shapely.prepare(widened)
    fence = fence_of(area, give=GIVE * spacing)
    index = edge_index(area, fence, spacing=spacing)
    return _Site(
        Ground(index, spacing + SLACK, SLACK), widened, places_in(area, spacing / 4), spacing
    )


def _filled_up(
    site: _Site, points: Floats, *, patches: list[_Patch], random: np.random.Generator
) -> list[_Patch]:
    """Patches worth another hop, and new ones up to the number of a round."""
    hopeless = HOPELESS * site.spacing**2
    # a patch that is the whole packing is never given up: another would be the same points again
    if len(points) > WHOLE:
        patches = [patch for patch in patches if patch.hops < PATIENCE and patch.energy < hopeless]
    moving = sum(len(patch.crowd.points) for patch in patches)
    while len(patches) < FEWEST_PATCHES or (moving < CROWDED and len(patches) < MOST_PATCHES):
        patches = [*patches, _patch(site, points, random=random)]
        moving += len(patches[-1].crowd.points)
    return patches


def _patch(site: _Site, points: Floats, *, random: np.random.Generator) -> _Patch:
    """Points around a void, with one more in it; all of them if they are few."""
    nobody = np.zeros((0, 2))
    void = emptiest(Crowd(points, nobody, site.raster), points, random=random)
    distance = np.hypot(*(points - void).T)
    if len(points) <= WHOLE:
        radius, places = np.inf, site.raster
    else:
        # small patches come to rest soon, large ones can shift rows: even on a scale of ratios, so
        # that neither kind crowds out the other
        radius = site.spacing * SMALLEST * (LARGEST / SMALLEST) ** random.random()
        places = site.raster[np.hypot(*(site.raster - void).T) <= radius]
    moving = np.flatnonzero(distance <= radius)
    # points farther out cannot be touched from inside the patch, and would only cost time
    held = np.flatnonzero((distance > radius) & (distance <= radius + 2 * site.spacing))
    crowd = Crowd(np.vstack([points[moving], void]), points[held], places)
    return _Patch(moving, held, crowd, np.inf, 0)


def _hopped(site: _Site, patches: list[_Patch], *, random: np.random.Generator) -> list[_Patch]:
    """Patches after one hop each; a new one is only shaken and pushed apart."""
    begin = [_begin(site, patch, random=random) for patch in patches]
    moved, energy = pushed([patch.crowd for patch in patches], begin, ground=site.ground)
    before = np.array([patch.energy for patch in patches])
    hopped = [replace(patch, hops=patch.hops + 1) for patch in patches]
    for index in kept(before, energy, random=random):
        patch = hopped[index]
        crowd = replace(patch.crowd, points=moved[index])
        hopped[index] = replace(patch, crowd=crowd, energy=float(energy[index]))
    return hopped


def _begin(site: _Site, patch: _Patch, *, random: np.random.Generator) -> Floats:
    """Where the points of a patch are pushed apart from."""
    if patch.hops > 0:
        return relocated(patch.crowd, site.spacing, random=random)
    start, sigma = patch.crowd.points, site.spacing * 0.02 * 20.0 ** random.random()
    shake = np.clip(random.normal(0.0, sigma, start.shape), -site.spacing, site.spacing)
    # the new point stays in its void: shaken out of it, it would begin in the thick of the others
    shake[-1] = 0.0
    return start + shake


def _replaced(site: _Site, points: Floats, *, patches: list[_Patch]) -> tuple[Floats, list[_Patch]]:
    """Packing with those patches put in that fit, and the patches around which nothing changed."""
    touched = np.zeros(len(points), dtype=bool)
    added: list[Floats] = []
    points = points.copy()
    left = []
    for patch in patches:
        # below this no point lies farther outside than the inset, four being the weight of a point
        # outside; how near points are to each other is measured when they are put in
        if patch.energy >= 4 * SLACK**2:
            left.append(patch)
        # two patches that share points were each worked out with the other's old ones: only the
        # first counts
        elif not touched[patch.moving].any() and _fits(site, points, patch=patch, added=added):
            points[patch.moving] = patch.crowd.points[:-1]
            touched[patch.moving] = True
            added.append(patch.crowd.points[-1:])
    # the energy of these was worked out beside points that have moved since
    left = [
        patch for patch in left if not (touched[patch.moving].any() or touched[patch.held].any())
    ]
    return np.vstack([points, *added]), left


def _fits(site: _Site, points: Floats, *, patch: _Patch, added: list[Floats]) -> bool:
    """Whether a patch's points are inside and keep the spacing to each other and to all others."""
    moved = patch.crowd.points
    if not shapely.intersects_xy(site.widened, moved).all():
        return False
    others = np.ones(len(points), dtype=bool)
    others[patch.moving] = False
    everyone = np.vstack([moved, points[others], *added])
    if len(everyone) < 2:
        return True
    gaps = np.asarray(cKDTree(everyone).query(moved, k=2)[0])
    return bool(gaps[:, 1].min() >= site.spacing - TOLERANCE / 2)
