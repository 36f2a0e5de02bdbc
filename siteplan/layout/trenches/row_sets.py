"""Rows that trenches may take in a few directions, and how far a pipe runs to any place on them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from copy import copy
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import cKDTree
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.lines.sweep import chords_at, frame_of, rings_of, sweep_edges
from siteplan.layout.way import Ways
from siteplan.preferences.table import count_of, figure_of

Values = npt.NDArray[np.float64]
Points = npt.NDArray[np.float64]

OFFSETS: Final = count_of("layout.trenches.row_sets.offsets")
SAMPLE_M: Final = figure_of("layout.trenches.row_sets.sample_m")
NODE_M: Final = figure_of("layout.trenches.row_sets.node_m")
EDGE_NODES: Final = count_of("layout.trenches.row_sets.edge_nodes")
NEAR: Final = count_of("layout.trenches.row_sets.near")


class PipeField:
    """How far a pipe runs from the building to any place in an area, looked up quickly.

    Ways are worked out exactly at places a few metres apart; from there to a place asked for they
    are led on straight.
    """

    def __init__(self, area: BaseGeometry, ways: Ways) -> None:
        west, south, east, north = area.bounds
        xs, ys = np.meshgrid(np.arange(west, east, NODE_M), np.arange(south, north, NODE_M))
        grid = np.stack([xs.ravel(), ys.ravel()], axis=1)
        edge = np.concatenate(rings_of(area.segmentize(NODE_M)))
        edge = edge[:: max(1, len(edge) // EDGE_NODES)]
        inside = shapely.contains_xy(area, grid[:, 0], grid[:, 1])
        nodes = np.concatenate([grid[inside], edge])
        lengths = ways.to(nodes)
        known = np.isfinite(lengths)
        self._nodes, self._lengths = nodes[known], lengths[known]
        self._tree = cKDTree(self._nodes) if known.any() else None

    def beside(self, joined: LineString | MultiLineString) -> PipeField:
        """The same where a header that is there already may be joined anywhere on it."""
        other = copy(self)
        gaps = shapely.distance(joined, shapely.points(self._nodes))
        other._lengths = np.minimum(self._lengths, gaps)
        return other

    def at(self, points: Points) -> Values:
        """Pipe from the building, or from a header that is there, to each point [m]."""
        if self._tree is None:
            return np.full(len(points), math.inf)
        near = min(NEAR, len(self._lengths))
        gaps, index = (
            np.reshape(found, (len(points), near)) for found in self._tree.query(points, k=near)
        )
        return np.asarray((gaps + self._lengths[index]).min(axis=1))


@dataclass(frozen=True, slots=True, eq=False)
class Chord:
    """A stretch of a row inside the area: where on it a header may come, and how far that is."""

    height: float
    start: float
    end: float
    places: Values
    ways: Values
    nearest: float

    @property
    def length(self) -> float:
        """Length of the chord [m]."""
        return self.end - self.start


RowSets = tuple[tuple[float, list[list["Chord"]]], ...]
"""Rows of several directions and places: direction [deg], and the chords row by row."""


def row_sets(
    area: BaseGeometry, rule: RowRule, directions_deg: Sequence[float], field: PipeField
) -> RowSets:
    """Rows along each direction, at a few places each."""
    return tuple(
        (direction, _rows(area, rule, direction, offset=offset / OFFSETS, field=field))
        for direction in directions_deg
        for offset in range(OFFSETS)
    )


def most_trenches(sets: RowSets, length_m: float, spacing_m: float) -> int:
    """How many trenches of one length the two best directions hold together.

    Each is counted on the whole ground, so that more are hardly ever found in blocks.
    """
    held: dict[float, int] = {}
    for direction, rows in sets:
        number = sum(
            int((chord.length + spacing_m) / (length_m + spacing_m) + 1e-9)
            for row in rows
            for chord in row
        )
        held[direction] = max(held.get(direction, 0), number)
    return sum(sorted(held.values())[-2:])


def _rows(
    area: BaseGeometry, rule: RowRule, direction_deg: float, *, offset: float, field: PipeField
) -> list[list[Chord]]:
    """Chords of the rows of one direction, row by row; rows without any are empty."""
    edges = sweep_edges(rings_of(area), direction_deg)
    low, high = edges.levels[0], edges.levels[-1]
    heights = np.arange(low + offset * rule.spacing_m, high + 1e-9, rule.spacing_m)
    chords = chords_at(edges, heights, above=True)
    # a shorter chord holds no trench of any length
    long_enough = chords.length >= max(rule.shortest_m, 1e-6)
    turn_back = frame_of(direction_deg).T
    spans = list(
        zip(
            chords.line[long_enough],
            chords.start[long_enough],
            chords.end[long_enough],
            strict=True,
        )
    )
    places = [_places(float(start), float(end)) for _, start, end in spans]
    if not spans:
        return []
    # the ways from all places of a direction are looked up at once, and parted by chord again
    owners = np.repeat([line for line, _, _ in spans], [len(each) for each in places])
    spots = np.stack([np.concatenate(places), heights[owners]], axis=1) @ turn_back
    ways = np.split(field.at(spots), np.cumsum([len(each) for each in places])[:-1])
    rows: list[list[Chord]] = [[] for _ in heights]
    for (line, start, end), spot, way in zip(spans, places, ways, strict=True):
        row = int(line)
        rows[row].append(
            Chord(float(heights[row]), float(start), float(end), spot, way, float(way.min()))
        )
    return rows


def _places(start: float, end: float) -> Values:
    """Places on a chord at whole steps of its direction, and its ends [m]."""
    first, last = math.ceil(start / SAMPLE_M + 1e-6), math.floor(end / SAMPLE_M - 1e-6)
    return np.array([start, *(k * SAMPLE_M for k in range(first, last + 1)), end])
