"""The most points in straight rows, square or staggered, that an area holds at a spacing.

Every direction of the area's edges and a scan by degrees is tried; for each, rows through every
corner and a few rows between; for each, the shift along the rows that holds most is found exactly
by sweeping over the ends of all row pieces.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, Literal

import numpy as np
from scipy.sparse import coo_array
from scipy.sparse.csgraph import connected_components
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.scanline import (
    Chords,
    Floats,
    Integers,
    Outline,
    boundary_edges,
    cut_rows,
    outline,
    turn,
)

Rows = Literal["square", "loose", "staggered"]
"""Square grid; rows a spacing apart, each filled from its start; rows shifted by turns."""

SCAN_STEP: Final = math.radians(1.0)
"""Step of the scan of row directions [rad]."""
UNIFORM_OFFSETS: Final = 12
"""Row offsets tried between two rows, besides those through a corner."""
MOST_EDGE_DIRECTIONS: Final = 90
MOST_CORNER_OFFSETS: Final = 200
GRIDS: Final[tuple[Rows, ...]] = ("square", "staggered")
BATCH: Final = 2_000_000
"""Edges times families handled in one numpy call."""


@dataclass(frozen=True, slots=True)
class Pattern:
    """Points in parallel straight rows.

    Parameters
    ----------
    points
        Coordinates, row by row and along each row [m].
    rows
        Row number of each point.
    direction_deg
        Direction of the rows, counter-clockwise from the x axis [deg].
    staggered
        Whether each row is shifted by half a spacing against the next.
    """

    points: Floats
    rows: Integers
    direction_deg: float
    staggered: bool


@dataclass(frozen=True, slots=True)
class _Family:
    """One way to lay rows: direction [rad], offset of row 0 across it [m], arrangement."""

    direction: float
    offset: float
    rows: Rows
    count: int


def best_pattern(area: BaseGeometry, spacing: float, directions: Floats | None = None) -> Pattern:
    """Rows, of any direction, that hold most points of an area in one cluster.

    Among equals, the direction of the longest edge comes first and square rows before staggered;
    ``directions`` [rad] narrows the search.
    """
    shape = outline(area)
    directions = row_directions(area) if directions is None else directions
    loose = _best_family(shape, directions, spacing, "loose")
    staggered = _best_family(shape, directions, spacing, "staggered")
    return _lay(shape, loose if loose.count >= staggered.count else staggered, spacing)


def patterns_along(area: BaseGeometry, spacing: float, direction: float) -> tuple[Pattern, ...]:
    """Square grid and staggered rows of one direction [rad], shifted to hold most points."""
    shape, directions = outline(area), np.array([direction])
    return tuple(
        _lay(shape, _best_family(shape, directions, spacing, rows), spacing) for rows in GRIDS
    )


def row_directions(area: BaseGeometry) -> Floats:
    """Directions worth trying [rad]: the edges, longest first, and a scan from the longest."""
    edges = edge_directions(area)
    scan = edges[0] + np.arange(0.0, math.pi - SCAN_STEP / 2, SCAN_STEP)
    return np.concatenate([edges[:MOST_EDGE_DIRECTIONS], scan[1:]])


def edge_directions(area: BaseGeometry) -> Floats:
    """Distinct directions of an area's edges in [0, pi), by their total length, longest first."""
    edges = boundary_edges(area) if area.area > 0 else np.zeros((0, 4))
    step = edges[:, 2:] - edges[:, :2]
    length = np.hypot(step[:, 0], step[:, 1])
    if not np.any(length > 0):
        return np.zeros(1)
    angle = np.mod(np.arctan2(step[:, 1], step[:, 0]), math.pi)
    # edges within a hundred-thousandth of a degree are one direction, also across 0 = 180 deg
    bins = np.mod(np.round(angle / 2e-7), round(math.pi / 2e-7)).astype(np.int64)
    _, first, member = np.unique(bins, return_index=True, return_inverse=True)
    total = np.bincount(member, weights=length)
    longest = np.argsort(-np.round(total, 6), kind="stable")
    return angle[first][longest]


def _best_family(shape: Outline, directions: Floats, spacing: float, rows: Rows) -> _Family:
    pitch = row_pitch(spacing, rows)
    best = _Family(float(directions[0]), 0.0, rows, -1)
    offsets = _row_offsets(shape.vertices, directions, pitch)
    size = max(1, BATCH // (len(shape.edges) * offsets.shape[1]))
    for begin in range(0, directions.size, size):
        some, shifts = directions[begin : begin + size], offsets[begin : begin + size]
        chords = cut_rows(shape.edges, some, shifts, pitch)
        counts = _counts(chords, shifts.size, spacing, rows)
        index = int(np.argmax(counts))
        if counts[index] > best.count:
            turned, shifted = divmod(index, shifts.shape[1])
            offset = float(shifts[turned, shifted])
            best = _Family(float(some[turned]), offset, rows, int(counts[index]))
    return best


def row_pitch(spacing: float, rows: Rows) -> float:
    """Distance from row to row [m] at which all points keep the spacing."""
    return spacing * math.sqrt(0.75) if rows == "staggered" else spacing


def _row_offsets(vertices: Floats, directions: Floats, pitch: float) -> Floats:
    """For each direction: offsets that put a row through a corner, and evenly spread ones."""
    _, across = turn(vertices, directions)
    lowest = across.min(axis=1, keepdims=True)
    step = max(1, -(-across.shape[1] // MOST_CORNER_OFFSETS))
    even = lowest + np.arange(UNIFORM_OFFSETS) / UNIFORM_OFFSETS * pitch
    return np.hstack([even, across[:, ::step]])


def _counts(chords: Chords, families: int, spacing: float, rows: Rows) -> Integers:
    """Most points of each family."""
    if rows == "loose":
        return _fill_counts(chords, families, spacing)
    return _sweep(chords, families, spacing, shift=_row_shift(spacing, rows))[0]


def _row_shift(spacing: float, rows: Rows) -> float:
    return spacing / 2 if rows == "staggered" else 0.0


def _sweep(
    chords: Chords, families: int, period: float, *, shift: float
) -> tuple[Integers, Floats]:
    """Most points of each family in one common phase along the rows, and that phase [m].

    A piece of length L holds floor(L / period) points, and one more in those phases that put a
    point into its remainder; the phase with most such pieces is found by sorting their ends.
    """
    whole = np.floor((chords.end - chords.start) / period)
    enter = np.mod(chords.start - np.mod(chords.row, 2) * shift, period)
    leave = enter + (chords.end - chords.start - whole * period)
    wraps = leave >= period
    base = np.bincount(chords.family, whole + wraps, families).astype(np.int64)
    phase = np.concatenate([enter, np.where(wraps, leave - period, leave)])
    step = np.repeat(np.array([1, -1]), enter.size)
    family = np.concatenate([chords.family, chords.family])
    order = np.lexsort((-step, phase, family))
    # each family has as many ends as starts, so one running sum serves all
    depth = np.cumsum(step[order])
    return _deepest(depth, phase[order], family[order], base, period=period)


def _deepest(
    depth: Integers, phase: Floats, family: Integers, base: Integers, *, period: float
) -> tuple[Integers, Floats]:
    """Most points of each family: base plus greatest depth, and the middle of those phases."""
    counts, phases = base.copy(), np.zeros(base.size)
    if depth.size == 0:
        return counts, phases
    begin = np.flatnonzero(np.r_[True, family[1:] != family[:-1]])
    end = np.r_[begin[1:], depth.size]
    greatest = np.maximum.reduceat(depth, begin)
    present = family[begin]
    counts[present] += greatest
    hit = np.flatnonzero(depth == np.repeat(greatest, end - begin))
    _, first = np.unique(family[hit], return_index=True)
    at = hit[first]
    # the last stretch of a family goes on to its first end, one period later
    after = np.where(at + 1 < end, at + 1, begin)
    until = phase[after] + np.where(at + 1 < end, 0.0, period)
    phases[present] = (phase[at] + until) / 2
    return counts, phases


def _fill_counts(chords: Chords, families: int, spacing: float) -> Integers:
    """Most points of each family when every row is filled on its own, from its start."""
    counts = np.zeros(families, dtype=np.int64)
    if chords.start.size == 0:
        return counts
    new = np.r_[
        True,
        (chords.family[1:] != chords.family[:-1]) | (chords.row[1:] != chords.row[:-1]),
    ]
    row = np.cumsum(new) - 1
    begin = np.flatnonzero(new)
    rank = np.arange(row.size) - begin[row]
    last = np.full(begin.size, -np.inf)
    for turn_ in range(int(rank.max()) + 1):
        piece = np.flatnonzero(rank == turn_)
        start = np.maximum(chords.start[piece], last[row[piece]] + spacing)
        room = chords.end[piece] - start
        held = np.where(room >= 0, np.floor(room / spacing) + 1, 0)
        filled = held > 0
        last[row[piece][filled]] = start[filled] + (held[filled] - 1) * spacing
        counts += np.bincount(chords.family[piece], held, families).astype(np.int64)
    return counts


def _lay(shape: Outline, family: _Family, spacing: float) -> Pattern:
    """Points of one family."""
    pitch = row_pitch(spacing, family.rows)
    direction = np.array([family.direction])
    chords = cut_rows(shape.edges, direction, np.array([[family.offset]]), pitch)
    along, piece = _positions(chords, spacing, family.rows)
    rows = chords.row[piece]
    across = family.offset + rows * pitch
    cosine, sine = math.cos(family.direction), math.sin(family.direction)
    points = np.column_stack([along * cosine - across * sine, along * sine + across * cosine])
    return Pattern(points, rows, math.degrees(family.direction), family.rows == "staggered")


def _positions(chords: Chords, spacing: float, rows: Rows) -> tuple[Floats, Integers]:
    """Positions along the rows and, for each, its row piece."""
    if rows != "staggered":
        counts, phases = _sweep(chords, 1, spacing, shift=0.0)
        if rows == "loose" and counts[0] < _fill_counts(chords, 1, spacing)[0]:
            return _fill(chords, spacing)
        return _on_grid(chords, np.broadcast_to(phases, chords.start.shape), spacing)
    group = independent_groups(chords, spacing)
    grouped = Chords(group, chords.row, chords.start, chords.end)
    _, phases = _sweep(grouped, int(group.max(initial=-1)) + 1, spacing, shift=spacing / 2)
    return _on_grid(chords, phases[group] + np.mod(chords.row, 2) * spacing / 2, spacing)


def independent_groups(chords: Chords, spacing: float) -> Integers:
    """Group number of each piece of staggered rows; groups may shift on their own.

    Two pieces are bound together when their points could come nearer than the spacing: in one row
    with a gap below the spacing, in neighbouring rows with a gap below half of it.
    """
    count = chords.row.size
    here = np.arange(count)
    step = int(chords.row.max(initial=0) - chords.row.min(initial=0)) + 2
    key = chords.family * step + (chords.row - chords.row.min(initial=0))
    pairs = []
    for next_row, gap in ((0, spacing), (1, spacing / 2)):
        first = np.searchsorted(key, key + next_row, side="left")
        last = np.searchsorted(key, key + next_row, side="right")
        one = np.repeat(here, last - first)
        shift = np.cumsum(last - first) - (last - first)
        other = np.arange(one.size) - np.repeat(shift - first, last - first)
        apart = np.maximum(chords.start[one], chords.start[other]) - np.minimum(
            chords.end[one], chords.end[other]
        )
        pairs.append(np.stack([one, other])[:, apart < gap])
    one, other = np.hstack(pairs)
    graph = coo_array((np.ones(one.size, dtype=np.int8), (one, other)), shape=(count, count))
    return np.asarray(connected_components(graph, directed=False)[1], dtype=np.int64)


def _on_grid(chords: Chords, phase: Floats, spacing: float) -> tuple[Floats, Integers]:
    """Positions ``phase + k * spacing`` inside each piece."""
    first = np.ceil((chords.start - phase) / spacing)
    last = np.floor((chords.end - phase) / spacing)
    held = np.maximum(last - first + 1, 0).astype(np.int64)
    piece = np.repeat(np.arange(held.size), held)
    number = np.arange(piece.size) - np.repeat(np.cumsum(held) - held, held)
    return phase[piece] + (first[piece] + number) * spacing, piece


def _fill(chords: Chords, spacing: float) -> tuple[Floats, Integers]:
    """Positions of every row filled on its own, from its start."""
    along: list[float] = []
    piece: list[int] = []
    row, last = None, -math.inf
    for index, begin in enumerate(chords.start):
        if chords.row[index] != row:
            row, last = chords.row[index], -math.inf
        start = max(float(begin), last + spacing)
        held = math.floor((float(chords.end[index]) - start) / spacing) + 1
        if start <= chords.end[index] and held > 0:
            along += [start + number * spacing for number in range(held)]
            piece += [index] * held
            last = along[-1]
    return np.array(along), np.array(piece, dtype=np.int64)
