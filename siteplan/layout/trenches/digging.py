"""Which trenches of a field to dig, and in which order."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from shapely import LineString, Point

from siteplan.geometry.lines.bends import is_closed
from siteplan.geometry.lines.rows import RowRule
from siteplan.layout.way import Ways
from siteplan.preferences.table import count_of, figure_of, figures_of

STARTS: Final = count_of("layout.trenches.digging.starts")
HIDDEN: Final = 1000.0
"""Way to a place that is out of sight of every bend [m]."""
APART_COST: Final = figure_of("layout.trenches.digging.apart_cost")
NEIGHBOUR: Final = figure_of("layout.trenches.digging.neighbour")
MORE: Final = count_of("layout.trenches.digging.more")
MANY_MORE: Final = figures_of("layout.trenches.digging.many_more")
ANGLE_STEP_DEG: Final = 0.01
"""Difference of direction up to which trenches belong to one set of rows [deg]."""

Points = npt.NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Choice:
    """Trenches in the order of choosing, and what digging them may cost [m]."""

    lines: list[LineString]
    cost_m: float


def trench_choices(
    lines: Sequence[LineString],
    target_m: float,
    *,
    rule: RowRule,
    ways: Ways,
    along_deg: float | None,
) -> list[Choice]:
    """Choices that carry the target, each grown from a trench near an entry, without doubles.

    To a choice is added, again and again, the trench that needs the least header for each metre
    it gives, a neighbour rather than one that stands apart; joined at ends of one side, or at
    whichever end is nearer. Choices are grown from all trenches, and from those alone that may
    all be cut to an equal share of the target.
    """
    ends = np.array([[line.coords[0], line.coords[-1]] for line in lines])
    # An end in a corner that no bend sees still has a way: the header finds it with finer bends.
    reach = np.minimum(ways.to(ends.reshape(-1, 2)).reshape(-1, 2), HIDDEN)
    shapes = np.array(lines, dtype=object)
    apart = shapely.distance(shapes[:, None], shapes[None]) > NEIGHBOUR * rule.spacing_m
    lengths = shapely.length(shapes)
    open_ = np.array([not is_closed(line) for line in lines])
    choices: dict[frozenset[int], tuple[float, list[int]]] = {}
    # joined on one side a field has one straight header; joined anywhere it may have less of it
    for allowed in _sides(ends, along_deg):
        field = _Field(ends, lengths, np.where(allowed, reach, math.inf), apart)
        # trenches of one length give even circuits: more of them, but no balancing valves
        for alike in [field, *_equal_shares(field, open_, target_m, rule.shortest_m)]:
            for kept, cost in _grown_near(alike, target_m):
                known = choices.get(frozenset(kept), (math.inf, kept))
                choices[frozenset(kept)] = min(known, (cost, kept))
    return [Choice([lines[index] for index in kept], cost) for cost, kept in choices.values()]


@dataclass(frozen=True, slots=True)
class _Field:
    """Trench ends, lengths, pipe from an entry to each end (infinite: not to be joined there).

    ``apart`` tells for every two trenches whether they are no neighbours.
    """

    ends: Points
    lengths: Points
    reach: Points
    apart: npt.NDArray[np.bool_]


def _sides(ends: Points, along_deg: float | None) -> list[npt.NDArray[np.bool_]]:
    """Which ends may be joined: those on one side, those on the other, any."""
    both = np.ones(ends.shape[:2], dtype=bool)
    if along_deg is None:
        return [both]
    turn = math.radians(along_deg)
    along = ends @ np.array([math.cos(turn), math.sin(turn)])
    first = np.stack([along[:, 0] <= along[:, 1], along[:, 0] > along[:, 1]], axis=1)
    return [first, ~first, both]


def _equal_shares(
    field: _Field, open_: npt.NDArray[np.bool_], target_m: float, shortest_m: float
) -> list[_Field]:
    """Fields of the trenches that hold an equal share of the target, for a few numbers of them."""
    fewest = max(1, math.ceil(target_m / float(field.lengths.max()) - 1e-9))
    shares = []
    numbers = [fewest + more for more in range(MORE + 1)]
    numbers += [math.ceil(fewest * times) for times in MANY_MORE]
    for number in dict.fromkeys(numbers):
        share = target_m / number
        enough = open_ & (field.lengths >= share - 1e-9)
        alike = enough.all() and number == fewest
        if share >= shortest_m and number <= enough.sum() and not alike:
            reach = np.where(enough[:, None], field.reach, math.inf)
            lengths = np.where(enough, share, field.lengths)
            shares.append(replace(field, lengths=lengths, reach=reach))
    return shares


def _grown_near(field: _Field, target_m: float) -> Iterator[tuple[list[int], float]]:
    """Trenches that reach the target, grown from those nearest to an entry, and their cost [m]."""
    nearest = field.reach.min(axis=1)
    # growing is greedy, so that its first trench decides much: a few beginnings, not only the
    # nearest
    for start in np.argsort(nearest, kind="stable")[:STARTS]:
        if math.isfinite(nearest[start]):
            picked, header = _grown(field, int(start), target_m)
            if field.lengths[picked].sum() >= target_m - 2e-9:
                # the last trench may be so long that an earlier one is not needed any more
                kept = _without_needless(picked, field.lengths, target_m)
                spare = float(field.lengths[kept].sum() - field.lengths.max())
                yield kept, header + max(target_m, spare)


def _grown(field: _Field, start: int, target_m: float) -> tuple[list[int], float]:
    """Indices of trenches that reach the target, and an estimate of their header [m]."""
    cost = field.reach.copy()
    alone = np.ones(len(cost), dtype=bool)
    picked: list[int] = []
    header, total, chosen = 0.0, 0.0, start
    while True:
        end = int(np.argmin(cost[chosen]))
        header += float(cost[chosen, end]) + (APART_COST if picked and alone[chosen] else 0.0)
        total += float(field.lengths[chosen])
        picked.append(chosen)
        if total >= target_m - 1e-9 or len(picked) == len(cost):
            return picked, header
        steps = np.hypot(*np.moveaxis(field.ends - field.ends[chosen, end], 2, 0))
        cost = np.minimum(cost, np.where(np.isfinite(field.reach), steps, math.inf))
        alone &= field.apart[chosen]
        # a trench by itself across the lot means moving the machine there
        added = cost.min(axis=1) + APART_COST * alone
        # header for a metre of trench: by header alone the shortest trenches would be picked
        worth = np.round(added / field.lengths, 9)
        worth[picked] = math.inf
        chosen = int(np.argmin(worth))
        if not math.isfinite(worth[chosen]):
            return picked, header


def _without_needless(picked: list[int], lengths: Points, target_m: float) -> list[int]:
    """Picked trenches without those that the target does not need, the last picked first."""
    kept = list(picked)
    # the last picked gave least for its header
    for index in reversed(picked):
        if len(kept) > 1 and sum(lengths[kept]) - lengths[index] >= target_m - 1e-9:
            kept.remove(index)
    return kept


def digging_order(
    lines: Sequence[LineString], entry: Point, *, spacing_m: float
) -> list[LineString]:
    """Lines field by field and row by row, from what lies nearest to the entry on.

    A field is a set of parallel lines each of which has a neighbour in it; a line with bends is
    one by itself.
    """
    # a line along a contour may begin with one point twice, and then has no direction there
    lines = [shapely.remove_repeated_points(line) for line in lines]
    waiting = sorted(lines, key=lambda line: round(line.distance(entry), 6))
    ordered: list[LineString] = []
    while waiting:
        field = _field_of(waiting[0], waiting, reach_m=NEIGHBOUR * spacing_m)
        waiting = [line for line in waiting if line not in field]
        ordered += _row_by_row(field, entry)
    return ordered


def _field_of(seed: LineString, lines: Sequence[LineString], *, reach_m: float) -> list[LineString]:
    field, fresh = [seed], [seed]
    if _is_bent(seed):
        return field
    others = [
        line
        for line in lines
        if line != seed and not _is_bent(line) and _angle_key(line) == _angle_key(seed)
    ]
    # trenches of a direction a machine's move apart are one field: it digs them in a row
    while fresh:
        fresh = [
            line
            for line in others
            if min(line.distance(fresh_line) for fresh_line in fresh) <= reach_m
        ]
        others = [line for line in others if line not in fresh]
        field += fresh
    return field


def _is_bent(line: LineString) -> bool:
    return len(line.coords) > 2


def _angle_key(line: LineString) -> int:
    (x1, y1), (x2, y2) = line.coords[0], line.coords[-1]
    angle = math.degrees(math.atan2(y2 - y1, x2 - x1)) % 180.0
    return round(angle / ANGLE_STEP_DEG) % round(180.0 / ANGLE_STEP_DEG)


def _row_by_row(rows: list[LineString], entry: Point) -> list[LineString]:
    if len(rows) == 1:
        return rows
    (x1, y1), (x2, y2) = rows[0].coords[0], rows[0].coords[-1]
    normal = np.array([y1 - y2, x2 - x1]) / math.hypot(x2 - x1, y2 - y1)
    heights = [float(np.dot(line.coords[0], normal)) for line in rows]
    aim = float(np.dot(entry.coords[0], normal))
    # Count from the side of the field on which the entry lies.
    turn = 1.0 if abs(min(heights) - aim) <= abs(max(heights) - aim) else -1.0
    keyed = zip(heights, rows, strict=True)
    order = sorted(
        keyed, key=lambda pair: (round(turn * pair[0], 4), round(pair[1].distance(entry), 6))
    )
    return [line for _, line in order]
