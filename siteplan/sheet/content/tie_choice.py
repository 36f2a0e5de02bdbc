"""Which corners every stake is taped from: two of which the tapes are short and cross well."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import combinations
from typing import Final

import numpy as np
import numpy.typing as npt

from siteplan.sheet.content.ties import FLATTEST_DEG, TAPE_M, Array, Corner, Flags, Ground

MOST_CORNERS: Final = 40
"""Pairs grow with the square of the corners looked at."""
FLAT_DEG: Final = 45.0
"""Crossings flatter than this, or their supplement, are taken only for want of better ones:
there an error of the tapes grows to 2.6 times (1 / sin 22.5°) [deg]."""
FLAT, WET, FAR, NONE = 1, 2, 4, 8
"""What speaks against a pair: they are added up, and the lowest sum is taken."""
BURIED: Final = 0.25
"""What a property corner is worse than one of a building, which is seen; in lengths of tape."""

Pair = tuple[int, int]
Ranks = npt.NDArray[np.int64]


class TieBench:
    """Pairs of corners compared by how they tie the same targets.

    Attributes
    ----------
    pairs
        Numbers of both corners of each pair.
    rank
        What speaks against each pair at each target, shape (pairs, targets).
    cost
        How long and how flat its tapes are, for pairs of one rank.
    """

    def __init__(self, corners: Sequence[Corner], targets: Array, ground: Ground) -> None:
        places = np.array([corner.at for corner in corners]).reshape(-1, 2)
        near = _nearest(places, targets)
        self.corners = [corners[number] for number in near]
        places = places[near]
        away = targets[None] - places[:, None]
        self.reach: Array = np.hypot(away[..., 0], away[..., 1])
        self.clear: Flags = ground.clear(places[:, None], targets[None])
        wet = ground.wet(places[:, None], targets[None])
        self.pairs: list[Pair] = list(combinations(range(len(places)), 2))
        self.rank: Ranks = np.full((len(self.pairs), len(targets)), NONE)
        self.cost: Array = np.full(self.rank.shape, np.inf)
        if not self.pairs:
            return
        left, right = np.array(self.pairs).T
        course = away / np.maximum(self.reach, 1e-9)[..., None]
        angle = _angles(course[left], course[right])
        far = np.maximum(self.reach[left], self.reach[right])
        seen = self.clear[left] & self.clear[right] & (angle >= FLATTEST_DEG - 1e-9)
        # at a corner itself there is nothing to tape
        seen &= np.minimum(self.reach[left], self.reach[right]) > 1e-6
        # of long tapes the shorter ones serve best, even where they cross flatter
        flat = np.where(far > TAPE_M, FAR, FLAT * (angle < FLAT_DEG))
        against = flat + WET * (wet[left] | wet[right])
        self.rank = np.where(seen, against, NONE)
        buried = np.array([0.0 if corner.is_building else BURIED for corner in self.corners])
        spread = 0.5 / np.sin(np.radians(np.maximum(angle, 1.0)) / 2)
        self.cost = far / TAPE_M + spread + (buried[left] + buried[right])[:, None]

    def best(self) -> Ranks:
        """What speaks against the best pair at each target."""
        if not self.pairs:
            return np.full(self.rank.shape[1], NONE)
        ranks: Ranks = self.rank.min(axis=0)
        return ranks

    def best_cost(self) -> Array:
        """Cost of the cheapest of the best pairs at each target."""
        if not self.pairs:
            return np.full(self.rank.shape[1], np.inf)
        costs: Array = np.where(self.rank == self.best()[None], self.cost, np.inf).min(axis=0)
        return costs

    def chosen(self) -> list[Pair | None]:
        """The best pair for each target, the same for as many as can be; None where there is none.

        No target has a worse pair for the sake of others.
        """
        best = self.best()
        served: list[Pair | None] = [None] * len(best)
        left: Flags = best < NONE
        used: set[int] = set()
        while left.any():
            fits = (self.rank == best[None]) & left[None]
            number = max(range(len(self.pairs)), key=lambda k: self._worth(k, fits[k], used))
            for target in np.flatnonzero(fits[number]):
                served[int(target)] = self.pairs[number]
            used |= set(self.pairs[number])
            left = left & ~fits[number]
        return served

    def _worth(self, number: int, fits: Flags, used: set[int]) -> tuple[int, int, float]:
        count = int(fits.sum())
        if not count:
            return (0, 0, 0.0)
        # of equals the one with known corners, so that a man learns few of them
        known = len(used & set(self.pairs[number]))
        return (count, known, -round(float(self.cost[number][fits].mean()), 9))


def _nearest(places: Array, targets: Array) -> list[int]:
    """Numbers of the corners that are looked at, in their order: those nearest to any target."""
    if not len(places):
        return []
    away = np.hypot(*np.moveaxis(targets[None] - places[:, None], -1, 0)).min(axis=1)
    ranked = sorted(range(len(places)), key=lambda k: (round(float(away[k]), 6), k))
    return sorted(ranked[:MOST_CORNERS])


def _angles(first: Array, other: Array) -> Array:
    """Angle between lines of sight, or its supplement where that is smaller [deg]."""
    cross = np.abs(first[..., 0] * other[..., 1] - first[..., 1] * other[..., 0])
    dot = np.abs((first * other).sum(axis=-1))
    angles: Array = np.degrees(np.arctan2(cross, dot))
    return angles
