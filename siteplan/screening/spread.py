"""Rows on all the ground of many lots, reached from one wall of the house: no area is widened.

Rows are cut by what walls take of them (``capsules.py``). Of what lies on them only that counts
which a header gets to (``joined.py``); where some is not reached, what is held may be told short.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from siteplan.screening.capsules import Rows, Walls, free_on
from siteplan.screening.chunk import Chunk
from siteplan.screening.held import PlacedRows, Way, back, bore_ways, trench_ways
from siteplan.screening.joined import FINE_M, Ground, ground_of
from siteplan.screening.keeping import Around, both, extent
from siteplan.screening.keeping import around as things_around
from siteplan.screening.rowed import Rowed, spacing_of, worth
from siteplan.screening.scan import Floats, Integers, Spans, turned
from siteplan.screening.terms import BORES, LOOPS, Terms
from siteplan.site.model import System

HAIR: Final = 1e-6
"""How much farther off the outermost row lies than it must [m]."""
OFFSETS: Final = 2
"""Places of the rows tried for each way: from the lowest on the lot, to the highest."""


@dataclass(frozen=True, slots=True)
class Spread:
    """What rows hold on each lot, all of it reached from one wall of the house.

    Parameters
    ----------
    amount
        Bores, or trench [m].
    lost
        What lies on the same rows, and is not reached.
    rows
        The rows.
    """

    amount: Floats
    lost: Floats
    rows: Rowed

    def better(self, lots: Integers, others: Spread) -> Spread:
        """The same, of some of the lots the others where these hold more."""
        more = others.amount > self.amount[lots]
        amount, lost, kept = self.amount.copy(), self.lost.copy(), np.ones(len(self.lost), bool)
        amount[lots[more]], lost[lots[more]] = others.amount[more], others.lost[more]
        kept[lots[more]] = False
        return Spread(amount, lost, self.rows.of(kept).beside(others.rows.of(more, lots)))

    def nearest(self, chunk: Chunk) -> Floats:
        """From the house of each lot to the nearest row, straight [m]; NaN: no house or row."""
        found = np.full(len(chunk), np.inf)
        shapes = chunk.house_shapes()
        middles = np.full((len(chunk), 2), np.nan)
        middles[chunk.houses >= 0] = shapely.get_coordinates(shapely.centroid(shapes))
        for _, placed, lots, angle in self.rows.pieces:
            along, across = turned(middles[lots], angle)
            at = np.clip(along, placed.spans.start, placed.spans.end)
            off = np.hypot(at - along, placed.across - across)
            least = np.full(len(chunk), np.inf)
            np.minimum.at(least, lots, off)
            nearest, first = np.flatnonzero(off == least[lots]), np.full(len(chunk), -1)
            first[lots[nearest]] = nearest
            first = first[first >= 0]
            ends = [
                back(place[first], placed.across[first], angle[first])
                for place in (placed.spans.start, placed.spans.end)
            ]
            lines = shapely.linestrings(np.stack(ends, axis=1))
            near = shapely.distance(shapes[lots[first]], lines)
            found[lots[first]] = np.fmin(found[lots[first]], near)
        return np.where(np.isfinite(found), found, np.nan)


@dataclass(frozen=True, slots=True)
class _Tried:
    """One way to lay rows, tried on some lots: its rows, and the pieces of them that are free."""

    way: Way
    lots: Integers
    rows: Rows
    spans: Spans


def spread(
    around: Around, terms: Terms, system: System, ground: Ground,
    enough: float = math.inf, offsets: int = OFFSETS,
) -> Spread:  # fmt: skip
    """What rows hold on each lot; a lot on which they hold enough is not looked at further.

    Where some is not reached, ground for the header is looked for more closely. ``offsets``: places
    of the rows tried for each way, two or more.
    """
    chunk, found = around.chunk, _spread(around, terms, system, ground, enough, offsets)
    lots = np.flatnonzero((found.lost > 0) & (found.amount < enough) & (chunk.houses >= 0))
    if not len(lots):
        return found
    part = things_around(chunk.only(lots))
    finer = ground_of(part, terms.parts["header"], ground.angles[lots], FINE_M)
    return found.better(lots, _spread(part, terms, system, finer, enough, offsets))


def _spread(
    around: Around, terms: Terms, system: System, ground: Ground, enough: float, offsets: int
) -> Spread:
    asked = both(terms.parts[LOOPS[system]], terms.parts["header"])
    tried, best = _tried(around.off(asked), ground.angles, (terms, system), enough, offsets)
    count = len(around.chunk)
    amount, lost, found = np.zeros(count), np.zeros(count), []
    for number, each in enumerate(tried):
        lots, way = each.lots[each.spans.family // offsets], each.way
        mine = best[lots] == number * offsets + each.spans.family % offsets
        if not mine.any():
            continue
        spans, lots, angle = each.spans.where(mine), lots[mine], ground.angles[:, way.direction]
        across = each.rows.first[spans.family] + spans.row * way.pitch_m
        lost += np.bincount(lots, weights=worth(spans, way, terms, system), minlength=count)
        reached = ground.reaches(lots, angle, spans, across)
        spans, lots, across = spans.where(reached), lots[reached], across[reached]
        amount += np.bincount(lots, weights=worth(spans, way, terms, system), minlength=count)
        found.append((way, PlacedRows(spans, across), lots, angle[lots]))
    return Spread(amount, lost - amount, Rowed(terms, system, tuple(found)))


def _tried(
    walls: Walls, angles: Floats, asked: tuple[Terms, System], enough: float, offsets: int
) -> tuple[list[_Tried], Integers]:
    """Every way tried, and the family that holds most on each lot: its number over all ways."""
    terms, system = asked
    spacing, count = spacing_of(terms, system), angles.shape[1]
    ways = bore_ways(spacing, count) if system == BORES else trench_ways(spacing, count)
    amount, best = np.zeros(len(angles)), np.full(len(angles), -1)
    sides, between = walls.where(walls.body == -1), dict[int, tuple[Floats, Floats]]()
    found: list[_Tried] = []
    for way in ways:
        last = found[-1] if found else None
        if last and (last.way.direction, last.way.pitch_m) == (way.direction, way.pitch_m):
            now = replace(last, way=way)
        else:
            lots = np.flatnonzero(amount < enough)
            if way.direction not in between:
                between[way.direction] = _between(sides, angles[:, way.direction])
            turn = angles[lots, way.direction]
            now = _laid(walls, between[way.direction], (lots, turn), way, offsets)
        each = worth(now.spans, way, terms, system)
        total = np.bincount(now.spans.family, weights=each, minlength=len(now.rows.first))
        total = total.reshape(-1, offsets)
        which = total.argmax(axis=1)
        here = total[np.arange(len(now.lots)), which]
        better = here > amount[now.lots] + 1e-9
        lots = now.lots[better]
        amount[lots], best[lots] = here[better], len(found) * offsets + which[better]
        found.append(now)
    return found, best


def _between(sides: Walls, angle: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest place of a row that the property line lets on each lot [m]."""
    low, high = extent(sides, angle)
    away = sides.away[np.flatnonzero(np.diff(sides.owner, prepend=-1))] + HAIR
    return low + away, high - away


def _laid(
    walls: Walls, between: tuple[Floats, Floats], on: tuple[Integers, Floats], way: Way,
    offsets: int,
) -> _Tried:  # fmt: skip
    """Rows on some lots from the lowest place to the highest; ``on``: these and directions."""
    lots, angle = on
    low, high = between[0][lots], between[1][lots]
    count = np.maximum(np.floor((high - low) / way.pitch_m) + 1, 0).astype(np.int64)
    spare = np.maximum(high - low - (count - 1) * way.pitch_m, 0.0)
    first = low[:, None] + spare[:, None] * np.linspace(0.0, 1.0, offsets)
    rows = Rows(first.ravel(), way.pitch_m, np.repeat(count, offsets))
    turn = np.repeat(angle, offsets)
    return _Tried(way, lots, rows, free_on(walls, np.repeat(lots, offsets), turn, rows))
