"""Trenches led on to where their square ends still lie on open ground.

Centre lines lie in ground inset by half a trench's width all round. Beside a trench that is what
it takes; at its end it is not, as a trench ends square: there half a width is left over.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.bends import is_closed, part_of
from siteplan.geometry.offset import widened_over
from siteplan.geometry.tolerance import TOLERANCE

LEAST_M: Final = 1e-3
"""A shorter gain at an end is left [m]."""
SLACK_M: Final = TOLERANCE / 10
"""What rounding may take from a spacing or from the side of a trench [m]."""


def extended(
    lines: Sequence[LineString],
    whole: BaseGeometry,
    *,
    width_m: float,
    spacing_m: float,
    longest_m: float | None = None,
) -> list[LineString]:
    """Lines led on straight at both ends, each by a width at most, as far as there is room.

    What is added lies inside ``whole`` over the width of the trench and keeps the spacing from
    every other line, also from the other pieces of its row, and from its own line around a bend.
    Lines come in turn: an earlier one takes the room between two ends. Rings stay as they are.

    Parameters
    ----------
    lines
        Centre lines that keep the spacing.
    whole
        Where the trench may open the ground: the available ground before it is inset.
    width_m, spacing_m
        Width of a trench, and least distance of centre lines [m].
    longest_m
        Greatest length of a line [m]; None: no limit.

    Examples
    --------
    Ground 30 m by 4 m, inset by 0.5 m: the row of 29 m gets half a metre at both ends.

    >>> row = LineString([(0.5, 2.0), (29.5, 2.0)])
    >>> [longer] = extended([row], shapely.box(0, 0, 30, 4), width_m=1.0, spacing_m=3.0)
    >>> round(longer.length, 6)
    30.0
    """
    rule = _EndRule(width_m, spacing_m, math.inf if longest_m is None else longest_m)
    # most lines come near to none: led on all at once, without a search for each
    alone = _standing_alone(lines, rule)
    longer = list(lines)
    for index, led in zip(alone, _all_led_on([lines[k] for k in alone], whole, rule), strict=True):
        longer[index] = led
    for index in sorted(set(range(len(longer))) - set(alone)):
        line = longer[index]
        if is_closed(line) or line.length <= TOLERANCE:
            continue
        others = np.array(longer[:index] + longer[index + 1 :], dtype=object)
        # no other can be met on the way of a width: two led on by a width each are looked at in
        # turn
        near = others[shapely.distance(line, others) < spacing_m + width_m].tolist()
        far = led_on(line, _room(line, whole, near, rule)).reverse()
        longer[index] = led_on(far, _room(far, whole, near, rule)).reverse()
    return longer


def bound_with_ends(
    area: BaseGeometry, whole: BaseGeometry, *, width_m: float, spacing_m: float
) -> float:
    """Length that no trenches a spacing apart can exceed, led on at their ends [m].

    The strips half a spacing to both sides of the lines do not overlap. What was laid in the inset
    area lies with its strip in that area widened by half a spacing; what was added lies over the
    trench's width in the whole ground, so its strip reaches at most half of what the spacing has
    beyond the width out of it. The total is at most both areas together over the spacing.

    Examples
    --------
    Ground 30 m by 10 m, trenches 1 m wide and 3 m apart: widened by 1 m on all sides,
    (300 + 80 x 1 + pi 1²) / 3 = 127.71 m. The inset ground, 29 m by 9 m and widened by 1.5 m, lies
    in it.

    >>> ground = shapely.box(0, 0, 30, 10), shapely.box(0.5, 0.5, 29.5, 9.5)
    >>> round(bound_with_ends(ground[1], ground[0], width_m=1.0, spacing_m=3.0), 1)
    127.7
    """
    if area.is_empty:
        return 0.0
    parts = [
        widened_over(area, spacing_m / 2),
        widened_over(whole, max(0.0, (spacing_m - width_m) / 2)),
    ]
    return float(shapely.union_all(parts).area) / spacing_m


@dataclass(frozen=True, slots=True)
class _EndRule:
    """What a trench keeps where it is led on [m]."""

    width_m: float
    spacing_m: float
    longest_m: float


def _standing_alone(lines: Sequence[LineString], rule: _EndRule) -> list[int]:
    """Straight lines that come near to no other one, however far all of them are led on."""
    most = np.array([_both_led_on(line, rule.width_m) for line in lines], dtype=object)
    tree = shapely.STRtree(most)
    pairs = tree.query(most, predicate="dwithin", distance=rule.spacing_m - SLACK_M)
    crowded = set(pairs[0][pairs[0] != pairs[1]].tolist())
    return [
        index
        for index, line in enumerate(lines)
        if index not in crowded
        and len(line.coords) == 2
        and TOLERANCE < line.length <= rule.longest_m - 2 * rule.width_m
    ]


def _both_led_on(line: LineString, by_m: float) -> LineString:
    if is_closed(line) or line.length <= TOLERANCE:
        return line
    return led_on(led_on(line, by_m).reverse(), by_m).reverse()


def _all_led_on(
    lines: Sequence[LineString], whole: BaseGeometry, rule: _EndRule
) -> list[LineString]:
    """Lines led on at both ends as far as the ground is open."""
    both = [turned for line in lines for turned in (line, line.reverse())]
    added = np.array(
        [_added_ground(line, rule.width_m, rule.width_m) for line in both], dtype=object
    )
    shapely.prepare(whole)
    inside = shapely.covers(whole, added)
    rooms = [
        rule.width_m if free else _open_ground(line, whole, rule.width_m, rule.width_m)
        for line, free in zip(both, inside, strict=True)
    ]
    return [
        led_on(led_on(line, end).reverse(), start).reverse()
        for line, end, start in zip(lines, rooms[::2], rooms[1::2], strict=True)
    ]


def _room(
    line: LineString, whole: BaseGeometry, near: Sequence[LineString], rule: _EndRule
) -> float:
    """How far a line can be led on at its end [m]."""
    most = min(rule.width_m, rule.longest_m - line.length)
    return _apart(line, near, _open_ground(line, whole, most, rule.width_m), rule.spacing_m)


def _direction(line: LineString) -> tuple[float, float]:
    """Unit direction in which a line ends."""
    end_x, end_y = line.coords[-1][:2]
    before = (point[:2] for point in reversed(line.coords[:-1]))
    # a line cut where two of its pieces meet ends with the same point twice
    x, y = next(point for point in before if math.dist(point, (end_x, end_y)) > TOLERANCE)
    length = math.hypot(end_x - x, end_y - y)
    return (end_x - x) / length, (end_y - y) / length


def led_on(line: LineString, by_m: float) -> LineString:
    """Line led on straight at its far end."""
    if by_m < LEAST_M:
        return line
    (dx, dy), (x, y) = _direction(line), line.coords[-1][:2]
    return LineString([*line.coords[:-1], (x + by_m * dx, y + by_m * dy)])


def _open_ground(line: LineString, whole: BaseGeometry, most_m: float, width_m: float) -> float:
    """How far a trench can be led on at the end of its line before it leaves open ground [m]."""
    if most_m < LEAST_M:
        return 0.0
    (dx, dy), (x, y) = _direction(line), line.coords[-1][:2]
    added = _added_ground(line, most_m, width_m)
    outside = shapely.get_coordinates(shapely.difference(added, whole))
    if len(outside) == 0:
        return most_m
    along = (outside - (x, y)) @ np.array([dx, dy])
    return max(0.0, float(along.min()) - SLACK_M)


def _added_ground(line: LineString, by_m: float, width_m: float) -> Polygon:
    """Ground that a trench takes beyond the end of its line."""
    (dx, dy), (x, y) = _direction(line), line.coords[-1][:2]
    half = width_m / 2 - SLACK_M  # a side on the very edge of the ground is inside
    corners = [(0.0, -half), (by_m, -half), (by_m, half), (0.0, half)]
    return Polygon([(x + u * dx - v * dy, y + u * dy + v * dx) for u, v in corners])


def _apart(line: LineString, near: Sequence[LineString], most_m: float, spacing_m: float) -> float:
    """How far a line can be led on before it comes nearer than the spacing to any line [m]."""
    if most_m < LEAST_M:
        return 0.0
    kept = [*near, *_own_beyond_the_bend(line, most_m, spacing_m)]
    if not kept:
        return most_m
    others, (dx, dy), (x, y) = MultiLineString(kept), _direction(line), line.coords[-1][:2]

    def is_clear(by_m: float) -> bool:
        added_m = max(by_m, LEAST_M)
        added = LineString([(x + added_m * dx, y + added_m * dy), (x, y)])
        return bool(added.distance(others) >= spacing_m - SLACK_M)

    low, high = 0.0, most_m
    if is_clear(high):
        return high
    # the distance shrinks as the line is led on: halving finds where it meets the spacing, also
    # beside a line at a slant
    while high - low > LEAST_M / 10:
        middle = (low + high) / 2
        low, high = (middle, high) if is_clear(middle) else (low, middle)
    return low


def _own_beyond_the_bend(line: LineString, most_m: float, spacing_m: float) -> Iterator[LineString]:
    """Part of a line with bends that must be a spacing away from what is added to its end.

    Nearer along the way no bend of half a spacing or more brings it too near (theorem of Schur).
    """
    back = line.length - max(0.0, spacing_m * math.pi / 2 - most_m)
    if len(line.coords) > 2 and back > TOLERANCE:
        yield part_of(line, 0.0, back)
