"""How far a pipe runs from the nearest entry to places on the ground, around what is in its way."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from siteplan.geometry.memory import remembered
from siteplan.geometry.ways.routing import Prices, Region, region_of, route_graph
from siteplan.layout.model import Ground

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Ways:
    """The passable ground as seen from its entries.

    Parameters
    ----------
    region
        Passable ground.
    bends
        Places where a pipe may bend, the entries first [m].
    lengths
        Pipe length from the nearest entry to each [m].
    """

    region: Region
    bends: Floats
    lengths: Floats

    def at_least(self, points: Floats) -> Floats:
        """Pipe length from the nearest entry that no way to each point is below [m]."""
        return np.asarray(self._over_each(points).min(axis=1, initial=np.inf))

    def _over_each(self, points: Floats) -> Floats:
        """Pipe length to each point over each bend, whatever is in its way [m]."""
        steps = points[:, None, :] - self.bends[None, :, :]
        return np.asarray(np.hypot(steps[..., 0], steps[..., 1]) + self.lengths)

    def to(self, points: Floats) -> Floats:
        """Pipe length from the nearest entry to each point, infinite where there is no way [m]."""
        through = self._over_each(points)
        # the bends are tried from the shortest way up: the first one in sight is the best
        order = np.argsort(through, axis=1, kind="stable")
        ways = np.full(len(points), np.inf)
        open_, first, some = np.arange(len(points)), 0, 1
        # one bend at first, which mostly is in sight, and twice as many each time
        while open_.size and first < len(self.bends):
            bends = order[open_, first : first + some]
            seen = self._sees(bends, points[open_])
            best = np.argmax(seen, axis=1)
            found = seen.any(axis=1)
            ways[open_[found]] = through[open_[found], bends[found, best[found]]]
            open_, first, some = open_[~found], first + some, 2 * some
        return ways

    def _sees(self, bends: NDArray[np.intp], points: Floats) -> NDArray[np.bool_]:
        """Whether each point sees each of its bends: shape (points, bends)."""
        rows = np.repeat(np.arange(len(points)), bends.shape[1])
        pairs = np.stack([rows + len(self.bends), bends.ravel()], axis=1)
        seen = self.region.holds(np.concatenate([self.bends, points]), pairs)
        return seen.reshape(bends.shape)


@remembered
def ways_of(ground: Ground) -> Ways:
    """Ways from the entries of a ground."""
    region = region_of(ground.passable)
    entries = np.array([(entry.point.x, entry.point.y) for entry in ground.entries]).reshape(-1, 2)
    if len(entries) == 0:
        return Ways(region, entries, np.zeros(0))
    graph = route_graph(
        region,
        entries,
        prices=Prices(),
        helpers=np.zeros((0, 2)),
        helper_links=np.zeros((0, 2), dtype=np.intp),
    )
    costs, _ = graph.ways(range(len(entries)))
    nearest = costs.min(axis=0)
    # bends in parts of the ground that no entry opens to lead nowhere
    joined = np.isfinite(nearest)
    return Ways(region, graph.points[joined], nearest[joined])
