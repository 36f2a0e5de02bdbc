"""The search for where a long body can be driven, through its poses: place and direction.

It goes in waves, forward and in reverse, straight on and along arcs of the turning radius. Places
and directions of the poses are exact; of all poses in one small cell with one direction a single
one is followed up. The body is covered by discs that reach beyond it, and is tested on a raster:
within one raster cell the answer may err.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.ways.raster import Raster, rastered
from siteplan.preferences.table import count_of, figure_of

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]

HEADINGS: Final = count_of("geometry.ways.poses.headings")
FINEST_PIXEL: Final = figure_of("geometry.ways.poses.finest_pixel")
MOST_PIXELS: Final = count_of("geometry.ways.poses.most_pixels")
LONG_EDGE: Final = figure_of("geometry.ways.poses.long_edge")
ALIKE_DEG: Final = figure_of("geometry.ways.poses.alike_deg")

Wave = Callable[..., tuple[Floats, Numbers, Numbers]]
_quick: list[Wave] = []


def search_by(wave: Wave) -> None:
    """Take loops for each wave of a search: they must find the same poses as arrays do."""
    _quick[:] = [wave]


@dataclass(frozen=True, slots=True)
class Vehicle:
    """A body that is driven, seen from above.

    Parameters
    ----------
    width, length
        Its sides [m].
    turning
        Radius on which the middle of its rear runs; 0: it turns on the spot [m].
    """

    width: float
    length: float
    turning: float


@dataclass(frozen=True, slots=True, eq=False)
class PoseSearch:
    """A body, the ground it is tested on and the moves it can make.

    ``ahead`` holds a unit vector for each direction; ``moves`` the step of each move in each
    direction, ``turns`` by how many directions each move turns; ``halfway`` the step and the
    direction in the middle of a move; ``radius`` of the discs [m].
    """

    fits: NDArray[np.bool_]
    fine: Raster
    cells: Raster
    discs: Floats
    ahead: Floats
    moves: Floats
    turns: Numbers
    halfway: Floats
    middle: Floats
    radius: float

    @staticmethod
    def of(free: BaseGeometry, vehicle: Vehicle, cells: Raster) -> PoseSearch:
        """Search over the poses of a body on free ground."""
        fine = Raster.over(free, FINEST_PIXEL, MOST_PIXELS)
        # four discs to a width reach beyond the sides by 1.5 % of it: sqrt(1 + 1/16) over 2, less
        # 1/2
        count = max(2, math.ceil(vehicle.length / vehicle.width * 4))
        part = vehicle.length / count
        radius = math.hypot(vehicle.width / 2, part / 2)
        fits = rastered(free.buffer(-radius, quad_segs=8), fine)
        angles = directions_of(free)
        # the diagonal of a cell: a shorter step may end in the cell it began in, and the search
        # would stand still
        step = 1.42 * cells.size
        moves, turns, halfway, middle = _moves(angles, vehicle, step)
        return PoseSearch(
            fits=fits,
            fine=fine,
            cells=cells,
            discs=_ends_first((np.arange(count) + 0.5) * part),
            ahead=_unit(angles),
            moves=moves,
            turns=turns,
            halfway=halfway,
            middle=middle,
            radius=radius,
        )

    def explore(
        self,
        gates: BaseGeometry,
        grounds: Sequence[BaseGeometry] = (),
        until: NDArray[np.bool_] | None = None,
    ) -> tuple[Floats, Numbers, Numbers]:
        """Every pose found, the pose it was reached from, and its cell and direction.

        Parameters
        ----------
        gates
            Where the rear may be at the start.
        grounds
            Grounds gone through before the rest, each within the next.
        until
            For each cell whether the search ends there; None: it goes on to the last pose.
        """
        seen = np.zeros(self.cells.count * HEADINGS, dtype=bool)
        first, total = self._starts(gates), 0
        layers: list[tuple[Floats, Numbers, Numbers, Numbers]] = []
        for search in (*(replace(self, fits=self._fits_on(ground)) for ground in grounds), self):
            new = ~seen[self._bin(*first)] & search._is_free(first[0], self.ahead[first[1]])
            spots, turned = first[0][new], first[1][new]
            layers.append((spots, turned, np.full(len(spots), -1), self._bin(spots, turned)))
            seen[layers[-1][3]] = True
            total += len(spots)
            # from every pose known: on wider ground more moves can be made from each
            spots, turned = (np.concatenate([layer[i] for layer in layers]) for i in (0, 1))
            numbers = np.arange(total)
            # in waves: the first pose in a cell has fewest moves behind it, so ways come out short
            while len(spots):
                spots, turned, origins = search._next(spots, turned, seen)
                bins = self._bin(spots, turned)
                seen[bins] = True
                layers.append((spots, turned, numbers[origins], bins))
                numbers, total = np.arange(total, total + len(spots)), total + len(spots)
                if until is not None and until[bins // HEADINGS].any():
                    return _one(layers)
        return _one(layers)

    def _fits_on(self, ground: BaseGeometry) -> NDArray[np.bool_]:
        """Where the middle of a disc may be on part of the ground."""
        return self.fits & rastered(ground.buffer(-self.radius, quad_segs=8), self.fine)

    def _starts(self, gates: BaseGeometry) -> tuple[Floats, Numbers]:
        middles = self.cells.middles()
        middles = middles[shapely.contains_xy(gates, middles[:, 0], middles[:, 1])]
        spots = np.repeat(middles, HEADINGS, axis=0)
        turned = np.tile(np.arange(HEADINGS, dtype=np.intp), len(middles))
        free = self._is_free(spots, self.ahead[turned])
        return spots[free], turned[free]

    def _next(
        self, spots: Floats, turned: Numbers, seen: NDArray[np.bool_]
    ) -> tuple[Floats, Numbers, Numbers]:
        """Poses one move on that are new, and the number of the pose each comes from."""
        if _quick:
            return _quick[0](
                (spots, turned), seen, (self.moves, self.turns, self.halfway, self.middle),
                (self.discs, self.ahead), (self.fits, self.fine.told), self.cells.told,
            )  # fmt: skip
        # all moves of all poses at once, those of one move after those of another
        on = (spots + self.moves[:, turned]).reshape(-1, 2)
        new = ((turned + self.turns[:, None]) % HEADINGS).ravel()
        index = np.flatnonzero(self.cells.holds(on))
        # what is known is dropped before the body is tested, which is the dear part
        index = index[~seen[self._bin(on[index], new[index])]]
        place, heading = on[index], new[index]
        move_of, origin = np.divmod(index, len(spots))
        free = np.flatnonzero(self._is_free(place, self.ahead[heading]))
        # after the test of the pose itself, which is cheaper to fail
        free = free[self._is_swept(spots[origin[free]], turned[origin[free]], move_of[free])]
        _, first = np.unique(self._bin(place[free], heading[free]), return_index=True)
        kept = free[first]
        return place[kept], heading[kept], origin[kept]

    def _is_swept(self, spots: Floats, turned: Numbers, moves: Numbers) -> NDArray[np.bool_]:
        """Whether bodies are on free ground in the middle of a turn; a straight move covers it."""
        free = self.turns[moves] == 0
        arcs = np.flatnonzero(~free)
        between = spots[arcs] + self.halfway[moves[arcs], turned[arcs]]
        free[arcs] = self._is_free(between, self.middle[moves[arcs], turned[arcs]])
        return np.asarray(free)

    def _bin(self, spots: Floats, turned: Numbers) -> Numbers:
        return self.cells.cell_of(spots) * HEADINGS + turned

    def _is_free(self, rears: Floats, ahead: Floats) -> NDArray[np.bool_]:
        """Whether bodies with their rear at places, pointing ahead, are on free ground."""
        kept = np.arange(len(rears))
        x, y, east, north = (np.ascontiguousarray(column) for column in (*rears.T, *ahead.T))
        # the ends of the body meet obstacles first: most poses that do not fit are gone after two
        # discs
        for discs in (self.discs[:1], self.discs[1:2], self.discs[2:]):
            along, across = x[:, None] + discs * east[:, None], y[:, None] + discs * north[:, None]
            on = np.flatnonzero(self.fine.look_up(self.fits, along, across).all(axis=1))
            kept, x, y, east, north = (column[on] for column in (kept, x, y, east, north))
        free = np.zeros(len(rears), dtype=bool)
        free[kept] = True
        return free


def _one(
    layers: Sequence[tuple[Floats, Numbers, Numbers, Numbers]],
) -> tuple[Floats, Numbers, Numbers]:
    """Places, origins and bins of all waves."""
    places, _, origins, bins = (np.concatenate(column) for column in zip(*layers, strict=True))
    return places, origins, bins


def _ends_first(discs: NDArray[np.floating[Any]]) -> Floats:
    """Places along a body, those farthest from its middle first."""
    order = np.argsort(-np.abs(discs - discs.mean()), kind="stable")
    return np.asarray(discs[order], dtype=np.float64)


def directions_of(free: BaseGeometry) -> Floats:
    """Angles of the directions a body may have, evenly spread but for those of long edges [rad]."""
    half = HEADINGS // 2
    even = np.arange(half) * math.pi / half
    angles, taken = even.copy(), np.zeros(half, dtype=bool)
    for angle in _edge_directions(free):
        place = round(angle / math.pi * half)
        turn = 0.0 if place < half else math.pi
        # the longest edges come first and keep their place; a body that cannot run along a long
        # side exactly loses a passage no wider than itself
        if not taken[place % half]:
            angles[place % half] = angle - turn
            taken[place % half] = True
    return np.concatenate([angles, angles + math.pi])


def _edge_directions(free: BaseGeometry) -> list[float]:
    """Directions of the ground's edges from 0 to pi, those with the most length first [rad]."""
    angles: list[list[float]] = []
    for ring in shapely.get_rings(shapely.get_parts(free)):
        steps = np.diff(shapely.get_coordinates(ring), axis=0)
        for (dx, dy), length in zip(steps, np.hypot(steps[:, 0], steps[:, 1]), strict=True):
            # arcs drawn with chords would fill all directions; a body runs along walls and drives
            if length < LONG_EDGE:
                continue
            angle = math.atan2(dy, dx) % math.pi
            same = [
                known for known in angles if _between(known[0], angle) < math.radians(ALIKE_DEG)
            ]
            if same:
                same[0][1] += length
            else:
                angles.append([angle, length])
    return [angle for angle, _ in sorted(angles, key=lambda pair: -pair[1])]


def _between(first: float, second: float) -> float:
    apart = abs(first - second) % math.pi
    return min(apart, math.pi - apart)


def _unit(angles: Floats) -> Floats:
    return np.stack([np.cos(angles), np.sin(angles)], axis=-1)


def _moves(angles: Floats, vehicle: Vehicle, step: float) -> tuple[Floats, Numbers, Floats, Floats]:
    """Steps of all moves by direction, their turns, and step and direction halfway."""
    ahead = _unit(angles)
    moves, turns = [step * ahead, -step * ahead], [0, 0]
    halfway, middle = [step / 2 * ahead, -step / 2 * ahead], [ahead, ahead]
    for turn in (1, -1):
        rise = (np.roll(angles, -turn) - angles + math.pi) % math.tau - math.pi
        # on the spot there is no other circle to turn on
        for sign in (1.0, -1.0) if vehicle.turning > 0 else (1.0,):
            ways = [_turned(angles, share * rise, vehicle, sign) for share in (1.0, 0.5)]
            moves.append(ways[0])
            halfway.append(ways[1])
            middle.append(_unit(angles + rise / 2))
            turns.append(turn)
    kinds = np.array(turns, dtype=np.intp)
    return np.stack(moves), kinds, np.stack(halfway), np.stack(middle)


def _turned(angles: Floats, rise: Floats, vehicle: Vehicle, sign: float) -> Floats:
    """How far the rear moves while the direction changes; ``sign`` -1 on the other circle."""
    if vehicle.turning == 0:  # about the middle of the body
        return vehicle.length / 2 * (_unit(angles) - _unit(angles + rise))
    left = _unit(angles + math.pi / 2) - _unit(angles + rise + math.pi / 2)
    return sign * vehicle.turning * left
