"""How far a pipe runs from the building to any place on the ground, looked up quickly."""

from __future__ import annotations

import math
from collections.abc import Sequence
from copy import copy
from itertools import pairwise
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from scipy.ndimage import map_coordinates
from scipy.spatial import cKDTree
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import rings_of
from siteplan.layout.way import Ways
from siteplan.preferences.table import count_of, figure_of

Values = npt.NDArray[np.float64]
Points = npt.NDArray[np.float64]

CELL_M: Final = figure_of("layout.trenches.pipe_field.cell_m")
MOST_CELLS: Final = count_of("layout.trenches.pipe_field.most_cells")
NODE_M: Final = figure_of("layout.trenches.pipe_field.node_m")
MOST_NODES: Final = count_of("layout.trenches.pipe_field.most_nodes")
EDGE_NODES: Final = count_of("layout.trenches.pipe_field.edge_nodes")
NEAR: Final = count_of("layout.trenches.pipe_field.near")
OUT_OF_REACH_M: Final = 1e9
"""Stands for the length of a way where there is none [m]."""


class PipeField:
    """How far a pipe runs from the building to any place in an area.

    Ways are worked out exactly at places a few metres apart; from there they are led on straight to
    the corners of small cells, and between those corners they are interpolated.
    """

    def __init__(self, area: BaseGeometry, ways: Ways) -> None:
        west, south, east, north = area.bounds
        # a large lot gets larger cells
        cell = max(CELL_M, math.sqrt((east - west) * (north - south) / MOST_CELLS))
        shape = (math.ceil((east - west) / cell) + 2, math.ceil((north - south) / cell) + 2)
        steps = np.indices(shape).reshape(2, -1).T
        self._origin, self._cell = np.array([west, south]), cell
        self._corners: Points = self._origin + steps * cell
        lengths = _led_on(self._corners, *_nodes(area, ways))
        self._lengths: Values = lengths.reshape(shape)

    def beside(self, headers: Sequence[Points]) -> PipeField:
        """The same where headers that are there already may be joined anywhere on them.

        ``headers``: points of each, in order; one point, or several joined by straight pipe.
        """
        other = copy(self)
        gaps = np.min([_gaps(self._corners, header) for header in headers], axis=0)
        other._lengths = np.minimum(self._lengths, gaps.reshape(self._lengths.shape))
        return other

    def at(self, points: Points) -> Values:
        """Pipe from the building, or from a header that is there, to each point [m].

        It is ``OUT_OF_REACH_M`` or more where no pipe gets to.
        """
        places = (points - self._origin) / self._cell
        return np.asarray(map_coordinates(self._lengths, places.T, order=1, mode="nearest"))


def _nodes(area: BaseGeometry, ways: Ways) -> tuple[Points, Values]:
    """Places all over an area and on its edges, and the pipe to each that a pipe gets to [m]."""
    west, south, east, north = area.bounds
    step = max(NODE_M, math.sqrt((east - west) * (north - south) / MOST_NODES))
    xs, ys = np.meshgrid(np.arange(west, east, step), np.arange(south, north, step))
    grid = np.stack([xs.ravel(), ys.ravel()], axis=1)
    edge = np.concatenate(rings_of(area.segmentize(step)))
    edge = edge[:: max(1, len(edge) // EDGE_NODES)]
    inside = shapely.contains_xy(area, grid[:, 0], grid[:, 1])
    nodes = np.concatenate([grid[inside], edge])
    lengths = ways.to(nodes)
    known = np.isfinite(lengths)
    return nodes[known], lengths[known]


def _gaps(points: Points, line: Points) -> Values:
    """Distance of each point from a line through some places [m]."""
    squares = np.full(len(points), np.inf)
    for begin, end in pairwise(line if len(line) > 1 else [*line, *line]):
        step, away = end - begin, points - begin
        share = np.clip(away @ step / max(float(step @ step), 1e-12), 0.0, 1.0)
        off = away - share[:, None] * step
        squares = np.minimum(squares, off[:, 0] ** 2 + off[:, 1] ** 2)
    return np.asarray(np.sqrt(squares))


def _led_on(points: Points, nodes: Points, lengths: Values) -> Values:
    """Pipe to each point over the nodes near it [m]."""
    if not len(nodes):
        return np.full(len(points), OUT_OF_REACH_M)
    near = min(NEAR, len(nodes))
    found = cKDTree(nodes).query(points, k=near)
    gaps, index = (np.reshape(part, (-1, near)) for part in found)
    return np.asarray((gaps + lengths[index]).min(axis=1))
