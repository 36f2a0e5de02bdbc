"""Which ground of many lots a header surely gets to from one wall of the house.

Rows a step apart are cut by what keeps half a step more than a header must. So all within half a
step of such a piece is ground for a header, and two pieces beside one another that overlap are
joined by ground for it. What hangs together and comes up to the house is reached from there.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components

from siteplan.screening.capsules import (
    Rows,
    Walls,
    before,
    begin_of,
    covered,
    free_on,
    number_of,
    steps,
)
from siteplan.screening.chunk import Chunk
from siteplan.screening.entries import clear_walls, leaves_at
from siteplan.screening.held import back
from siteplan.screening.keeping import Around, extent
from siteplan.screening.scan import Floats, Integers, Spans
from siteplan.screening.terms import Distances

STEP_M: Final = 2.0
"""From row to row [m]."""
FINE_M: Final = 0.5
"""The same where some of what lies on rows is not reached by the others [m]."""
ASKED: Final = (0.0, 0.5, 1.0)
"""Where along a piece of a row it is asked whether a header gets to it, as shares of its length."""


@dataclass(frozen=True, slots=True)
class Ground:
    """Ground of each lot that a header gets to from one wall of its house.

    Parameters
    ----------
    angles
        Directions to lay rows in on each lot; those of the ground run along the first [rad].
    rows
        The rows, a family for each lot.
    pieces
        What of them is joined to the house.
    begin
        Which piece is the first on each row, over all, and at the end how many there are.
    """

    angles: Floats
    rows: Rows
    pieces: Spans
    begin: Integers

    def reaches(
        self, lots: Integers, angle: Floats, spans: Spans, across: Floats
    ) -> NDArray[np.bool_]:
        """Which pieces of rows come within half a step of it somewhere.

        Parameters
        ----------
        lots, angle, across
            Lot of each piece, direction of the rows on each lot [rad], place across it of each
            piece [m].
        spans
            The pieces.
        """
        found = np.zeros(len(lots), dtype=bool)
        back = angle - self.angles[:, 0]
        cosine, sine = np.cos(back)[lots], np.sin(back)[lots]
        for share in ASKED:
            left = np.flatnonzero(~found)
            along = spans.start[left] + share * spans.length[left]
            u = along * cosine[left] - across[left] * sine[left]
            v = along * sine[left] + across[left] * cosine[left]
            found[left] = self._on(lots[left], u, v)
        return found

    def _on(self, lots: Integers, u: Floats, v: Floats) -> NDArray[np.bool_]:
        """Whether places, along and across the rows, lie beside a piece of the nearest row."""
        row = np.round((v - self.rows.first[lots]) / self.rows.pitch).astype(np.int64)
        inside = (row >= 0) & (row < self.rows.count[lots])
        asked = (before(self.rows)[lots] + row)[inside]
        first = self.begin[asked]
        each = self.begin[asked + 1] - first
        piece, place = steps(first, each), np.repeat(np.flatnonzero(inside), each)
        met = (self.pieces.start[piece] <= u[place]) & (u[place] <= self.pieces.end[piece])
        found = np.zeros(len(lots), dtype=bool)
        found[place[met]] = True
        return found


def ground_of(around: Around, header: Distances, angles: Floats, step_m: float = STEP_M) -> Ground:
    """Ground of each lot that a header gets to; none where there is no house."""
    chunk, walls = around.chunk, around.off(header, step_m / 2)
    lots = np.arange(len(chunk))
    angle = angles[:, 0]
    rows = rows_across(walls, angle, step_m)
    pieces = free_on(walls, lots, angle, rows)
    ends = _at_house(chunk, walls, angle, rows, pieces)
    at_house = _left_by(chunk, header, (rows, pieces, angle), ends)
    pieces = pieces.where(_from_the_house(chunk, rows, pieces, at_house))
    return Ground(angles, rows, pieces, begin_of(pieces, rows))


def rows_across(walls: Walls, angle: Floats, step_m: float) -> Rows:
    """Rows a step apart on each lot, between what its sides keep."""
    sides = walls.where(walls.body == -1)
    low, high = extent(sides, angle)
    away = sides.away[np.flatnonzero(np.diff(sides.owner, prepend=-1))]
    low, high = low + away, high - away
    count = np.maximum(np.floor((high - low) / step_m) + 1, 0)
    # as much room below the first as above the last
    return Rows(low + (high - low - (count - 1) * step_m) / 2, step_m, count.astype(np.int64))


def _from_the_house(
    chunk: Chunk, rows: Rows, pieces: Spans, at_house: NDArray[np.bool_]
) -> NDArray[np.bool_]:
    """Pieces that hang together with one beside the house: of several such grounds the longest."""
    ground = together(rows, pieces)
    count = int(ground.max(initial=-1)) + 1
    size = np.bincount(ground, weights=pieces.length, minlength=count)
    near = np.zeros(count, dtype=bool)
    near[ground[at_house]] = True
    lot = np.zeros(count, dtype=np.int64)
    lot[ground] = pieces.family
    order = np.argsort(size, kind="stable")
    order = order[near[order]]
    largest = np.full(len(chunk), -1)
    largest[lot[order]] = order
    return np.asarray(largest[pieces.family] == ground)


def together(rows: Rows, pieces: Spans) -> Integers:
    """Number of the ground that each piece belongs to: pieces beside one another overlap."""
    key = number_of(pieces, rows)
    last = pieces.row >= rows.count[pieces.family] - 1
    begin = np.append(begin_of(pieces, rows), len(key))
    first = begin[key + 1]
    each = np.where(last, 0, begin[key + 2] - first)
    other, one = steps(first, each), np.repeat(np.arange(len(key)), each)
    joined = (pieces.start[one] <= pieces.end[other]) & (pieces.start[other] <= pieces.end[one])
    one, other = one[joined], other[joined]
    links = coo_array((np.ones(len(one), dtype=bool), (one, other)), shape=(len(key), len(key)))
    return np.asarray(connected_components(links, directed=False)[1], dtype=np.int64)


Marked = NDArray[np.bool_]


def _at_house(
    chunk: Chunk, walls: Walls, angle: Floats, rows: Rows, pieces: Spans
) -> tuple[Marked, Marked]:
    """Pieces that start, and those that end, beside the house, where only it stops them.

    From such an end the way to the nearest wall keeps what a header keeps from all else, where
    nothing stands at that.
    """
    own = walls.where((walls.body >= 0) & (walls.thing == chunk.houses[walls.owner]))
    row, low, high = covered(own.turned(angle), rows)
    met = low <= high
    # one house a lot: one piece taken of a row
    taken = np.full((2, int(rows.count.sum())), np.nan)
    taken[:, row[met]] = low[met], high[met]
    key = number_of(pieces, rows)
    return pieces.start == taken[1, key], pieces.end == taken[0, key]


def _left_by(
    chunk: Chunk, header: Distances, laid: tuple[Rows, Spans, Floats], at: tuple[Marked, Marked]
) -> Marked:
    """Pieces by which a header leaves the house: nothing stands at the wall where they end.

    ``laid``: rows, their pieces, and the direction of each lot's [rad]. ``at``: pieces that start,
    and those that end, beside the house.
    """
    rows, pieces, angle = laid
    clear, houses = clear_walls(chunk, header)[pieces.family], chunk.house_shapes()
    found = clear & (at[0] | at[1])
    for beside, along in zip(at, (pieces.start, pieces.end), strict=True):
        asked = np.flatnonzero(beside & ~clear)
        lots = pieces.family[asked]
        across = rows.first[lots] + pieces.row[asked] * rows.pitch
        ends = shapely.points(back(along[asked], across, angle[lots]))
        ways = shapely.get_coordinates(shapely.shortest_line(houses[lots], ends))
        found[asked] |= leaves_at(chunk, header, lots, ways[::2])
    return found
