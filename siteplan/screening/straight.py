"""Rows across a straight header past the house: enough for a need on most lots, and soon found.

A header runs straight past a wall of the house, as far as its ground is free. Rows square to it
that it crosses hang on it, so that all of them are reached from one wall. What they hold is less
than what the lot holds; where it is enough, nothing else need be looked at.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening.capsules import Rows, Walls, free_on
from siteplan.screening.chunk import Chunk
from siteplan.screening.entries import housed, leaves_at
from siteplan.screening.held import SLACK, PlacedRows, Way, back
from siteplan.screening.keeping import Around, both
from siteplan.screening.machine import asks_the_way
from siteplan.screening.room import SURE_M
from siteplan.screening.rowed import Rowed, spacing_of, worth
from siteplan.screening.scan import Floats, Integers, Shapes, turned
from siteplan.screening.terms import ALL_ROUND, BORES, LOOPS, Distances, Terms
from siteplan.site.model import System

WAYS_OUT: Final = 4
"""Headers tried: past two walls along the longest side of the lot, and past two across it."""
FEW: Final = 3.0
"""Rows looked at first: of bores so many for each that is needed, of trench so many times the
length of the header as are needed."""
HAIR: Final = 1e-6
"""How much farther off a header lies than it must [m]."""


@dataclass(slots=True)
class Hung:
    """What hangs on a straight header of each lot.

    Parameters
    ----------
    amount
        Bores, or trench [m]; 0 where no header was found.
    header_m
        Along the header from the house to the nearest row [m]; NaN where not enough hangs on it.
    rows
        The rows of the lots that have enough.
    """

    amount: Floats
    header_m: Floats
    rows: Rowed


@dataclass(frozen=True, slots=True)
class _Headers:
    """Straight headers past houses: lot, direction of the rows, and where each runs [m].

    ``along``: where it crosses the rows. ``wall``: place across where it is nearest to the house.
    ``low``, ``high``: places across of its ends.
    """

    lot: Integers
    angle: Floats
    along: Floats
    wall: Floats
    low: Floats
    high: Floats

    def where(self, kept: NDArray[np.bool_]) -> _Headers:
        return _Headers(
            self.lot[kept], self.angle[kept], self.along[kept], self.wall[kept],
            self.low[kept], self.high[kept],
        )  # fmt: skip


def hung(
    things: Around, terms: Terms, enough: dict[System, float],
    lots: dict[System, NDArray[np.bool_]], angle: Floats,
) -> dict[System, Hung]:  # fmt: skip
    """What hangs on a straight header, looked for on some lots until it is enough.

    Where a street shows the machine's way in, which it must be able to drive, nothing is said.
    ``angle``: direction of a long side of each lot [rad].
    """
    chunk, header = things.chunk, terms.parts["header"]
    count = len(chunk)
    found = {
        name: Hung(np.zeros(count), np.full(count, np.nan), Rowed(terms, name)) for name in enough
    }
    walls = {
        name: things.off(both(terms.parts[LOOPS[name]], header)) for name in enough
    }  # fmt: skip
    known = housed(chunk)
    asked = {name: lots[name] & known & ~asks_the_way(chunk, terms, name) for name in enough}
    around = things.off(header)
    off_m = _off(header)
    for turn in range(WAYS_OUT):
        left = {name: asked[name] & np.isnan(found[name].header_m) for name in enough}
        open_ = np.flatnonzero(np.logical_or.reduce(list(left.values())))
        if not len(open_):
            break
        ways, corners = _headers(chunk, around, open_, angle[open_] + turn * np.pi / 2, off_m)
        ways = ways.where(leaves_at(chunk, header, ways.lot, corners))
        for name, least in enough.items():
            mine = ways.where(left[name][ways.lot])
            _hang(found[name], mine, walls[name], (terms, name, least))
    return found


def _hang(found: Hung, headers: _Headers, walls: Walls, asked: tuple[Terms, System, float]) -> None:
    """Hang rows on headers, and note those that hold enough; at first few rows, then all."""
    terms, system, enough = asked
    pitch = spacing_of(terms, system) * SLACK
    headers, rows = _rows(headers, walls, pitch)
    most = np.full(len(headers.lot), FEW * enough)
    if system != BORES:
        most = np.ceil(most / np.maximum(headers.high - headers.low, 1.0))
    few = _nearest(headers, rows, most)
    done = _hung_on(found, headers, few, walls, asked)
    if system != BORES:
        left = ~done & (few.count < rows.count)
        rest = Rows(rows.first[left], pitch, rows.count[left])
        _hung_on(found, headers.where(left), rest, walls, asked)


def _nearest(headers: _Headers, rows: Rows, most: Floats) -> Rows:
    """So many of the rows of each header, those nearest to the house."""
    skipped = np.round((headers.wall - rows.first) / rows.pitch - most / 2)
    skipped = np.clip(skipped, 0, np.maximum(rows.count - most, 0)).astype(np.int64)
    count = np.minimum(rows.count - skipped, most).astype(np.int64)
    return Rows(rows.first + skipped * rows.pitch, rows.pitch, count)


def _hung_on(
    found: Hung, headers: _Headers, rows: Rows, walls: Walls, asked: tuple[Terms, System, float]
) -> NDArray[np.bool_]:
    """Hang rows on headers, and note those that hold enough: these."""
    terms, system, enough = asked
    way = Way(0, rows.pitch)
    pieces = free_on(walls, headers.lot, headers.angle, rows)
    at = headers.along[pieces.family]
    pieces = pieces.where((pieces.start <= at) & (at <= pieces.end))
    value = worth(pieces, way, terms, system)
    held = np.bincount(pieces.family, weights=value, minlength=len(headers.lot))
    found.amount[headers.lot] = np.maximum(found.amount[headers.lot], held)
    done = held >= enough - 1e-9
    kept = pieces.where(done[pieces.family])
    placed = PlacedRows(kept, rows.first[kept.family] + kept.row * rows.pitch)
    angle = headers.angle[kept.family]
    away = np.full(len(headers.lot), np.inf)
    np.minimum.at(away, kept.family, np.abs(placed.across - headers.wall[kept.family]))
    found.header_m[headers.lot[done]] = away[done] + _off(terms.parts["header"])
    own = (way, placed, headers.lot[kept.family], angle)
    found.rows = found.rows.beside(Rowed(terms, system, (own,)))
    return done


def _off(header: Distances) -> float:
    """How far from the wall of the house a header runs [m]."""
    return header.things_m.get(ALL_ROUND, 0.0) + SURE_M + HAIR


def _headers(
    chunk: Chunk, walls: Walls, lots: Integers, angle: Floats, off_m: float
) -> tuple[_Headers, Floats]:
    """A straight header past each house, where its ground there is free, and its nearest corner."""
    along, wall = _farthest(chunk.house_shapes()[lots], angle)
    along += off_m
    # seen along the header: there it is a row, at minus its place along the rows
    line = Rows(-along, 1.0, np.ones(len(lots), dtype=np.int64))
    free = free_on(walls, lots, angle + np.pi / 2, line)
    at = wall[free.family]
    free = free.where((free.start <= at) & (at <= free.end))
    own = free.family
    headers = _Headers(lots[own], angle[own], along[own], wall[own], free.start, free.end)
    return headers, back(headers.along - off_m, headers.wall, headers.angle)


def _farthest(shapes: Shapes, angle: Floats) -> tuple[Floats, Floats]:
    """Corner of each shape that lies farthest along a direction: along it and across [m]."""
    points, which = shapely.get_coordinates(shapes, return_index=True)
    along, across = turned(points, angle, which)
    order = np.argsort(along, kind="stable")
    far = np.zeros((2, len(shapes)))
    far[:, which[order]] = along[order], across[order]
    return far[0], far[1]


def _rows(headers: _Headers, walls: Walls, pitch: float) -> tuple[_Headers, Rows]:
    """Rows that each header crosses, from where they have most room on it."""
    line = Rows(-headers.along, 1.0, np.ones(len(headers.lot), dtype=np.int64))
    room = free_on(walls, headers.lot, headers.angle + np.pi / 2, line)
    start = np.maximum(room.start, headers.low[room.family])
    end = np.minimum(room.end, headers.high[room.family])
    order = np.argsort(end - start, kind="stable")
    order = order[(end > start)[order]]
    begin = np.full(len(headers.lot), np.nan)
    begin[room.family[order]] = start[order] + HAIR
    good = np.isfinite(begin)
    headers, begin = headers.where(good), begin[good]
    first = begin - np.floor((begin - headers.low) / pitch) * pitch
    count = np.floor((headers.high - first) / pitch) + 1
    return headers, Rows(first, pitch, count.astype(np.int64))
