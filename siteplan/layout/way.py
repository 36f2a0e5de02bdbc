"""How far a pipe runs from the nearest entry to places on the ground, around what is in its way."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from siteplan.geometry.memory import remembered
from siteplan.geometry.ways.routing import Prices, Region, region_of, route_graph
from siteplan.layout.model import Ground
from siteplan.preferences.table import count_of

Floats = NDArray[np.float64]

MANY_BENDS: Final = count_of("layout.way.many_bends")
FIRST_TRIED: Final = count_of("layout.way.first_tried")
NEAREST_TRIED: Final = count_of("layout.way.nearest_tried")
MORE: Final = 4
"""So many times as many points are looked at as are asked for, and again."""
MOST_TOGETHER: Final = 4_000_000
"""Ways over a bend to a point looked at together, which bounds the memory taken."""


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
        """Pipe length from the nearest entry that no way to each point is below [m].

        On ground with very many corners not every pair is looked at: there one may be a little
        shorter.
        """
        return np.concatenate(
            [self._over_each(some).min(axis=1, initial=np.inf) for some in self._parts(points)]
        )

    def at_least_nearest(self, points: Floats, count: int) -> Floats:
        """What :meth:`at_least` gives of some points, so many nearest ones among them [m].

        Of all points of a large lot most are farther in a straight line than these over any bend.
        """
        straight = self.straight(points)
        order, taken = np.argsort(straight, kind="stable"), MORE * count
        while taken < len(points):
            ways = self.at_least(points[order[:taken]])
            if straight[order[taken]] >= np.partition(ways, count - 1)[count - 1]:
                return ways
            taken *= MORE
        return self.at_least(points)

    def straight(self, points: Floats) -> Floats:
        """Straight line from the nearest entry to each point, infinite without an entry [m]."""
        steps = points[:, None, :] - self.bends[None, self.lengths <= 0.0]
        return np.asarray(np.hypot(steps[..., 0], steps[..., 1]).min(axis=1, initial=np.inf))

    def _over_each(self, points: Floats) -> Floats:
        """Pipe length to each point over each bend, whatever is in its way [m]."""
        steps = points[:, None, :] - self.bends[None, :, :]
        return np.asarray(np.hypot(steps[..., 0], steps[..., 1]) + self.lengths)

    def _parts(self, points: Floats) -> list[Floats]:
        """The points in parts small enough for a table of bends for each."""
        size = max(MOST_TOGETHER // max(len(self.bends), 1), 1)
        return [points[first : first + size] for first in range(0, max(len(points), 1), size)]

    def to(self, points: Floats) -> Floats:
        """Pipe length from the nearest entry to each point, infinite where there is no way [m]."""
        return np.concatenate([self._to(some) for some in self._parts(points)])

    def _to(self, points: Floats) -> Floats:
        through = self._over_each(points)
        # the bends are tried from the shortest way up: the first one in sight is the best
        order = np.argsort(through, axis=1, kind="stable")
        if len(self.bends) <= MANY_BENDS:
            return self._over_first(points, order, through)
        ways = self._over_first(points, order[:, :FIRST_TRIED], through)
        # in a wood a place sees few bends but those around: hardly longer, and soon found
        gaps = through - self.lengths
        for bends in (np.argpartition(gaps, NEAREST_TRIED, axis=1)[:, :NEAREST_TRIED], order):
            left = np.flatnonzero(np.isinf(ways))
            near = np.take_along_axis(bends[left], _by_way(through[left], bends[left]), axis=1)
            ways[left] = self._over_first(points[left], near, through[left])
        return ways

    def _over_first(self, points: Floats, order: NDArray[np.intp], through: Floats) -> Floats:
        """Pipe length to each point over the first bend in sight, infinite where none is."""
        ways = np.full(len(points), np.inf)
        open_, first, some = np.arange(len(points)), 0, 1
        # one bend at first, which mostly is in sight, and twice as many each time
        while open_.size and first < order.shape[1]:
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


def _by_way(through: Floats, bends: NDArray[np.intp]) -> NDArray[np.intp]:
    """Order of some bends of each point by the way over them."""
    return np.argsort(np.take_along_axis(through, bends, axis=1), axis=1, kind="stable")


@remembered
def ways_of(ground: Ground) -> Ways:
    """Ways from the entries of a ground."""
    region = ground.memory.of(region_of, ground.passable, fine=False)
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
