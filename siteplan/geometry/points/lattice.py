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
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.points.row_filling import (
    fill,
    filled_counts,
    independent_groups,
    on_grid,
    sweep,
)
from siteplan.geometry.points.scanline import (
    Chords,
    Floats,
    Integers,
    Outline,
    boundary_edges,
    cut_rows,
    outline,
    turn,
)
from siteplan.geometry.tolerance import PARALLEL_RAD, TOLERANCE
from siteplan.preferences.table import count_of, figure_of

Rows = Literal["square", "loose", "staggered"]
"""Square grid; rows a spacing apart, each filled from its start; rows shifted by turns."""

MOST_EDGES: Final = 500
"""Directions of edges, those with most length, of which the others are no more than chords."""
SCAN_STEP: Final = math.radians(figure_of("geometry.points.lattice.scan_step_deg"))
UNIFORM_OFFSETS: Final = count_of("geometry.points.lattice.uniform_offsets")
MOST_EDGE_DIRECTIONS: Final = count_of("geometry.points.lattice.most_edge_directions")
MOST_CORNER_OFFSETS: Final = count_of("geometry.points.lattice.most_corner_offsets")
CLOSER: Final = count_of("geometry.points.lattice.closer")
FAMILIES_KEPT: Final = count_of("geometry.points.lattice.families_kept")
MANY_EDGES: Final = count_of("geometry.points.lattice.many_edges")
VERY_MANY_EDGES: Final = count_of("geometry.points.lattice.very_many_edges")
COARSER: Final = count_of("geometry.points.lattice.coarser")
GIVE: Final = figure_of("geometry.points.lattice.give")
EXHAUSTIVE: Final = count_of("geometry.points.lattice.exhaustive")
MOST_PROMISING: Final = count_of("geometry.points.lattice.most_promising")
LONGEST_EDGES: Final = count_of("geometry.points.lattice.longest_edges")
BATCH: Final = count_of("geometry.points.lattice.batch")


@dataclass(frozen=True, slots=True, eq=False)
class Pattern:
    """Points in parallel straight rows; each pattern is equal to itself alone.

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


@dataclass(frozen=True, slots=True)
class _Families:
    """Many families of one arrangement: direction [rad], offset of row 0 [m], points held."""

    direction: Floats
    offset: Floats
    count: Integers

    def joined(self, other: _Families) -> _Families:
        """These families, then the others."""
        return _Families(
            np.concatenate([self.direction, other.direction]),
            np.concatenate([self.offset, other.offset]),
            np.concatenate([self.count, other.count]),
        )


def best_pattern(
    area: BaseGeometry, spacing: float, *, directions: Floats | None = None
) -> Pattern:
    """Rows, of any direction, that hold most points of an area in one cluster.

    Among equals, the direction of the longest edge comes first and square rows before staggered;
    ``directions`` [rad] narrows the search.
    """
    shape = _searched_outline(area, spacing)
    wide = row_directions(area) if directions is None else directions
    if len(shape.edges) > VERY_MANY_EDGES and directions is None:
        wide = wide[::COARSER]
    loose = _fullest(_search(shape, wide, spacing=spacing, rows="loose"), "loose")
    families = _search(shape, wide, spacing=spacing, rows="staggered")
    if directions is None:
        families = families.joined(
            _search(shape, _closer_directions(families), spacing=spacing, rows="staggered")
        )
    staggered = _fullest(_with_free_groups(shape, families, spacing=spacing), "staggered")
    # of equal numbers the square rows: they are staked and led with less measuring
    best = loose if loose.count >= staggered.count else staggered
    # laid in the area itself: the outline that was searched may lie a hair outside it
    return _lay(outline(area), best, spacing=spacing)


def _searched_outline(area: BaseGeometry, spacing: float) -> Outline:
    """Outline for the search; of very many edges with fewer, which moves it by a hair."""
    if shapely.get_num_coordinates(area) > MANY_EDGES:
        area = shapely.simplify(area, GIVE * spacing)
    return outline(area)


def patterns_along(area: BaseGeometry, spacing: float, *, direction: float) -> tuple[Pattern, ...]:
    """Square grid and staggered rows of one direction [rad], shifted to hold most points."""
    shape, directions = _searched_outline(area, spacing), np.array([direction])
    square = _fullest(_search(shape, directions, spacing=spacing, rows="square"), "square")
    families = _search(shape, directions, spacing=spacing, rows="staggered")
    staggered = _fullest(_with_free_groups(shape, families, spacing=spacing), "staggered")
    whole = outline(area)
    return _lay(whole, square, spacing=spacing), _lay(whole, staggered, spacing=spacing)


def row_directions(area: BaseGeometry) -> Floats:
    """Directions worth trying [rad]: the edges, longest first, and a scan from the longest."""
    edges, _ = _edges_by_direction(area)
    scan = edges[0] + np.arange(0.0, math.pi - SCAN_STEP / 2, SCAN_STEP)
    return np.concatenate([edges[:MOST_EDGE_DIRECTIONS], scan[1:]])


def edge_directions(area: BaseGeometry, *, least_m: float = 0.0) -> Floats:
    """Directions of an area's edges in [0, pi), by the length that lies along each, longest first.

    Edges that are parallel but for rounding are one direction, that of the longest of them: else a
    lot whose corners are rounded as it is turned would have others. ``least_m``: shorter edges are
    none where there are longer ones [m]; where chords of arcs point hangs on how the lot lies in
    its file.
    """
    angles, lengths = (column[:MOST_EDGES] for column in _edges_by_direction(area, least_m=least_m))
    apart = np.abs(angles[:, None] - angles)
    alike = np.minimum(apart, math.pi - apart) <= PARALLEL_RAD
    together = np.round(alike @ lengths, 3)
    kept: list[int] = []
    # of edges that are one direction, the longest stands for all
    for place in np.lexsort((np.arange(len(angles)), -together)):
        if not alike[place, kept].any():
            kept.append(int(place))
    return angles[kept]


def _edges_by_direction(area: BaseGeometry, least_m: float = 0.0) -> tuple[Floats, Floats]:
    """Distinct directions of an area's edges in [0, pi) and their total lengths, longest first.

    ``least_m``: of edges no shorter than this, or than the longest [m].
    """
    edges = boundary_edges(area) if area.area > 0 else np.zeros((0, 4))
    step = edges[:, 2:] - edges[:, :2]
    length = np.hypot(step[:, 0], step[:, 1])
    if not np.any(length > 0):
        return np.zeros(1), np.zeros(1)
    # chords of a disc are as long but for rounding
    long = length >= min(least_m, length.max() - TOLERANCE)
    step, length = step[long], length[long]
    angle = np.mod(np.arctan2(step[:, 1], step[:, 0]), math.pi)
    # edges within a hundred-thousandth of a degree are one direction, also across 0 = 180 deg
    bins = np.mod(np.round(angle / 2e-7), round(math.pi / 2e-7)).astype(np.int64)
    _, first, member = np.unique(bins, return_index=True, return_inverse=True)
    total = np.bincount(member, weights=length)
    longest = np.argsort(-np.round(total, 6), kind="stable")
    return angle[first][longest], np.asarray(total[longest], dtype=np.float64)


def _fullest(families: _Families, rows: Rows) -> _Family:
    """Family that holds most: the first of those of equal number."""
    best = int(np.argmax(families.count))
    direction, offset = float(families.direction[best]), float(families.offset[best])
    return _Family(direction, offset, rows, int(families.count[best]))


def _search(shape: Outline, directions: Floats, *, spacing: float, rows: Rows) -> _Families:
    """The fullest families over all directions, in the order of the directions.

    Where that is much work, rows through every corner are tried only in the directions that come
    first, of the longest edges, and in those that hold most in evenly spread rows.
    """
    pitch = row_pitch(spacing, rows)
    offsets = _row_offsets(shape.vertices, directions, pitch=pitch)
    # on the usual lot everything is tried; the short cut below is for areas with very many corners
    if offsets.size * len(shape.edges) <= EXHAUSTIVE:
        return _searched(shape, directions, offsets, spacing=spacing, rows=rows)
    # evenly spread rows tell which directions hold much; the corners are dear and settle the last
    # points
    even = offsets[:, :UNIFORM_OFFSETS]
    families = _searched(shape, directions, even, spacing=spacing, rows=rows)
    fullest = families.direction[np.argsort(-families.count, kind="stable")]
    promising = np.isin(directions, fullest[:MOST_PROMISING])
    # rows along a long edge fill up to it only from the row on that very edge, which an even
    # offset misses: by the count of even rows they would be dropped
    promising[:LONGEST_EDGES] = True
    return _searched(
        shape, directions[promising], offsets[promising], spacing=spacing, rows=rows
    ).joined(families)


def _searched(
    shape: Outline, directions: Floats, offsets: Floats, *, spacing: float, rows: Rows
) -> _Families:
    """The fullest families of all directions and offsets."""
    pitch = row_pitch(spacing, rows)
    # so many directions at a time that the arrays of a call stay in the processor's cache
    size = max(1, BATCH // (len(shape.edges) * offsets.shape[1]))
    families = _Families(np.zeros(0), np.zeros(0), np.zeros(0, dtype=np.int64))
    for begin in range(0, directions.size, size):
        some, shifts = directions[begin : begin + size], offsets[begin : begin + size]
        chords = cut_rows(shape.edges, some, offset=shifts, pitch=pitch)
        counts = _counts(chords, shifts.size, spacing=spacing, rows=rows)
        # a stable sort, so that equal counts keep the order of the directions
        # each batch keeps as many as all together need, so that the size of a batch changes
        # nothing
        best = np.sort(np.argsort(-counts, kind="stable")[:FAMILIES_KEPT])
        turned, shifted = np.divmod(best, shifts.shape[1])
        families = families.joined(_Families(some[turned], shifts[turned, shifted], counts[best]))
    return families


def _with_free_groups(shape: Outline, families: _Families, *, spacing: float) -> _Families:
    """The fullest staggered families, counted with groups of pieces that shift on their own."""
    best = np.sort(np.argsort(-families.count, kind="stable")[:FAMILIES_KEPT])
    direction, offset = families.direction[best], families.offset[best]
    chords = cut_rows(
        shape.edges, direction, offset=offset[:, None], pitch=row_pitch(spacing, "staggered")
    )
    # pieces too far apart to disturb each other need no common phase and may hold more
    group = independent_groups(chords, spacing)
    total = int(group.max(initial=-1)) + 1
    grouped = Chords(group, chords.row, chords.start, chords.end)
    counts, _ = sweep(grouped, total, period=spacing, shift=spacing / 2)
    owner = np.zeros(total, dtype=np.int64)
    owner[group] = chords.family
    return _Families(direction, offset, np.bincount(owner, counts, best.size).astype(np.int64))


def _closer_directions(families: _Families) -> Floats:
    """Finer steps around the directions of the fullest families [rad]."""
    fullest = families.direction[np.argsort(-families.count, kind="stable")]
    _, first = np.unique(fullest, return_index=True)
    best = fullest[np.sort(first)[:CLOSER]]
    steps = SCAN_STEP * np.array([-0.4, -0.3, -0.2, -0.1, 0.1, 0.2, 0.3, 0.4])
    return (best[:, None] + steps).ravel()


def row_pitch(spacing: float, rows: Rows) -> float:
    """Distance from row to row [m] at which all points keep the spacing."""
    return spacing * math.sqrt(0.75) if rows == "staggered" else spacing


def _row_offsets(vertices: Floats, directions: Floats, *, pitch: float) -> Floats:
    """For each direction: offsets that put a row through a corner, and evenly spread ones."""
    _, across = turn(vertices, directions)
    lowest = across.min(axis=1, keepdims=True)
    # of very many corners, as on a drawn arc, every so manieth: neighbours give nearly the same
    # rows
    step = max(1, -(-across.shape[1] // MOST_CORNER_OFFSETS))
    even = lowest + np.arange(UNIFORM_OFFSETS) / UNIFORM_OFFSETS * pitch
    return np.hstack([even, across[:, ::step]])


def _counts(chords: Chords, families: int, *, spacing: float, rows: Rows) -> Integers:
    """Most points of each family."""
    if rows == "loose":
        return filled_counts(chords, families, spacing=spacing)
    return sweep(chords, families, period=spacing, shift=_row_shift(spacing, rows))[0]


def _row_shift(spacing: float, rows: Rows) -> float:
    return spacing / 2 if rows == "staggered" else 0.0


def _lay(shape: Outline, family: _Family, *, spacing: float) -> Pattern:
    """Points of one family."""
    pitch = row_pitch(spacing, family.rows)
    direction = np.array([family.direction])
    chords = cut_rows(shape.edges, direction, offset=np.array([[family.offset]]), pitch=pitch)
    along, piece = _positions(chords, spacing, rows=family.rows)
    rows = chords.row[piece]
    across = family.offset + rows * pitch
    cosine, sine = math.cos(family.direction), math.sin(family.direction)
    points = np.column_stack([along * cosine - across * sine, along * sine + across * cosine])
    points.setflags(write=False)  # patterns are kept and given out again
    rows.setflags(write=False)
    return Pattern(points, rows, math.degrees(family.direction), family.rows == "staggered")


def _positions(chords: Chords, spacing: float, *, rows: Rows) -> tuple[Floats, Integers]:
    """Positions along the rows and, for each, its row piece."""
    if rows != "staggered":
        counts, phases = sweep(chords, 1, period=spacing, shift=0.0)
        if rows == "loose" and counts[0] < filled_counts(chords, 1, spacing=spacing)[0]:
            return fill(chords, spacing)
        return on_grid(chords, np.broadcast_to(phases, chords.start.shape), spacing=spacing)
    group = independent_groups(chords, spacing)
    grouped = Chords(group, chords.row, chords.start, chords.end)
    _, phases = sweep(grouped, int(group.max(initial=-1)) + 1, period=spacing, shift=spacing / 2)
    return on_grid(chords, phases[group] + np.mod(chords.row, 2) * spacing / 2, spacing=spacing)
