"""Ground on to which a machine backs straight from the street.

It lines up on the street before the lot and backs in between the sides of the lot and what stands
on it, as far as a strip of its width, with room for the raster of a plan's search, is free.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import shapely

from siteplan.available.access import APRON
from siteplan.geometry.ways.driving import FINEST_CELL, MOST_CELLS
from siteplan.screening.capsules import Rows, Walls, before, free_on, steps, walls_of
from siteplan.screening.chunk import Chunk
from siteplan.screening.frontages import Sides, solid, ways_in
from siteplan.screening.room import tidy
from siteplan.screening.scan import Floats, Integers, Shapes, Spans, turned
from siteplan.site.machines import Machine

STEP_M: Final = 1.0
"""From one strip looked at to the next [m]."""
PIXEL_M: Final = 0.25
"""Room beside a strip for the raster on which a plan tests a body [m]."""
AHEAD: Final = 0.3
"""Least share of its way in that a machine goes square to a side that it comes in over."""


@dataclass(frozen=True, slots=True)
class Strips:
    """Strips on which a machine backs in, side by side on lots with a side to a street.

    Parameters
    ----------
    lots, angle
        These lots, rising, and the way in on each [rad].
    rows
        The strips' middle lines, a family for each of these lots.
    pieces
        What of them the middle of its rear may stand on, from where it has come in.
    """

    lots: Integers
    angle: Floats
    rows: Rows
    pieces: Spans


def backed_on_to(chunk: Chunk, sides: Sides, machine: Machine) -> Shapes:
    """Ground on which the middle of the machine's rear may stand, backed in straight."""
    found = np.full(len(chunk), shapely.Polygon(), dtype=object)
    strips = strips_of(chunk, sides, machine)
    pieces = strips.pieces
    if not len(pieces.row):
        return found
    across = strips.rows.first[pieces.family] + pieces.row * STEP_M
    grounds, family = _grounds(strips.angle[pieces.family], across, pieces)
    shapely.multipolygons(grounds, indices=strips.lots[family], out=found)
    twisted = ~shapely.is_valid(found)
    found[twisted] = shapely.buffer(found[twisted], 0.0)
    return tidy(found)


def strips_of(chunk: Chunk, sides: Sides, machine: Machine) -> Strips:
    """Strips on which a machine backs in straight from the street."""
    lots, angle = ways_in(sides)
    off = machine.width_m / 2 + _room(chunk, machine)[lots] + STEP_M / 2
    ahead = np.stack([np.cos(angle), np.sin(angle)], axis=1)
    first, each = _own(sides, lots)
    side, family = steps(first, each), np.repeat(np.arange(len(lots)), each)
    open_ = sides.facing[side] & ((sides.inward[side] * ahead[family]).sum(axis=1) > AHEAD)
    gates = _turned(sides, side[open_], family[open_], angle)
    low = _least(gates[1].min(axis=1), family[open_], len(lots)) + off
    high = -_least(-gates[1].max(axis=1), family[open_], len(lots)) - off
    count = np.maximum(np.floor((high - low) / STEP_M) + 1, 0).astype(np.int64)
    rows = Rows(low, STEP_M, count)
    walls = _walls(chunk, sides, (lots, off), (side[~open_], family[~open_]))
    entry = _entries(gates, family[open_], rows)
    pieces = free_on(walls, np.arange(len(lots)), angle, rows)
    at = entry[before(rows)[pieces.family] + pieces.row]
    good = (pieces.start <= at - APRON * machine.length_m) & (pieces.end > at)
    return Strips(lots, angle, rows, replace(pieces, start=at).where(good))


def _room(chunk: Chunk, machine: Machine) -> Floats:
    """How far beside a strip a plan's search may have its poses: across one of its cells [m]."""
    west, south, east, north = shapely.bounds(chunk.outlines).T
    apron = 2 * APRON * machine.length_m
    size = np.sqrt((east - west + apron) * (north - south + apron) / MOST_CELLS)
    return np.asarray(math.sqrt(2) * np.maximum(size, FINEST_CELL) + PIXEL_M)


def _own(sides: Sides, lots: Integers) -> tuple[Integers, Integers]:
    first = np.searchsorted(sides.owner, lots)
    return first, np.searchsorted(sides.owner, lots, side="right") - first


def _turned(sides: Sides, side: Integers, family: Integers, angle: Floats) -> tuple[Floats, Floats]:
    """Ends of sides along and across the way in of each family, two a side."""
    ends = [turned(xy[side], angle, family) for xy in (sides.starts, sides.ends)]
    return np.stack([each[0] for each in ends], 1), np.stack([each[1] for each in ends], 1)


def _least(values: Floats, family: Integers, count: int) -> Floats:
    least = np.full(count, np.inf)
    np.minimum.at(least, family, values)
    return least


def _entries(gates: tuple[Floats, Floats], family: Integers, rows: Rows) -> Floats:
    """Where along each row it has come in over the last of the sides to the street [m]."""
    along, across = gates
    shift = rows.first[family]
    low, high = across.min(axis=1), across.max(axis=1)
    first = np.maximum(np.ceil((low - shift) / rows.pitch), 0).astype(np.int64)
    last = np.minimum(np.floor((high - shift) / rows.pitch), rows.count[family] - 1)
    each = np.maximum(last.astype(np.int64) - first + 1, 0)
    row, gate = steps(first, each), np.repeat(np.arange(len(each)), each)
    place = shift[gate] + row * rows.pitch
    share = (place - across[gate, 0]) / (across[gate, 1] - across[gate, 0])
    at = along[gate, 0] + share * (along[gate, 1] - along[gate, 0])
    entry = np.full(int(rows.count.sum()), -np.inf)
    np.maximum.at(entry, before(rows)[family[gate]] + row, at)
    return np.where(np.isfinite(entry), entry, np.inf)


def _walls(
    chunk: Chunk, sides: Sides, ways: tuple[Integers, Floats],
    closed: tuple[Integers, Integers],
) -> Walls:  # fmt: skip
    """What a machine keeps off on each way in: other sides of the lot, and what stands about."""
    lots, off = ways
    side, family = closed
    lines = np.full(len(side), -2, dtype=np.int64)
    others = Walls(sides.starts[side], sides.ends[side], family, off[family], lines, lines)
    around = solid(chunk)
    which = np.flatnonzero(around >= 0)
    things = walls_of(chunk.things[which], chunk.owner[which], around[which], sides=False).of(lots)
    things = Walls(
        things.starts, things.ends, things.owner, things.away + off[things.owner], things.body,
        things.thing,
    )  # fmt: skip
    # far around all, so that what is free lies within it
    west, south, east, north = shapely.total_bounds(chunk.outlines)
    box = np.full(
        len(lots), shapely.box(west - 99, south - 99, east + 99, north + 99), dtype=object
    )
    far = walls_of(box, np.arange(len(lots)), np.ones(len(lots)), sides=True)
    return far.beside(others).beside(things)


def _grounds(angle: Floats, across: Floats, pieces: Spans) -> tuple[Shapes, Integers]:
    """Strips beside one another as one area each, with the family of each.

    ``angle``, ``across``: direction and place of each strip.
    """
    family, start, end = pieces.family, pieces.start, pieces.end
    apart = np.ones(len(family), dtype=bool)
    # strips that lie beside one another and do not share a piece of their sides are not joined
    apart[1:] = (np.diff(family) != 0) | (np.diff(pieces.row) != 1)
    apart[1:] |= np.minimum(end[1:], end[:-1]) <= np.maximum(start[1:], start[:-1])
    run, number = np.cumsum(apart) - 1, np.arange(len(family))
    # up along the begins of the strips, and back along their ends
    corners = [
        (start, -1, 2 * number), (start, 1, 2 * number + 1),
        (end, 1, -2 * number - 1), (end, -1, -2 * number),
    ]  # fmt: skip
    back = np.repeat([0, 1], 2 * len(family))
    order = np.lexsort((np.concatenate([each for _, _, each in corners]), back, np.tile(run, 4)))
    along = np.concatenate([each for each, _, _ in corners])[order]
    beside = np.concatenate([across + side * STEP_M / 2 for _, side, _ in corners])[order]
    cosine, sine = np.cos(np.tile(angle, 4)[order]), np.sin(np.tile(angle, 4)[order])
    places = np.stack([along * cosine - beside * sine, along * sine + beside * cosine], axis=1)
    rings = shapely.linearrings(places, indices=np.tile(run, 4)[order])
    return np.asarray(shapely.polygons(rings)), family[apart]
