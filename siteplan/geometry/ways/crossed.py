"""How often straight stretches cross shapes, counted as a route pays for it."""

from __future__ import annotations

from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.memory import Memory
from siteplan.geometry.tolerance import TOLERANCE

Points = npt.NDArray[np.float64]
Counts = npt.NDArray[np.float64]

CLEAR_M: Final = 1e-6
"""Two lines cross, or stay apart, beyond doubt where an end of each is so far off the other [m]."""
LINES: Final = (
    shapely.GeometryType.LINESTRING,
    shapely.GeometryType.LINEARRING,
    shapely.GeometryType.MULTILINESTRING,
)
MOST_KNOWN: Final = 50_000
"""Stretches of which the crossings are kept, which bounds the memory taken."""
MOST_PAIRS: Final = 200_000
"""Pairs of a stretch and a side of a shape looked at together, which bounds the memory taken."""


def crossing_counts(
    starts: Points, ends: Points, shapes: npt.NDArray[np.object_], memory: Memory | None = None
) -> npt.NDArray[np.float64]:
    """Crossings of each stretch with each shape: shape (stretches, shapes).

    One a crossing of a line or point, half a one at an end of the stretch, since two stretches that
    meet there would pay for their one crossing twice; and one a metre along a line or in an area.
    ``memory`` holds what was found by overlay, for networks in which the same stretches come again.
    """
    memory = Memory() if memory is None else memory
    counts = np.zeros((len(starts), len(shapes)))
    sides, owners = _sides(shapes)
    step = max(MOST_PAIRS // max(len(sides), 1), 1)
    for first in range(0, len(starts), step):
        some = slice(first, first + step)
        counts[some] = _counted(starts[some], ends[some], shapes, (sides, owners), memory)
    return counts


def _sides(shapes: npt.NDArray[np.object_]) -> tuple[Points, npt.NDArray[np.intp]]:
    """Straight sides of all lines, each with the number of its shape: shape (sides, 2, 2)."""
    parts, owners = shapely.get_parts(shapes, return_index=True)
    lines = _is_line(shapes)[owners]
    parts, owners = parts[lines], owners[lines]
    spots, part = shapely.get_coordinates(parts, return_index=True)
    joined = part[1:] == part[:-1]
    return np.stack([spots[:-1], spots[1:]], axis=1)[joined], owners[part[:-1][joined]]


def _is_line(shapes: npt.NDArray[np.object_]) -> npt.NDArray[np.bool_]:
    """Whether each shape is nothing but lines."""
    return np.isin(shapely.get_type_id(shapes), LINES)


def _counted(
    starts: Points,
    ends: Points,
    shapes: npt.NDArray[np.object_],
    sides_of: tuple[Points, npt.NDArray[np.intp]],
    memory: Memory,
) -> Counts:
    """What is beyond doubt by the side on which the ends of each lie, the rest by overlay."""
    sides, owners = sides_of
    counts = np.zeros((len(starts), len(shapes)))
    doubtful = np.zeros(counts.shape, dtype=bool)
    if len(sides):
        # a side without length has no line, and stays in doubt
        with np.errstate(divide="ignore", invalid="ignore"):
            worth, unclear = _worth(starts, ends, sides)
        # the sides of one shape stand side by side
        present, first = np.unique(owners, return_index=True)
        counts[:, present] = np.add.reduceat(worth, first, axis=1)
        doubtful[:, present] = np.logical_or.reduceat(unclear, first, axis=1)
    other = np.flatnonzero(~_is_line(shapes))
    if len(other):
        lines = np.asarray(shapely.linestrings(np.stack([starts, ends], axis=1)))
        hit, shape = shapely.STRtree(shapes[other]).query(lines, predicate="intersects")
        # a stretch within an area has all of its length there
        shapely.prepare(shapes[other])
        within = shapely.contains_properly(shapes[other[shape]], lines[hit])
        counts[hit[within], other[shape[within]]] = shapely.length(lines[hit[within]])
        doubtful[hit[~within], other[shape[~within]]] = True
    for number in np.flatnonzero(doubtful.any(axis=0)):
        which = np.flatnonzero(doubtful[:, number])
        overlaid = memory.of(_Overlaid, shapes[number])
        counts[which, number] = overlaid.of(starts[which], ends[which])
    return counts


def _worth(starts: Points, ends: Points, sides: Points) -> tuple[Counts, npt.NDArray[np.bool_]]:
    """Crossings of each stretch with each straight side, and where that is not beyond doubt."""
    begin, end = _off(starts, sides), _off(ends, sides)
    stretches = np.stack([starts, ends], axis=1)
    low, high = _off(sides[:, 0], stretches).T, _off(sides[:, 1], stretches).T
    clear = np.ones(begin.shape, dtype=bool)
    for off in (begin, end, low, high):
        clear &= np.abs(off) > CLEAR_M
    across = clear & (begin * end < 0) & (low * high < 0)
    apart = _on_one_side(begin, end) | _on_one_side(low, high)
    length = np.hypot(*(ends - starts).T)[:, None]
    along = length * begin / (begin - end)
    at_end = np.minimum(along, length - along) <= TOLERANCE
    return np.where(across, np.where(at_end, 0.5, 1.0), 0.0), ~apart & ~across


def _off(points: Points, lines: Points) -> Counts:
    """How far each point lies to the left of each line [m]: shape (points, lines)."""
    # about a place in the middle, so that nothing is lost to coordinates that are large
    middle = lines[0, 0]
    (x, y), begin = (points - middle).T, lines[:, 0] - middle
    way = lines[:, 1] - lines[:, 0]
    way = way / np.hypot(way[:, :1], way[:, 1:])
    off = np.multiply.outer(y, way[:, 0])
    off -= np.multiply.outer(x, way[:, 1])
    off -= way[:, 0] * begin[:, 1] - way[:, 1] * begin[:, 0]
    return np.asarray(off)


def _on_one_side(first: Counts, second: Counts) -> npt.NDArray[np.bool_]:
    """Whether both lie beyond doubt on the same side."""
    return np.asarray(
        ((first > CLEAR_M) & (second > CLEAR_M)) | ((first < -CLEAR_M) & (second < -CLEAR_M))
    )


class _Overlaid:
    """Crossings of stretches with one shape, each overlaid once however often it is asked for."""

    def __init__(self, shape: BaseGeometry) -> None:
        self._shape = shape
        self._known: dict[bytes, float] = {}

    def of(self, starts: Points, ends: Points) -> Counts:
        """Crossings of each stretch."""
        names = [stretch.tobytes() for stretch in np.hstack([starts, ends])]
        if len(self._known) > MOST_KNOWN:
            self._known.clear()
        new = [row for row, name in enumerate(names) if name not in self._known]
        if new:
            counts = _overlaid(starts[new], ends[new], self._shape)
            self._known |= zip([names[row] for row in new], counts.tolist(), strict=True)
        return np.array([self._known[name] for name in names])


def _overlaid(starts: Points, ends: Points, shape: BaseGeometry) -> Counts:
    """Crossings of each stretch with a shape, by overlay."""
    lines = np.asarray(shapely.linestrings(np.stack([starts, ends], axis=1)))
    common = np.asarray(shapely.intersection(lines, shape))
    counts: Counts = shapely.length(common)
    pieces, owners = shapely.get_parts(common, return_index=True)
    only = shapely.get_type_id(pieces) == 0
    spots, owners = shapely.get_coordinates(pieces[only]), owners[only]
    at_end = np.minimum(np.hypot(*(spots - starts[owners]).T), np.hypot(*(spots - ends[owners]).T))
    np.add.at(counts, owners, np.where(at_end <= TOLERANCE, 0.5, 1.0))
    return counts
