"""Curves that keep their distance from themselves: how sharply they bend, and how near they return.

Two points of a curve that never bends tighter than a radius ``r`` are at least as far apart as two
points of a circle of that radius with the same way between them, ``2 r sin(way / 2r)`` (theorem of
Schur, for ways up to half the circle). A curve keeps a spacing from itself where its points are
that far apart until the chord reaches the spacing, and the spacing apart from there on.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import numpy.typing as npt
import shapely
from scipy.spatial import cKDTree
from shapely import LineString, MultiLineString
from shapely.geometry.base import BaseGeometry
from shapely.ops import substring

from siteplan.geometry.lines.sweep import Points, Values
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.preferences.table import count_of

CHORD_ERROR: Final = 0.01
"""How far a bend drawn with straight pieces may depart from the curve it stands for [m].

A corner of up to 25 degrees or so is no bend at a radius of 1.5 m.
"""
TOUCH: Final = TOLERANCE / 10
"""Vertices nearer to one another than this are one [m]."""
SAMPLES: Final = count_of("geometry.lines.bends.samples")
HOOK_M: Final = 0.05
"""Shorter than this the end of a curve that turns by 60 degrees and more is left out [m]."""
STARTS: Final = count_of("geometry.lines.bends.starts")


@dataclass(frozen=True, slots=True)
class BendRule:
    """What a curve must keep: distance from itself, and radius of its bends [m]."""

    spacing_m: float
    radius_m: float

    def least(self, way_m: Values) -> Values:
        """Least distance of two points of one curve with a way between them [m].

        Examples
        --------
        >>> BendRule(3.0, 1.5).least(np.array([0.0, 1.5 * math.pi / 3, 99.0])).round(3).tolist()
        [0.0, 1.5, 3.0]
        """
        full = 2 * self.radius_m * math.asin(min(1.0, self.spacing_m / (2 * self.radius_m)))
        chord = 2 * self.radius_m * np.sin(np.minimum(way_m, full) / (2 * self.radius_m))
        least: Values = np.minimum(chord, self.spacing_m)
        return least


def is_closed(line: LineString) -> bool:
    """Whether a line ends where it begins."""
    return len(line.coords) > 3 and line.coords[0] == line.coords[-1]


def across(ring: LineString) -> float:
    """Width of a closed line at its narrowest: side of the least rectangle [m].

    Examples
    --------
    >>> across(LineString([(0, 0), (9, 0), (9, 4), (0, 4), (0, 0)]))
    4.0
    """
    corners = shapely.get_coordinates(shapely.minimum_rotated_rectangle(ring))
    return min(math.dist(corners[place], corners[place + 1]) for place in (0, 1))


def lawful_pieces(curve: LineString, rule: BendRule, *, shortest_m: float) -> list[LineString]:
    """Pieces of a curve that keep the rule, each and with one another; the curve if it does.

    A closed curve that keeps the rule stays closed. Of a curve that does not, stretches are left
    out where it bends too sharply or comes back too near.

    Examples
    --------
    >>> corner = LineString([(0, 0), (20, 0), (20, 10)])
    >>> [round(line.length, 1) for line in lawful_pieces(corner, BendRule(3, 1.5), shortest_m=5)]
    [20.0, 7.0]
    """
    if not clashes(curve, rule):
        return [curve]
    # what is cut out depends on where the walk begins: a corner is lost anyway, so begin at one
    choices = [_walked(start, rule, shortest_m) for start in _begun_at_corners(curve)]
    return max(choices, key=lambda lines: round(sum(line.length for line in lines), 6))


def clashes(curve: LineString, rule: BendRule) -> bool:
    """Whether a curve bends too sharply or comes back too near to itself."""
    ways, points = _sampled(curve, rule)
    return len(_breaches(ways, points, rule, around=is_closed(curve))) > 0


def kept_apart(
    lines: Sequence[LineString],
    spacing_m: float,
    *,
    shortest_m: float,
    others: Sequence[LineString] = (),
) -> list[LineString]:
    """Lines cut so that every two keep a spacing: a later one gives way to an earlier one.

    ``others`` come first and are not given back.
    """
    kept: list[LineString] = []
    for line in lines:
        near = [
            other_line
            for other_line in (*others, *kept)
            if other_line.distance(line) < spacing_m - TOLERANCE / 10
        ]
        kept += beyond(line, near, spacing_m, shortest_m=shortest_m) if near else [line]
    return kept


def without_hooks(line: LineString) -> LineString:
    """Line without the last bit of an end that turns off it sharply: a cut leaves such hooks.

    Examples
    --------
    >>> without_hooks(LineString([(0.004, 0.001), (0, 0), (9, 0), (9, 9)])).wkt
    'LINESTRING (0 0, 9 0, 9 9)'
    """
    if is_closed(line):
        return line
    points = shapely.get_coordinates(line)
    for _ in range(2):
        while len(points) > 2 and _is_hook(points[:3]):
            points = points[1:]
        points = points[::-1]
    return line if len(points) == len(line.coords) else LineString(points)


def _is_hook(points: Points) -> bool:
    first, second = np.diff(points, axis=0)
    along = float(first @ second)
    return bool(np.hypot(*first) < HOOK_M and along < 0.5 * np.hypot(*first) * np.hypot(*second))


def beyond(
    line: LineString, near: Sequence[LineString], spacing_m: float, *, shortest_m: float
) -> list[LineString]:
    """Pieces of a line that are a spacing away from others, and from one another.

    Examples
    --------
    What is left of a ring keeps the spacing between its own two ends as well.

    >>> ring = LineString(shapely.Point(0, 0).buffer(6.0, quad_segs=16).exterior.coords)
    >>> [opened] = beyond(ring, [LineString([(8.9, 0), (12, 0)])], 3.0, shortest_m=5.0)
    >>> gap = shapely.Point(opened.coords[0]).distance(shapely.Point(opened.coords[-1]))
    >>> bool(2.98 < gap < 3.3)
    True
    """
    rest = shapely.difference(line, around(MultiLineString(list(near)), spacing_m))
    pieces = [piece for piece in _lines(rest) if piece.length >= shortest_m]
    # a ring that was cut open comes round to its own beginning: its ends must keep apart as well
    if is_closed(line):
        rule = BendRule(spacing_m, spacing_m / 2)
        whole = [lawful_pieces(piece, rule, shortest_m=shortest_m) for piece in pieces]
        pieces = [part for parts in whole for part in parts if part.length >= shortest_m]
    # the longest keeps its place, as a later one gives way to an earlier one
    pieces.sort(key=lambda piece: -round(piece.length, 6))
    return kept_apart(pieces, spacing_m, shortest_m=shortest_m)


def around(shape: BaseGeometry, distance_m: float) -> BaseGeometry:
    """Ground nearer to lines or polygons than a distance, without cracks [m].

    Rounding leaves slivers between the pieces of a widened shape; snapping closes them.
    """
    snapped = shapely.set_precision(grow(shape, distance_m), TOUCH)
    return shapely.set_precision(snapped, 0.0)


def cut_to(
    curve: LineString, spacing_m: float, *, shortest_m: float, longest_m: float
) -> list[LineString]:
    """Equal pieces of a curve, none longer than allowed, every two a spacing apart.

    A closed curve is cut first in the middle of its longest straight side.

    Examples
    --------
    >>> line = LineString([(0, 0), (50, 0)])
    >>> [piece.length for piece in cut_to(line, 2.0, shortest_m=5.0, longest_m=30.0)]
    [24.0, 24.0]
    """
    length = float(curve.length)
    if length <= longest_m + TOLERANCE / 10:
        return [curve]
    closed = is_closed(curve)
    whole = length if closed else length + spacing_m
    count = math.ceil(whole / (longest_m + spacing_m) - 1e-9)
    piece = whole / count - spacing_m
    # equal pieces would all be too short: rather one fewer, of full length, and a wider gap
    if piece < shortest_m and count > 1:
        count, piece = count - 1, longest_m
    # both ends of the gap then lie on one straight side, where they are easiest to dig and to join
    line = begun_at(curve, _middle_of_longest_side(curve)) if closed else curve
    first = spacing_m / 2 if closed else 0.0
    step = length / count if closed else (length - piece) / max(count - 1, 1)
    if closed and count == 1:
        gap = _gap_of(line, spacing_m)
        whole_piece = part_of(line, gap / 2, min(length - gap / 2, gap / 2 + piece))
        return [whole_piece] if whole_piece.length >= shortest_m else []
    starts = [first + k * step for k in range(count)]
    pieces = [part_of(line, start, start + piece) for start in starts]
    return kept_apart(pieces, spacing_m, shortest_m=shortest_m)


def _gap_of(ring: LineString, spacing_m: float) -> float:
    """Way to leave out around the beginning of a ring so that its ends are a spacing apart [m].

    Around a bend that is more than the spacing; on a half circle, half of pi times as much.
    """
    low, high = spacing_m, spacing_m * math.pi / 2 + TOLERANCE
    # on a straight side the way is the distance, and no search is needed
    if _ends_apart(ring, low) >= spacing_m:
        return low
    while high - low > TOLERANCE / 10:
        middle = (low + high) / 2
        wide = _ends_apart(ring, middle) >= spacing_m
        low, high = (low, middle) if wide else (middle, high)
    return high


def _ends_apart(ring: LineString, gap_m: float) -> float:
    first, last = ring.interpolate(gap_m / 2), ring.interpolate(ring.length - gap_m / 2)
    return float(first.distance(last))


def _lines(shape: BaseGeometry) -> list[LineString]:
    """Lines of any shape, joined where they meet."""
    merged = shapely.line_merge(shape) if shape.geom_type == "MultiLineString" else shape
    clean = shapely.remove_repeated_points(merged, TOUCH)
    return [line for line in shapely.get_parts(clean) if isinstance(line, LineString)]


def part_of(line: LineString, start_m: float, end_m: float) -> LineString:
    """Part of a line between two distances along it [m].

    Where it ends a hair beyond a corner, or begins a hair before one, the corner is left out: a
    step of no length has no direction.

    Examples
    --------
    >>> line = LineString([(0, 0), (10, 0), (10, 10)])
    >>> [(round(x, 6), round(y, 6)) for x, y in part_of(line, 0.0, 10.0 + 1e-13).coords]
    [(0.0, 0.0), (10.0, 0.0)]
    """
    part = LineString(substring(line, start_m, end_m).coords)
    return shapely.remove_repeated_points(part, TOUCH)


def _sampled(curve: LineString, rule: BendRule) -> tuple[Values, Points]:
    """Ways and places of the vertices of a curve, and of points between them."""
    points = shapely.get_coordinates(curve)
    steps = np.hypot(*np.diff(points, axis=0).T)
    vertices = np.concatenate([[0.0], np.cumsum(steps)])
    # vertices alone would miss two long sides that come near one another between them
    count = math.ceil(vertices[-1] * SAMPLES / rule.spacing_m) + 1
    ways = np.unique(np.concatenate([vertices, np.linspace(0.0, vertices[-1], count)]))
    x, y = (np.interp(ways, vertices, points[:, axis]) for axis in (0, 1))
    return ways, np.column_stack([x, y])


def _breaches(
    ways: Values, points: Points, rule: BendRule, *, around: bool
) -> npt.NDArray[np.intp]:
    """Pairs of samples that are too near to one another, each with the smaller index first."""
    # bends are drawn with chords, which come nearer than the curve they stand for: this much is no
    # breach
    pairs = cKDTree(points).query_pairs(rule.spacing_m - CHORD_ERROR, output_type="ndarray")
    way = ways[pairs[:, 1]] - ways[pairs[:, 0]]
    if around:
        way = np.minimum(way, ways[-1] - way)
    gaps = np.hypot(*(points[pairs[:, 1]] - points[pairs[:, 0]]).T)
    narrow: npt.NDArray[np.intp] = pairs[gaps < rule.least(way) - CHORD_ERROR]
    return narrow


def _begun_at_corners(curve: LineString) -> list[LineString]:
    """The curve both ways; a closed one begun at each of its sharpest corners."""
    starts = [curve]
    if is_closed(curve):
        points = shapely.get_coordinates(curve)[:-1]
        turns = np.abs(_turns(points))
        sharpest = np.argsort(-np.round(turns, 6), kind="stable")[:STARTS]
        ways = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
        starts = [begun_at(curve, float(ways[index])) for index in sharpest]
    return [*starts, *(line.reverse() for line in starts)]


def _turns(points: Points) -> Values:
    """Turn at each vertex of an open coordinate array taken as a ring [rad]."""
    before, after = points - np.roll(points, 1, axis=0), np.roll(points, -1, axis=0) - points
    cross = before[:, 0] * after[:, 1] - before[:, 1] * after[:, 0]
    turns: Values = np.arctan2(cross, (before * after).sum(axis=1))
    return turns


def begun_at(curve: LineString, way_m: float) -> LineString:
    """Closed curve that begins at a distance along it [m]."""
    if not 0 < way_m < curve.length:
        return curve
    first, second = part_of(curve, way_m, curve.length), part_of(curve, 0.0, way_m)
    turned = LineString([*first.coords, *second.coords[1:-1], first.coords[0]])
    return shapely.remove_repeated_points(turned, TOUCH)


def _middle_of_longest_side(curve: LineString) -> float:
    spans: Points = np.diff(shapely.get_coordinates(curve), axis=0)
    steps: Values = np.hypot(spans[:, 0], spans[:, 1]).round(6)
    longest = int(np.argmax(steps))
    return float(steps[:longest].sum() + steps[longest] / 2)


def _walked(curve: LineString, rule: BendRule, shortest_m: float) -> list[LineString]:
    """Pieces found by walking along a curve, each as long as it keeps the rule."""
    ways, points = _sampled(curve, rule)
    last = np.full(len(ways), -1)
    pairs = _breaches(ways, points, rule, around=False)
    np.maximum.at(last, pairs[:, 1], pairs[:, 0])
    pieces: list[LineString] = []
    start = 0
    while start < len(ways) - 1:
        # a piece ends before the first sample that is too near to one of its own; what clashes
        # with ground before the piece is settled between the pieces
        hits = np.flatnonzero(last[start + 1 :] >= start)
        end = start + int(hits[0]) if hits.size else len(ways) - 1
        length = ways[end] - ways[start]
        if length >= shortest_m and length > TOLERANCE:
            pieces.append(part_of(curve, float(ways[start]), float(ways[end])))
            start = _first_beyond(points, end, pieces[-1], rule.spacing_m)
        else:
            # nothing long enough begins here: go to just after what stands in the way
            start = int(last[end + 1]) + 1 if end + 1 < len(ways) else len(ways)
    return kept_apart(pieces, rule.spacing_m, shortest_m=shortest_m)


def _first_beyond(points: Points, end: int, piece: LineString, spacing_m: float) -> int:
    """Index of the sample just before the curve is first a spacing away from its last piece."""
    gaps = shapely.distance(shapely.points(points[end:]), piece)
    clear = np.flatnonzero(gaps >= spacing_m)
    return max(end + int(clear[0]) - 1, end + 1) if clear.size else len(points)
