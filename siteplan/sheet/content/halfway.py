"""Pegs halfway: set first, so that what no two corners are near enough to is taped from them.

A crew does with a short tape what it cannot do with a long one: it sets a peg that it can tape, and
tapes the next from there. Every step adds what a tape is read or held off, so that few and well
crossing steps are looked for, and none are taken that would use up the staking allowance.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

import numpy as np
import shapely

from siteplan.geometry.boundary import Course
from siteplan.sheet.content.base_lines import FENCE_M, place_of
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.content.tie_choice import FLAT_DEG, Pair
from siteplan.sheet.content.ties import (
    END,
    FLATTEST_DEG,
    PEG,
    TAPE_M,
    Array,
    Corner,
    Ground,
    ground_of,
)
from siteplan.sheet.model import XY
from siteplan.site.model import Site
from siteplan.units.lengths import FOOT

HALFWAY: Final = "PEG"
"""Before the number of such a peg in its name; P alone and a number is a property corner."""
STEP_M: Final = 25 * FOOT
"""Between places that are looked at, at least [m]."""
MOST_PLACES: Final = 400
"""As many are looked at, about: on large lots they stand farther apart."""
MOST_SEEN: Final = 30
"""Points from which one place is taped, at most: pairs grow with their square."""
NEAREST_M: Final = 10 * FOOT
"""A shorter tape is no good base for the next [m]."""
MOST_OFF: Final = 2.5
"""Standard deviation of a peg, in those of one tape: three times as much of tapes that are read and
held within 0.1 ft (a standard deviation of 0.058 ft) is less than the usual staking allowance."""
ROUNDS: Final = 3
"""Pegs in a row that are tried, at most."""
LONG_COST: Final = 0.5
"""What a tape as long as is still taped well costs, in standard deviations of a reading."""

Places = Sequence[tuple[str, XY]]
Ends = tuple[Corner, Corner]


@dataclass(frozen=True, slots=True)
class Halfway:
    """Pegs halfway, and what is taped from them.

    Parameters
    ----------
    names
        The names of all pegs that are taped from, also of those of base lines.
    pegs
        Names and places of the pegs halfway.
    chosen
        By the name of a peg or stake the two points that it is taped from.
    on_sides
        Names of pegs that stand on the lot line between both points, at a station.
    """

    names: dict[Corner, str] = field(default_factory=dict)
    pegs: list[tuple[str, XY]] = field(default_factory=list)
    chosen: dict[str, Ends] = field(default_factory=dict)
    on_sides: set[str] = field(default_factory=set)

    def add(self, corner: Corner, ends: Ends, *, on_side: bool) -> None:
        """One more peg, taped from two points or set on the line between them."""
        name = self.names[corner] = f"{HALFWAY}{len(self.pegs) + 1}"
        self.pegs.append((name, corner.at))
        self.chosen[name] = ends
        if on_side:
            self.on_sides.add(name)


@dataclass(frozen=True, slots=True, eq=False)
class _Known:
    """A point that is known: from which two, and the spread that this leaves it (covariance)."""

    corner: Corner
    spread: Array
    pair: Pair | None = None
    on_side: bool = False


def halfway_pegs(
    bad: Places, pegs: Mapping[str, XY], corners: Sequence[Corner], site: Site
) -> Halfway:
    """Pegs from which stakes are taped that no two corners tie well; the nearest stakes first.

    Stakes that cannot be reached so are left out. The first ``pegs`` of base lines are taped from
    as well.
    """
    halfway = Halfway()
    if not bad:
        return halfway
    net = _Net(corners, site, ground_of(site))
    firsts = {name: at for name, at in pegs.items() if not name.endswith(END)}
    for name, at in firsts.items():
        if name not in dict(bad) and (known := net.reached(at, FLATTEST_DEG)):
            halfway.names[net.add(known)] = name
    for name, at in sorted(bad, key=lambda place: (round(net.away(place[1]), 3), place[0])):
        found = net.reached(at)
        while found is None and net.grow():
            found = net.reached(at)
        if found is None:
            continue
        for known in net.taken(found):
            halfway.add(known.corner, net.ends(known), on_side=known.on_side)
        halfway.chosen[name] = net.ends(found)
        if name in firsts:
            halfway.names[net.add(found)] = name
    return halfway


class _Net:
    """Corners, and places that pegs are taped to from them, round after round."""

    def __init__(self, corners: Sequence[Corner], site: Site, ground: Ground) -> None:
        self.points = [_Known(corner, np.zeros((2, 2))) for corner in corners]
        self.set = set(range(len(corners)))
        self.ground, self.rounds = ground, 0
        self.open = _open_places(site, ground)
        self.sides = list(_on_sides(site, corners, ground))
        self._count()

    def _count(self) -> None:
        """Places and spreads of what is known, and how many new pegs each takes."""
        self.places = np.array([point.corner.at for point in self.points]).reshape(-1, 2)
        self.spreads = np.array([point.spread for point in self.points]).reshape(-1, 2, 2)
        counts: list[int] = []
        for number, point in enumerate(self.points):
            first, other = point.pair or (0, 0)
            counts.append(0 if number in self.set else 1 + counts[first] + counts[other])
        self.counts = np.array(counts)

    def add(self, known: _Known) -> Corner:
        """One more point that is set whatever else is."""
        self.set.add(len(self.points))
        self.points.append(known)
        self._count()
        return known.corner

    def away(self, at: XY) -> float:
        """How far the nearest point is [m]."""
        return float(np.hypot(*(self.places - at).T).min())

    def ends(self, known: _Known) -> Ends:
        """The two points that a point is reached from."""
        first, other = known.pair or (0, 0)
        return self.points[first].corner, self.points[other].corner

    def taken(self, found: _Known) -> Iterator[_Known]:
        """Pegs that have to be set for a point, each behind those that it is reached from."""
        for number in found.pair or ():
            if number not in self.set:
                yield from self.taken(self.points[number])
                self.set.add(number)
                yield self.points[number]
        self._count()

    def grow(self) -> bool:
        """Whether another round of pegs is reached from what is known; they are known then."""
        if self.rounds == ROUNDS:
            return False
        self.rounds += 1
        found = [(at, self.reached(at)) for at in self.open]
        self.open = [at for at, known in found if known is None]
        more, self.sides = [known for _, known in found if known] + self.sides, []
        self.points += more
        self._count()
        return bool(more)

    def reached(self, at: XY, flattest_deg: float = FLAT_DEG) -> _Known | None:
        """A place taped from the best two points known; None where no two serve."""
        away = np.array(at) - self.places
        reach = np.hypot(*away.T)
        near = np.flatnonzero((reach >= NEAREST_M) & (reach <= TAPE_M))
        near = near[np.lexsort((reach[near], self.counts[near]))[:MOST_SEEN]]
        here = np.array(at)
        near = near[self.ground.clear(self.places[near], here)]
        near = near[~self.ground.wet(self.places[near], here)]
        sight = away[near] / reach[near][:, None]
        i, j = np.triu_indices(len(near), 1)
        cross = sight[i, 0] * sight[j, 1] - sight[i, 1] * sight[j, 0]
        crosses = np.abs(cross) >= math.sin(math.radians(flattest_deg)) - 1e-9
        i, j, cross = i[crosses], j[crosses], cross[crosses]
        if not len(i):
            return None
        read = 1.0 + np.einsum("ka,kab,kb->k", sight, self.spreads[near], sight)
        spreads = _crossed(sight[i], sight[j], read[i], read[j]) / (cross**2)[:, None, None]
        off = np.sqrt(np.linalg.eigvalsh(spreads)[:, -1])
        counts = self.counts[near][i] + self.counts[near][j]
        long = np.maximum(reach[near][i], reach[near][j]) / TAPE_M
        price = np.where(off <= MOST_OFF, np.round(counts + off + LONG_COST * long, 6), np.inf)
        best = int(np.argmin(price))
        if not np.isfinite(price[best]):
            return None
        pair = int(near[i[best]]), int(near[j[best]])
        return _Known(Corner(at, PEG, is_building=False), spreads[best], pair)


def _crossed(first: Array, other: Array, read: Array, read_other: Array) -> Array:
    """Spread of places where two tapes cross, times the square of the sine between them.

    ``first`` and ``other`` are unit vectors along the tapes, ``read`` the variances of these.
    """
    one = np.stack([other[:, 1], -other[:, 0]], axis=-1)
    two = np.stack([-first[:, 1], first[:, 0]], axis=-1)
    return np.asarray(
        read[:, None, None] * one[:, :, None] * one[:, None, :]
        + read_other[:, None, None] * two[:, :, None] * two[:, None, :]
    )


def _open_places(site: Site, ground: Ground) -> list[XY]:
    """Places all over the lot at which a peg may stand: off fences, walls, water, drainfields."""
    west, south, east, north = site.parcel.bounds
    step = max(STEP_M, math.sqrt(site.parcel.area / MOST_PLACES))
    x, y = np.meshgrid(
        np.arange(west + step / 2, east, step), np.arange(south + step / 2, north, step)
    )
    places = np.stack([x.ravel(), y.ravel()], axis=-1)
    spots = shapely.points(places)
    shut = ground.unfit(places, FENCE_M)
    for shape in (ground.walls, ground.water):
        shut |= shapely.dwithin(spots, shape, FENCE_M)
    return [place_of(place) for place in places[~shut]]


def _on_sides(site: Site, corners: Sequence[Corner], ground: Ground) -> Iterator[_Known]:
    """Pegs on straight lot lines seen from end to end, at stations from their nearer corner."""
    known = {corner.at: number for number, corner in enumerate(corners)}
    for side in sides_of(site.parcel):
        start, end = np.array(side.start), np.array(side.end)
        straight = isinstance(side, Course) and side.start in known and side.end in known
        if not straight or not ground.clear(start, end) or ground.wet(start, end):
            continue
        for first, last in ((side.start, side.end), (side.end, side.start)):
            long = math.dist(first, last)
            for way in np.arange(STEP_M, min(TAPE_M, long / 2) + 1e-6, STEP_M):
                at = place_of(np.array(first) + way / long * (np.array(last) - first))
                pair = known[first], known[last]
                yield _Known(Corner(at, PEG, is_building=False), np.eye(2), pair, on_side=True)
