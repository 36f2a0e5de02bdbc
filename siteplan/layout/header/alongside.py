"""Where a header would run along a line that it may only cross, and ways that cross it squarely."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import Final

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways.routing import CORNER_CLEARANCE, Toll
from siteplan.layout.header.crossings import crossing_angle, ends_passed
from siteplan.layout.model import Strip
from siteplan.preferences.table import count_of, figure_of

STRIP_COST: Final = figure_of("layout.header.alongside.strip_cost")
SQUARE_DEG: Final = figure_of("layout.header.alongside.square_deg")
PLACES: Final = count_of("layout.header.alongside.places")
BEYOND_M: Final = 0.05
"""How far beside a strip a pipe turns to cross it [m]."""

XY = tuple[float, float]


def lies_along(pipe: BaseGeometry, strips: Sequence[Strip], spots: Sequence[XY]) -> bool:
    """Whether pipe runs along a line: lies in its strip other than to cross it or to leave it.

    Parameters
    ----------
    pipe
        Centre lines.
    strips
        Ground beside lines.
    spots
        Places where the pipe begins or joins something.

    Examples
    --------
    Along a line 1 m away, and squarely across it:

    >>> gas = Strip("gas", LineString([(0, 0), (20, 0)]), 2.0, 2.9)
    >>> lies_along(LineString([(0, 5), (5, 1), (15, 1)]), [gas], [(0, 5), (15, 1)])
    True
    >>> lies_along(LineString([(5, -5), (5, 5)]), [gas], [(5, -5), (5, 5)])
    False
    """
    return any(_inside(pipe, strip, spots) > TOLERANCE for strip in strips)


def _inside(pipe: BaseGeometry, strip: Strip, spots: Sequence[XY]) -> float:
    """Length of pipe that runs along one line [m]."""
    if strip.line.distance(pipe) >= strip.reach_m:
        return 0.0
    off = {spot: strip.line.distance(Point(spot)) for spot in spots}
    least = strip.reach_m - strip.allowance_m
    near = [Point(spot) for spot in spots if off[spot] < least]
    # a place that keeps the rule and not all of the allowance: of that the pipe keeps what it can
    reach = min([strip.reach_m, *(away - TOLERANCE for away in off.values() if away >= least)])
    # a buffer's arcs lie inside the true circle, those of the strip outside it: the safe side
    windows = [spot.buffer(strip.leaving_m) for spot in (*near, *_crossed(pipe, strip.line))]
    inside = pipe.intersection(grow(strip.line, reach))
    return float(inside.difference(shapely.union_all(windows)).length)


def _crossed(pipe: BaseGeometry, line: BaseGeometry) -> Iterator[Point]:
    """Points in which pipe crosses a line; where it lies on it, it crosses it nowhere."""
    for part in shapely.get_parts(pipe.intersection(line)):
        if isinstance(part, Point) and not part.is_empty:
            yield part
    yield from ends_passed(pipe, line)


def worst_crossing(pipe: BaseGeometry, strips: Sequence[Strip]) -> float:
    """Angle of the crossing that is farthest from square; 90 where there is none [deg]."""
    angles = [
        crossing_angle(pipe, strip.line, spot)
        for strip in strips
        for spot in _crossed(pipe, strip.line)
    ]
    return min((angle for angle in angles if angle is not None), default=90.0)


def strip_tolls(strips: Sequence[Strip]) -> tuple[Toll, ...]:
    """What each metre in a strip costs, so that the way across is short and square."""
    return tuple(Toll(grow(strip.line, strip.reach_m), STRIP_COST) for strip in _widest(strips))


def strip_places(strips: Sequence[Strip], spots: Sequence[XY]) -> list[list[XY]]:
    """Places beside the lines over which a pipe crosses them squarely, or goes round their ends."""
    return [
        places
        for strip in _widest(strips)
        for places in (_corners(strip), *_across(strip, spots))
        if places
    ]


def _widest(strips: Sequence[Strip]) -> tuple[Strip, ...]:
    """Widest strip of each line: ways that keep out of it keep out of the others within."""
    widest: dict[str, Strip] = {}
    for strip in strips:
        known = widest.get(strip.feature)
        if known is None or strip.reach_m > known.reach_m:
            widest[strip.feature] = strip
    return tuple(widest.values())


def _corners(strip: Strip) -> list[XY]:
    """Corners of a strip."""
    away = strip.reach_m + BEYOND_M
    outline = strip.line.buffer(away, cap_style="square", join_style="mitre")
    coords = shapely.get_coordinates(outline.simplify(CORNER_CLEARANCE / 10))
    return [(float(x), float(y)) for x, y in coords[:-1]]


def _across(strip: Strip, spots: Sequence[XY]) -> Iterator[list[XY]]:
    """Pairs of places on both sides of a line, opposite to those that a pipe joins."""
    away = strip.reach_m + BEYOND_M
    for line in shapely.get_parts(strip.line):
        feet = sorted({round(float(line.project(Point(spot))), 2) for spot in spots})
        step = max(1, math.ceil(len(feet) / PLACES))
        for along in feet[::step]:
            yield _beside(line, along, away)


def _beside(line: LineString, along: float, away: float) -> list[XY]:
    """Two places beside a line, square to it at a length along it [m]."""
    foot = line.interpolate(along)
    back, on = line.interpolate(max(along - BEYOND_M, 0.0)), line.interpolate(along + BEYOND_M)
    run = math.hypot(on.x - back.x, on.y - back.y)
    if run <= TOLERANCE:
        return []
    x, y = (on.y - back.y) / run * away, -(on.x - back.x) / run * away
    return [(foot.x + x, foot.y + y), (foot.x - x, foot.y - y)]
