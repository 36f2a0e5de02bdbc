"""Rows to which a machine surely gets from the street, told without making an area.

The same disc as in ``machine.py``, found as ground for a header is found: rows a step apart are cut
by what keeps half a step more than the disc needs. All within half a step of such a piece is ground
for the middle of the disc, and two pieces beside one another that overlap are joined by such
ground. What hangs together and comes up to a side along a street is reached from there, and what
lies so near it that the machine works there.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening.backing import strips_of
from siteplan.screening.capsules import (
    Rows,
    Walls,
    before,
    begin_of,
    free_on,
    number_of,
    steps,
    taken_of,
)
from siteplan.screening.chunk import Chunk
from siteplan.screening.frontages import SLACK_M, Gates, Sides, gates_of, sides_of, solid, ways_in
from siteplan.screening.held import SLACK, PlacedRows, Way, back, places_on
from siteplan.screening.joined import rows_across, together
from siteplan.screening.keeping import Around, around, both
from siteplan.screening.machine import asks_the_way, disc_of
from siteplan.screening.room import SURE_M
from siteplan.screening.rowed import Rowed, spacing_of, worth
from siteplan.screening.scan import Floats, Integers, Shapes, Spans, turned
from siteplan.screening.spread import Spread
from siteplan.screening.terms import BORES, LOOPS, Terms
from siteplan.site.loop_options import machine_of
from siteplan.site.machines import ExcavatorOptions, Machine
from siteplan.site.model import System

STEP_M: Final = 1.0
"""From row to row of the ground that the disc gets about on [m]."""
ASKED_M: Final = 2.0
"""How far apart places on a row are at which it is asked whether a machine gets there [m]."""
BLOCK: Final = 50_000
"""Places looked at at once: all of a part would take much memory."""
HAIR: Final = 1e-6
"""How near the end of a piece lies to what stops it, and by how much a stretch is longer than from
its first place to its last, so that rounding takes none of them [m]."""


@dataclass(frozen=True, slots=True)
class _Band:
    """Pieces of rows, and all that lies so near to them that the machine works there.

    Parameters
    ----------
    rows, pieces, begin
        The rows, a family for each lot, what of them is reached, and which piece is the first on
        each row, over all, and at the end how many there are.
    beyond_m
        How far beyond ground half a step beside a piece the machine surely works [m].
    """

    rows: Rows
    pieces: Spans
    begin: Integers
    beyond_m: float = 0.0

    def holds(self, lots: Integers, along: Floats, across: Floats) -> NDArray[np.bool_]:
        """Which places, each on one of the lots, lie near enough."""
        found = np.zeros(len(lots), dtype=bool)
        nearest = np.round((across - self.rows.first[lots]) / self.rows.pitch).astype(np.int64)
        far = math.ceil(self.beyond_m / self.rows.pitch)
        for shift in sorted(range(-far, far + 1), key=abs):
            left = np.flatnonzero(~found)
            row = nearest[left] + shift
            off = np.abs(across[left] - self.rows.first[lots[left]] - row * self.rows.pitch)
            off = np.maximum(off - self.rows.pitch / 2, 0.0)
            near = (off <= self.beyond_m) & (row >= 0) & (row < self.rows.count[lots[left]])
            left, row, off = left[near], row[near], off[near]
            room = np.sqrt(self.beyond_m**2 - off**2)
            asked = before(self.rows)[lots[left]] + row
            first = self.begin[asked]
            each = self.begin[asked + 1] - first
            piece, place = steps(first, each), np.repeat(np.arange(len(left)), each)
            u, half = along[left][place], room[place]
            met = self.pieces.start[piece] - half <= u
            met &= u <= self.pieces.end[piece] + half
            found[left[place[met]]] = True
        return found


@dataclass(frozen=True, slots=True)
class Driven:
    """Where a machine gets to on each lot.

    Parameters
    ----------
    angle
        Way in from the street on each lot [rad], along which the rows of its ground run.
    bands
        Ground that its disc gets about on, and strips that it backs in on.
    narrow
        Shapes that nothing is dug so near to, the lot of each, rising, and how near [m].
    """

    angle: Floats
    bands: tuple[_Band, ...]
    narrow: tuple[Shapes, Integers, Floats]

    def works_at(self, lots: Integers, places: Floats) -> NDArray[np.bool_]:
        """At which places, each on one of the lots, the machine surely works."""
        found = np.zeros(len(lots), dtype=bool)
        for begin in range(0, len(lots), BLOCK):
            some = slice(begin, begin + BLOCK)
            own, (along, across) = lots[some], turned(places[some], self.angle[lots[some]])
            for band in self.bands:
                left = np.flatnonzero(~found[some])
                found[begin + left] = band.holds(own[left], along[left], across[left])
        return found

    def left_of(self, laid: Spread, terms: Terms, system: System) -> Spread:
        """What of rows laid out the machine surely works at."""
        count, found = len(laid.amount), []
        amount = np.zeros(count)
        for way, placed, lots, angle in laid.rows.pieces:
            asked = _asked(placed.spans, way, terms, system)
            spans, kept = self._stretches(placed, lots, angle, asked)
            clear = self._clear(spans, placed.across[kept], lots[kept], angle[kept])
            spans, kept = spans.where(clear), kept[clear]
            own = lots[kept]
            amount += np.bincount(own, weights=worth(spans, way, terms, system), minlength=count)
            found.append((way, PlacedRows(spans, placed.across[kept]), own, angle[kept]))
        lost = laid.lost + laid.amount - amount
        return Spread(amount, lost, Rowed(terms, system, tuple(found)))

    def _stretches(
        self, placed: PlacedRows, lots: Integers, angle: Floats, asked: tuple[Integers, Floats]
    ) -> tuple[Spans, Integers]:
        """Stretches of pieces at all places of which that are asked the machine works.

        ``asked``: number of the piece of each place, and where along it that is [m]. Returned with
        the number of the piece of each.
        """
        piece, along = asked
        places = back(along, placed.across[piece], angle[piece])
        free = self.works_at(lots[piece], places)
        # a stretch begins where the place before is none, or of another piece
        fresh = free.copy()
        fresh[1:] &= (piece[1:] != piece[:-1]) | ~free[:-1]
        first = np.flatnonzero(fresh)
        each = np.bincount((np.cumsum(fresh) - 1)[free], minlength=len(first))
        spans, kept = placed.spans, piece[first]
        ends = along[first] - HAIR, along[first + each - 1] + HAIR
        return Spans(spans.family[kept], spans.row[kept], *ends), kept

    def _clear(
        self, spans: Spans, across: Floats, lots: Integers, angle: Floats
    ) -> NDArray[np.bool_]:
        """Which pieces of rows are so far from all that nothing is dug near to."""
        shapes, owner, away = self.narrow
        first = np.searchsorted(owner, lots, side="left")
        each = np.searchsorted(owner, lots, side="right") - first
        thing, piece = steps(first, each), np.repeat(np.arange(len(lots)), each)
        ends = [
            back(place[piece], across[piece], angle[piece]) for place in (spans.start, spans.end)
        ]
        lines = np.asarray(shapely.linestrings(np.stack(ends, axis=1)))
        found = np.ones(len(lots), dtype=bool)
        found[piece[shapely.distance(lines, shapes[thing]) < away[thing]]] = False
        return found


def _asked(spans: Spans, way: Way, terms: Terms, system: System) -> tuple[Integers, Floats]:
    """Places on pieces of rows at which it is asked whether a machine gets there.

    Those of all bores; of a trench both ends, and so many between that what lies between two of
    them is reached as well. Number of the piece of each, and where along it that is [m].
    """
    if system == BORES:
        first, count = places_on(spans, way, spacing_of(terms, system))
        each, step = count.astype(np.int64), np.full(len(first), spacing_of(terms, system) * SLACK)
    else:
        each = np.maximum(np.ceil(spans.length / ASKED_M), 1).astype(np.int64) + 1
        first, step = spans.start, spans.length / (each - 1)
    piece = np.repeat(np.arange(len(each)), each)
    return piece, first[piece] + steps(np.zeros(len(each), dtype=np.int64), each) * step[piece]


@dataclass(frozen=True, slots=True)
class WaysIn:
    """Where the machine of each loop type gets to, on the lots where its way in is asked."""

    terms: Terms
    found: dict[System, tuple[Integers, Driven]]

    def left_of(self, laid: Spread, system: System) -> Spread:
        """What of rows laid out the machine of a loop type surely works at."""
        if system not in self.found:
            return laid
        lots, ground = self.found[system]
        number = np.full(len(laid.amount), -1)
        number[lots] = np.arange(len(lots))
        mine = Spread(laid.amount[lots], laid.lost[lots], laid.rows.of(number >= 0, number))
        return laid.instead(lots, ground.left_of(mine, self.terms, system))


def ways_in_on(chunk: Chunk, terms: Terms, systems: tuple[System, ...] = tuple(LOOPS)) -> WaysIn:
    """Where the machines of loop types get to on many lots."""
    found, shared = {}, dict[bytes, tuple[Around, Sides]]()
    for system in systems:
        machine = machine_of(terms.exchanger, system)
        lots = np.flatnonzero(asks_the_way(chunk, terms, system))
        if machine is None or not len(lots):
            continue
        # most machines are asked of on the same lots
        key = lots.tobytes()
        if key not in shared:
            near = around(chunk.only(lots))
            shared[key] = near, sides_of(near.chunk)
        found[system] = lots, driven(*shared[key], terms, machine)
    return WaysIn(terms, found)


def driven(near: Around, sides: Sides, terms: Terms, machine: Machine) -> Driven:
    """Where a machine gets to on each lot."""
    chunk, (lots, ahead) = near.chunk, ways_in(sides)
    angle = np.zeros(len(chunk))
    angle[lots] = ahead
    bands = [_disc_band(near, sides, machine, angle)] if not machine.gates else []
    if bands and not isinstance(machine, ExcavatorOptions):
        bands.append(_strip_band(chunk, sides, machine))
    things, away = _narrow(chunk, terms, machine)
    return Driven(angle, tuple(bands), (chunk.things[things], chunk.owner[things], away))


def _disc_band(near: Around, sides: Sides, machine: Machine, angle: Floats) -> _Band:
    """Ground on which the disc of a machine gets about on each lot."""
    disc = disc_of(machine)
    walls = _off(near, disc.radius_m + SURE_M + STEP_M / 2)
    rows = rows_across(walls, angle, STEP_M)
    pieces = free_on(walls, np.arange(len(near.chunk)), angle, rows)
    gates = gates_of(sides, disc.radius_m + SLACK_M)
    ground = together(rows, pieces)
    open_ = np.zeros(int(ground.max(initial=-1)) + 1, dtype=bool)
    open_[ground[_at_gates(walls, gates, angle, (rows, pieces))]] = True
    pieces = pieces.where(open_[ground])
    # half a step less than the disc works beyond: so much may lie between two places asked
    beyond_m = math.sqrt(max(disc.beyond_m**2 - (ASKED_M / 2) ** 2, 0.0))
    return _Band(rows, pieces, begin_of(pieces, rows), beyond_m)


def _strip_band(chunk: Chunk, sides: Sides, machine: Machine) -> _Band:
    """Strips that a machine backs in on, all of them straight."""
    strips = strips_of(chunk, sides, machine)
    lots, own = strips.lots, strips.rows
    first, count = np.zeros(len(chunk)), np.zeros(len(chunk), dtype=np.int64)
    first[lots], count[lots] = own.first, own.count
    rows = Rows(first, own.pitch, count)
    pieces = replace(strips.pieces, family=lots[strips.pieces.family])
    return _Band(rows, pieces, begin_of(pieces, rows))


def _narrow(chunk: Chunk, terms: Terms, machine: Machine) -> tuple[Integers, Floats]:
    """Things that a trench may lie nearer to than its bucket needs free, and how much it needs [m].

    A rig is asked of the ground that it stands on alone.
    """
    if not isinstance(machine, ExcavatorOptions):
        return np.zeros(0, dtype=np.int64), np.zeros(0)
    kept = both(terms.parts["trench"], terms.parts["header"]).things_m
    kinds, which = np.unique(chunk.kinds, return_inverse=True)
    asked = np.array([kept.get(str(kind), 0.0) for kind in kinds])[which]
    around = solid(chunk)
    things = np.flatnonzero((around >= 0) & (around + SLACK_M / 2 > asked))
    return things, around[things] + SLACK_M / 2


def _off(near: Around, away_m: float) -> Walls:
    """All that the disc keeps off: sides of the lot, and what a machine does not drive over."""
    walls, kept = near.walls, np.append(solid(near.chunk), 0.0)[near.walls.thing]
    return replace(walls, away=kept + away_m).where(kept >= 0)


def _at_gates(
    walls: Walls, gates: Gates, angle: Floats, laid: tuple[Rows, Spans]
) -> NDArray[np.bool_]:
    """Pieces that begin where a side along a street alone stops them: over it the machine comes in.

    From there to that side nothing else is so near that the disc would meet it.
    """
    rows, pieces = laid
    sides = gates.sides
    away = walls.away[np.searchsorted(walls.owner, sides.owner)]
    number = np.arange(len(sides.owner), dtype=np.int64)
    none = np.full(len(number), -1, dtype=np.int64)
    lines = Walls(sides.starts, sides.ends, sides.owner, away, none, number)
    row, _, high, _, side = taken_of(lines.turned(angle), rows, number)
    # every piece of the row that begins there
    key = number_of(pieces, rows)
    first = np.searchsorted(key, row, side="left")
    each = np.searchsorted(key, row, side="right") - first
    piece, met = steps(first, each), np.repeat(np.arange(len(row)), each)
    begins = np.abs(pieces.start[piece] - high[met]) < HAIR
    piece, side = piece[begins], side[met[begins]]
    lots = pieces.family[piece]
    across = rows.first[lots] + pieces.row[piece] * rows.pitch
    place = back(pieces.start[piece], across, angle[lots])
    along = ((place - sides.starts[side]) * sides.along[side]).sum(axis=1)
    found = np.zeros(len(key), dtype=bool)
    found[piece[(along >= gates.low[side]) & (along <= gates.high[side])]] = True
    return found
