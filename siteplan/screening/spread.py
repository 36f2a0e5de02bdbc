"""Rows on all the ground of many lots, reached from one wall of the house: no area is widened.

Rows are cut by what walls take of them (``capsules.py``). Of what lies on them only that counts
which a header gets to (``joined.py``); where some is not reached, what is held may be told short.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from itertools import groupby
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray

from siteplan.screening import compiled
from siteplan.screening.capsules import Rows, Walls, free_on
from siteplan.screening.chunk import Chunk
from siteplan.screening.held import SLACK, PlacedRows, Way, back, bore_ways, trench_ways
from siteplan.screening.joined import FINE_M, Ground, ground_of
from siteplan.screening.keeping import Around, both, extent
from siteplan.screening.keeping import around as things_around
from siteplan.screening.rowed import Rowed, spacing_of, worth
from siteplan.screening.scan import Floats, Integers, Spans, turned
from siteplan.screening.terms import BORES, LOOPS, Terms, trench_rows
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
        return self._with(lots, others, others.amount > self.amount[lots])

    def instead(self, lots: Integers, others: Spread) -> Spread:
        """The same, of some of the lots the others."""
        return self._with(lots, others, np.ones(len(lots), dtype=bool))

    def _with(self, lots: Integers, others: Spread, taken: NDArray[np.bool_]) -> Spread:
        amount, lost, kept = self.amount.copy(), self.lost.copy(), np.ones(len(self.lost), bool)
        amount[lots[taken]], lost[lots[taken]] = others.amount[taken], others.lost[taken]
        kept[lots[taken]] = False
        return Spread(amount, lost, self.rows.of(kept).beside(others.rows.of(taken, lots)))

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
    """Ways that share their rows, tried on some lots: several families of rows on each.

    Parameters
    ----------
    ways
        The ways: from row to row as far, and differing only in where bores stand along them.
    number
        Number of the first of them over all.
    lots, turn, rows
        Lot of each family, direction of its rows [rad], and these.
    spans
        Free pieces of them; None: they are cut where they are looked at.
    """

    ways: tuple[Way, ...]
    number: int
    lots: Integers
    turn: Floats
    rows: Rows
    spans: Spans | None = None

    def pieces(self, walls: Walls, families: NDArray[np.bool_]) -> Spans:
        """Free pieces of the rows of some families."""
        if self.spans is not None:
            return self.spans.where(families[self.spans.family])
        chosen = np.flatnonzero(families)
        rows = Rows(self.rows.first[chosen], self.rows.pitch, self.rows.count[chosen])
        found = free_on(walls, self.lots[chosen], self.turn[chosen], rows)
        return replace(found, family=chosen[found.family])


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
    walls = around.off(asked)
    tried, best = _tried(walls, ground.angles, (terms, system), enough, offsets)
    count = len(around.chunk)
    amount, lost, found = np.zeros(count), np.zeros(count), []
    for each, nth in ((one, nth) for one in tried for nth in range(len(one.ways))):
        way, number = each.ways[nth], each.number + nth
        place = np.arange(len(each.lots)) % offsets
        mine = best[each.lots] == number * offsets + place
        if not mine.any():
            continue
        spans, angle = each.pieces(walls, mine), ground.angles[:, way.direction]
        lots = each.lots[spans.family]
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
    found, number = list[_Tried](), 0
    for (direction, pitch_m), same in groupby(ways, lambda way: (way.direction, way.pitch_m)):
        if direction not in between:
            between[direction] = _between(sides, angles[:, direction])
        lots = np.flatnonzero(amount < enough)
        low, high = (each[lots] for each in between[direction])
        laid, turn = _laid(low, high, pitch_m, offsets), np.repeat(angles[lots, direction], offsets)
        now = _Tried(tuple(same), number, np.repeat(lots, offsets), turn, laid)
        totals, now = _totals(walls, now, asked)
        for total in totals:
            of_lot = total.reshape(-1, offsets)
            which = of_lot.argmax(axis=1)
            here = of_lot[np.arange(len(lots)), which]
            better = here > amount[lots] + 1e-9
            amount[lots[better]] = here[better]
            best[lots[better]] = number * offsets + which[better]
            number += 1
        found.append(now)
    return found, best


def _totals(
    walls: Walls, tried: _Tried, asked: tuple[Terms, System]
) -> tuple[list[Floats], _Tried]:
    """What each family holds, by each of the ways: bores, or trench [m]."""
    terms, system = asked
    quick = compiled.quick("held_by_rows")
    if quick is None:
        spans = free_on(walls, tried.lots, tried.turn, tried.rows)
        count = len(tried.lots)
        totals = [_total(spans, worth(spans, way, terms, system), count) for way in tried.ways]
        return totals, replace(tried, spans=spans)
    phases = np.array([way.phase_m for way in tried.ways])
    if system == BORES:
        told = (spacing_of(terms, system) * SLACK, math.nan, math.nan)
    else:
        rule = trench_rows(terms)
        told = (rule.spacing_m * SLACK, rule.shortest_m, rule.longest_m)
    held: Floats = quick(
        (walls.starts, walls.ends, walls.away, walls.body), walls.ranges(tried.lots),
        (np.cos(tried.turn), np.sin(tried.turn)),
        (tried.rows.first, tried.rows.pitch, tried.rows.count), told, phases,
    )  # fmt: skip
    return list(held), tried


def _total(spans: Spans, each: Floats, count: int) -> Floats:
    """What lies on the pieces of each of so many families."""
    return np.asarray(np.bincount(spans.family, weights=each, minlength=count), dtype=np.float64)


def _between(sides: Walls, angle: Floats) -> tuple[Floats, Floats]:
    """Lowest and highest place of a row that the property line lets on each lot [m]."""
    low, high = extent(sides, angle)
    away = sides.away[np.flatnonzero(np.diff(sides.owner, prepend=-1))] + HAIR
    return low + away, high - away


def _laid(low: Floats, high: Floats, pitch_m: float, offsets: int) -> Rows:
    """Rows between the lowest place and the highest of each lot, from so many places."""
    count = np.maximum(np.floor((high - low) / pitch_m) + 1, 0).astype(np.int64)
    spare = np.maximum(high - low - (count - 1) * pitch_m, 0.0)
    first = low[:, None] + spare[:, None] * np.linspace(0.0, 1.0, offsets)
    return Rows(first.ravel(), pitch_m, np.repeat(count, offsets))
