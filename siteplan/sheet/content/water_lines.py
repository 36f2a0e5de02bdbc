"""Lines stretched over a pond, from shore to shore, from which what lies in it is set off.

Nobody tapes well over water, and a hand-held receiver errs by more than coils stand apart. A line
between two pegs on the banks, marked at its stations, is what a crew in a boat can follow.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely import LineString, Polygon, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.sheet.content.base_lines import (
    FENCE_M,
    Line,
    bands,
    between_rows,
    place_of,
    ways_of_rows,
)
from siteplan.sheet.content.tie_choice import FLAT, NONE, TieBench
from siteplan.sheet.content.ties import Array, Corner, Ground
from siteplan.sheet.model import XY
from siteplan.units.lengths import FOOT

LEAST_COILS: Final = 3
"""Fewer are sooner set one by one; common practice, no source."""
REACH_M: Final = 25 * FOOT
"""As far as is set off from such a line with a pole or a tape from a boat; common practice, no
source [m]."""
LONGEST_M: Final = 400 * FOOT
"""A line longer than this sags and drifts; common practice, no source [m]."""
BANK_M: Final = (1.5, 0.75, 3.0, 4.5)
"""How far from the water a peg may stand, the best first; common practice [m]."""

Tried = tuple[tuple[float, ...], Line]
"""What speaks against a line, and the line."""


def water_lines(
    stakes: Sequence[Sequence[XY]], corners: Sequence[Corner], ground: Ground
) -> tuple[Line, ...]:
    """Lines over each water in which so much is set that they are worth it.

    Parameters
    ----------
    stakes
        Stakes of each element: its place, or its two ends. They are numbered through.
    """
    places = np.array([at for each in stakes for at in each]).reshape(-1, 2)
    lines: list[Line] = []
    for water in get_parts(ground.water):
        inside = shapely.contains(water, shapely.points(places))
        field = [int(k) for k in np.flatnonzero(inside)]
        if isinstance(water, Polygon) and len(field) >= LEAST_COILS:
            lines += _across(water, field, places, (corners, ground))
    return tuple(sorted(lines, key=lambda line: (round(line.start[0], 3), round(line.start[1], 3))))


def _across(
    water: Polygon, field: list[int], places: Array, known: tuple[Sequence[Corner], Ground]
) -> list[Line]:
    """Lines in that direction in which few, well tied and short ones serve the field."""
    best: tuple[tuple[float, ...], list[Line]] = ((math.inf,), [])
    for way in ways_of_rows(places[field], np.full(len(field), math.nan)):
        axes = _axes(way)
        some = list(bands(places[field] @ axes[1], REACH_M))
        tried = [_stretched(water, [field[k] for k in band], places, axes, known) for band in some]
        found = [each for each in tried if each is not None]
        if len(found) < len(some):
            continue
        against = tuple(max(each[0][k] for each in found) for k in range(2))
        if (len(found), *against) < best[0]:
            best = ((len(found), *against), [line for _, line in found])
    return best[1]


def _axes(way: float) -> tuple[Array, Array]:
    along = np.array([math.cos(way), math.sin(way)])
    return along, np.array([-along[1], along[0]])


def _stretched(
    water: Polygon, numbers: list[int], places: Array, axes: tuple[Array, Array],
    known: tuple[Sequence[Corner], Ground],
) -> Tried | None:  # fmt: skip
    """The line over the water along a band of stakes, with pegs tied best; None: there is none."""
    (along, left), (corners, ground) = axes, known
    there = places[numbers]
    offset = between_rows(there @ left)
    ways = there @ along
    banks = _banks(water, along, offset * left, (float(ways.min()), float(ways.max())))
    if banks is None or banks[1] - banks[0] > LONGEST_M:
        return None
    tips = np.array([*(banks[0] - off for off in BANK_M), *(banks[1] + off for off in BANK_M)])
    pegs = tips[:, None] * along + offset * left
    open_ = ~ground.unfit(pegs, FENCE_M) & ~shapely.intersects(ground.water, shapely.points(pegs))
    bench, half = TieBench(corners, pegs, ground), len(BANK_M)
    ranks, prices = bench.best() & ~FLAT, bench.best_cost()
    pairs = [
        ((int(max(ranks[i], ranks[j])), round(banks[1] - banks[0]), i + j - half), i, j)
        for i in range(half)
        for j in range(half, 2 * half)
        if open_[i] and open_[j] and max(ranks[i], ranks[j]) < NONE
        and ground.clear(pegs[i], pegs[j])
    ]  # fmt: skip
    if not pairs:
        return None
    against, first, last = min(pairs)
    # counted from the bank that is tied better
    ends = (first, last) if prices[first] <= prices[last] else (last, first)
    return against, Line(place_of(pegs[ends[0]]), place_of(pegs[ends[1]]), tuple(numbers))


def _banks(water: BaseGeometry, along: Array, foot: Array, span: XY) -> XY | None:
    """Stations of both banks on either side of so much of a line; None where land lies between."""
    low, high = (foot + way * along for way in (span[0] - 1e4, span[1] + 1e4))
    start = span[0] - 1e4
    for part in get_parts(LineString([low, high]).intersection(water)):
        ends = shapely.get_coordinates(part) - low
        first, last = (start + float(end @ along) for end in (ends[0], ends[-1]))
        if first <= span[0] and span[1] <= last:
            return first, last
    return None
