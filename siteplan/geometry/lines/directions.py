"""Directions worth laying rows in: edges, diagonals, a scan, and a refinement of the best."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np

from siteplan.geometry.lines.rows import RowRule, Rows, best_rows
from siteplan.geometry.lines.sweep import Points
from siteplan.preferences.table import count_of, figure_of

FINEST_DEG: Final = figure_of("geometry.lines.directions.finest_deg")
DIAGONALS: Final = count_of("geometry.lines.directions.diagonals")


@dataclass(frozen=True, slots=True)
class Search:
    """How thoroughly directions are searched.

    Parameters
    ----------
    step_deg
        Step of the scan of directions, a whole part of 180 [deg].
    edges
        How many of the longest edges give a direction of their own.
    peaks
        How many of the best directions are refined.
    finest_deg
        Step at which the refinement stops [deg].
    """

    step_deg: float
    edges: int
    peaks: int
    finest_deg: float = FINEST_DEG


THOROUGH: Final = Search(
    step_deg=figure_of("geometry.lines.directions.thorough_step_deg"),
    edges=count_of("geometry.lines.directions.thorough_edges"),
    peaks=count_of("geometry.lines.directions.thorough_peaks"),
)
FAIR: Final = Search(
    step_deg=figure_of("geometry.lines.directions.fair_step_deg"),
    edges=count_of("geometry.lines.directions.fair_edges"),
    peaks=count_of("geometry.lines.directions.fair_peaks"),
    finest_deg=figure_of("geometry.lines.directions.fair_finest_deg"),
)
"""Search for figures that are only compared with one another."""
QUICK: Final = Search(
    step_deg=figure_of("geometry.lines.directions.quick_step_deg"),
    edges=count_of("geometry.lines.directions.quick_edges"),
    peaks=count_of("geometry.lines.directions.quick_peaks"),
)


def ranked_rows(rings: Sequence[Points], rule: RowRule, search: Search = THOROUGH) -> list[Rows]:
    """Rows in the best directions, the longest first, each direction a local best.

    Directions are counted from the longest edge, so that turning the region changes nothing.

    Examples
    --------
    >>> lot = [np.array([[0.0, 0.0], [30.0, 0.0], [30.0, 9.0], [0.0, 9.0]])]
    >>> best = ranked_rows(lot, RowRule(spacing_m=3.0, shortest_m=5.0))[0]
    >>> len(best.heights), round(best.total_m, 1), round(best.direction_deg, 1)
    (4, 120.0, 0.0)
    """
    edges = edge_angles(rings)
    step = search.step_deg
    # edges, as rows along one fill up to it; long diagonals, as on a narrow lot the longest row
    # lies along one; a scan, as on a ragged lot neither may be best
    scan = [(edges[0] + k * step) % 180.0 for k in range(round(180.0 / step))]
    directions = list(dict.fromkeys([*edges[: search.edges], *_diagonals(rings), *scan]))
    tried = best_rows(rings, rule, directions)
    # the runners-up beside the best direction climb to the same peak: refine others instead
    peaks = _apart(tried, 1.5 * step)[: search.peaks]
    # the total has a peak where a row just gets past a corner, which a scan by degrees misses
    refined = _refined(rings, rule, peaks, steps_deg=(step / 2, search.finest_deg))
    return _apart([*refined, *tried], 1.5 * step)


def edge_angles(rings: Sequence[Points]) -> list[float]:
    """Directions of the edges, that of the longest edge first, each once [deg]."""
    steps = np.concatenate([np.roll(ring, -1, axis=0) - ring for ring in rings])
    lengths = np.round(np.hypot(steps[:, 0], steps[:, 1]), 6)
    angles = np.degrees(np.arctan2(steps[:, 1], steps[:, 0])) % 180.0
    total: dict[float, float] = {}
    for angle, length in zip(angles, lengths, strict=True):
        near = next(
            (known for known in total if turn_between(known, float(angle)) < 1e-4), float(angle)
        )
        total[near] = total.get(near, 0.0) + float(length)
    return sorted(total, key=lambda angle: -round(total[angle], 4))


def _diagonals(rings: Sequence[Points]) -> list[float]:
    """Directions of the longest lines from vertex to vertex, the longest first [deg].

    Where hardly one row is long enough, it is one of these.
    """
    points = np.concatenate(rings)
    first, second = np.triu_indices(len(points), 1)
    steps = points[second] - points[first]
    lengths = np.round(np.hypot(steps[:, 0], steps[:, 1]), 6)
    longest = np.argsort(-lengths, kind="stable")[:DIAGONALS]
    return [float(a) for a in np.degrees(np.arctan2(steps[longest, 1], steps[longest, 0])) % 180]


def turn_between(first_deg: float, second_deg: float) -> float:
    """Angle between two lines, at most a right angle [deg]."""
    turn = abs(first_deg - second_deg) % 180.0
    return min(turn, 180.0 - turn)


def _apart(candidates: Sequence[Rows], least_deg: float) -> list[Rows]:
    """Rows by falling total, without those whose direction lies next to a better one."""
    kept: list[Rows] = []
    for rows in sorted(candidates, key=lambda rows: -round(rows.total_m, 6)):
        if all(turn_between(rows.direction_deg, other.direction_deg) > least_deg for other in kept):
            kept.append(rows)
    return kept


def _refined(
    rings: Sequence[Points],
    rule: RowRule,
    peaks: Sequence[Rows],
    *,
    steps_deg: tuple[float, float],
) -> list[Rows]:
    """Rows after climbing, each to a local best, with ever finer steps from the first to the last.

    These are of direction.
    """
    first_deg, last_deg = steps_deg
    found, steps = list(peaks), [first_deg] * len(peaks)
    # all of them climb side by side, so that their tries are swept at once
    while climbing := [k for k, step in enumerate(steps) if step > last_deg]:
        turned = [found[k].direction_deg + turn for k in climbing for turn in (-steps[k], steps[k])]
        tries = best_rows(rings, rule, turned)
        for k, pair in zip(climbing, zip(tries[::2], tries[1::2], strict=True), strict=True):
            better = max(pair, key=lambda tried: tried.total_m)
            # halved only where neither side is better: so the climb may also walk off some way
            if better.total_m > found[k].total_m + 1e-6:
                found[k] = better
            else:
                steps[k] /= 2
    return found
