"""Directions of rows of trenches: along and across the edges of the ground, and some between."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.directions import edge_angles, turn_between
from siteplan.geometry.lines.sweep import polygonal, rings_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.preferences.table import count_of, figure_of

EDGES: Final = count_of("layout.trenches.turns.edges")
EDGE_M: Final = figure_of("layout.trenches.turns.edge_m")
LINE_M: Final = figure_of("layout.trenches.turns.line_m")
NEARLY: Final = figure_of("layout.trenches.turns.nearly")
STEP_DEG: Final = figure_of("layout.trenches.turns.step_deg")


@dataclass(frozen=True, slots=True)
class Turns:
    """Directions of rows [deg]: of drawn lines, of all edges straightened, and more."""

    lines: tuple[float, ...]
    edges: tuple[float, ...]
    others: tuple[float, ...]


def directions_of(area: BaseGeometry) -> Turns:
    """Directions along and across the longest straight edges of an area, and some between."""
    edges = edge_angles(rings_of(polygonal(area.simplify(EDGE_M))) or rings_of(area))
    # an arc is drawn in short pieces: rows along one follow nothing that anybody sees on the ground
    lines = _squared(_drawn_lines(area) or edges)
    # counted from the longest edge, so that turning the lot changes nothing
    scan = [(lines[0] + k * STEP_DEG) % 180.0 for k in range(1, round(180.0 / STEP_DEG))]
    all_edges = _squared(edges)
    return Turns(lines, all_edges, different([*all_edges, *scan]))


def _squared(edges: Sequence[float]) -> tuple[float, ...]:
    """Directions along and across the first edges."""
    return different([(edge + turn) % 180.0 for edge in edges[:EDGES] for turn in (0.0, 90.0)])


def _drawn_lines(area: BaseGeometry) -> list[float]:
    """Directions of edges that are straight for as long as a drawn line is, longest first [deg].

    Of nearly the same directions the longest one stands for all.
    """
    total: dict[float, float] = {}
    for ring in rings_of(area.simplify(TOLERANCE)):
        steps = np.roll(ring, -1, axis=0) - ring
        for (x, y), length in zip(steps.tolist(), np.hypot(*steps.T).tolist(), strict=True):
            if length >= LINE_M:
                angle = round(math.degrees(math.atan2(y, x)) % 180.0, 6) % 180.0
                total[angle] = total.get(angle, 0.0) + length
    kept: list[float] = []
    for angle in sorted(total, key=lambda angle: -round(total[angle], 4)):
        if all(turn_between(angle, other) > NEARLY for other in kept):
            kept.append(angle)
    return kept


def different(directions: Sequence[float]) -> tuple[float, ...]:
    """Directions [deg] of which no two are the same, in their order."""
    kept: list[float] = []
    for direction in directions:
        if all(turn_between(direction, other) > 0.01 for other in kept):
            kept.append(direction)
    return tuple(kept)
