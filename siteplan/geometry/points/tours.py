"""A short way through all points, each visited once: the order in which they are staked."""

from __future__ import annotations

from typing import Final

import numpy as np

from siteplan.geometry.points.scanline import Floats, Integers
from siteplan.preferences.table import count_of

PASSES: Final = count_of("geometry.points.tours.passes")
GAIN: Final = 2e-6
"""Gain below which a change is rounding [m2]."""


def short_tour(points: Floats, *, start: int) -> Integers:
    """Order of points along a short way from a first one: no leg crosses another.

    The nearest point not yet visited comes next; then stretches are turned round and single points
    visited elsewhere as long as that lessens the sum of the squared legs, so that no leg stays
    long. A good way, not a proven shortest one.

    Examples
    --------
    >>> short_tour(np.array([[0.0, 0.0], [2.0, 0.0], [1.0, 0.0], [3.0, 0.0]]), start=0)
    array([0, 2, 1, 3])
    """
    order = _nearest_next(points, start)
    for _ in range(PASSES):
        # turning takes out crossings, moving takes single points left behind: each opens gains for
        # the other
        turned = _turned_round(points, order)
        moved = _moved_elsewhere(points, order)
        if not (turned or moved):
            break
    return order


def _nearest_next(points: Floats, start: int) -> Integers:
    order = [start]
    open_ = np.ones(len(points), dtype=bool)
    open_[start] = False
    while open_.any():
        # rounded, so that of equally near points the first one is taken wherever the lot lies
        squared = np.round(_squared(points[order[-1]], points), 6)
        order.append(int(np.argmin(np.where(open_, squared, np.inf))))
        open_[order[-1]] = False
    return np.array(order, dtype=np.int64)


def _turned_round(points: Floats, order: Integers) -> bool:
    """Whether any stretch was turned round; ``order`` is changed in place."""
    changed = False
    for before in range(len(order) - 2):
        way = points[order]
        first, last = way[before + 1], way[before + 2 :]
        onward = np.append(_squared(last[:-1], last[1:]), 0.0)
        onward_turned = np.append(_squared(first, last[1:]), 0.0)
        gain = _squared(way[before], first) + onward - _squared(way[before], last) - onward_turned
        # rounded, so that of equal gains the first is taken wherever the lot lies
        best = int(np.argmax(np.round(gain, 6)))
        if gain[best] > GAIN:
            stretch = slice(before + 1, before + best + 3)
            order[stretch] = order[stretch][::-1].copy()
            changed = True
    return changed


def _moved_elsewhere(points: Floats, order: Integers) -> bool:
    """Whether any point was visited between two others; ``order`` is changed in place."""
    changed = False
    for at in range(1, len(order)):
        spot, rest = order[at], np.delete(order, at)
        way = points[rest]
        legs = _squared(way[:-1], way[1:])
        to_spot = _squared(points[spot], way)
        # put in after each of the others; after the last one no leg is lost
        cost = to_spot + np.append(to_spot[1:] - legs, 0.0)
        best = int(np.argmin(np.round(cost, 6)))
        if cost[best] < cost[at - 1] - GAIN:
            order[:] = np.insert(rest, best + 1, spot)
            changed = True
    return changed


def _squared(spots: Floats, other: Floats) -> Floats:
    step = spots - other
    return np.asarray((step * step).sum(axis=-1))
