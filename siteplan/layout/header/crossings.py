"""Where pipe crosses what must be marked and at which angle, and where it passes a trench."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import pairwise
from typing import Final

import shapely
from shapely import LineString, MultiLineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.lines.sweep import polygons_of
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.model import Header
from siteplan.layout.piping_model import LOOP_TRENCH, Crossing
from siteplan.site.model import Feature

AT_END_M: Final = 0.05
"""So near pipe crosses a line that ends beside it: at a wall, behind which the line goes on [m];
judgement, no source."""
LEAST_JOINED_M: Final = 0.6
"""So near to its beginning a header joins a trench and does not pass over it [m]."""


def over_trenches(header: Header, trenches: Sequence[Trench]) -> tuple[Crossing, ...]:
    """Where the header passes over a trench, other than where it joins it."""
    runs = MultiLineString(list(header.runs))
    crossings = []
    for trench in trenches:
        # at its beginning the header joins the trench: that is no crossing to warn of
        joined = Point(trench.line.coords[0]).buffer(max(trench.width_m, LEAST_JOINED_M))
        away = trench.line.difference(joined)
        crossings += [
            Crossing(trench.id, LOOP_TRENCH, spot.x, spot.y)
            for spot in _crossing_points(runs, away)
        ]
    return tuple(crossings)


def crossings_of(whole: MultiLineString, marked: Sequence[Feature]) -> tuple[Crossing, ...]:
    """Where pipe crosses something that must be marked."""
    return tuple(
        Crossing(
            feature.id, feature.kind, spot.x, spot.y, crossing_angle(whole, feature.shape, spot)
        )
        for feature in marked
        for spot in _crossing_points(whole, feature.shape)
    )


def _crossing_points(whole: MultiLineString, shape: BaseGeometry) -> list[Point]:
    """One point for each time the header crosses a shape: on a line, or halfway through."""
    common = shapely.intersection(whole, shape)
    pieces = [piece for piece in shapely.get_parts(common) if not piece.is_empty]
    if polygons_of(shape):
        # a corner touched is not crossed
        pieces = [piece for piece in pieces if piece.length > TOLERANCE]
    # runs meet at a tee on the shape, each with a piece of its own there: the crew meets one
    # crossing
    spots = [group[0] for group in _connected(pieces)]
    points = [Point(shapely.get_coordinates(_middle(piece))[0]) for piece in spots]
    ends = ends_passed(whole, shape)
    points += [end for end in ends if all(end.distance(spot) > AT_END_M for spot in points)]
    return sorted(points, key=lambda spot: (round(spot.x, 6), round(spot.y, 6)))


def ends_passed(pipe: BaseGeometry, line: BaseGeometry) -> list[Point]:
    """Ends of a line that pipe passes without touching them, so near that it crosses the line.

    Examples
    --------
    >>> water = LineString([(0, 0.01), (0, 9)])
    >>> [spot.y for spot in ends_passed(LineString([(-2, 0), (2, 0)]), water)]
    [0.01]
    """
    ends = [end for end in shapely.get_parts(line.boundary) if isinstance(end, Point)]
    return [end for end in ends if 0.0 < pipe.distance(end) <= AT_END_M]


def _middle(piece: BaseGeometry) -> BaseGeometry:
    return piece.interpolate(0.5, normalized=True) if isinstance(piece, LineString) else piece


def _connected(pieces: Sequence[BaseGeometry]) -> list[list[BaseGeometry]]:
    """Pieces sorted into groups that hang together, the longest piece of each group first."""
    groups: list[list[BaseGeometry]] = []
    for piece in sorted(pieces, key=lambda part: -part.length):
        near = [g for g in groups if any(piece.distance(part) <= TOLERANCE for part in g)]
        merged = [part for group in near for part in group] + [piece]
        groups = [group for group in groups if group not in near] + [merged]
    return groups


def crossing_angle(whole: BaseGeometry, shape: BaseGeometry, spot: Point) -> float | None:
    """Angle between pipe and a line where they meet, 0 to 90; None: that is no line [deg].

    Where one of them turns just there, the angle that is farthest from square.

    Examples
    --------
    >>> pipe, gas = LineString([(0, 0), (2, 2)]), LineString([(0, 1), (9, 1)])
    >>> crossing_angle(pipe, gas, Point(1, 1))
    45.0
    """
    if shape.length == 0 or shape.area > 0:
        return None
    pairs = [
        abs((first - second + 90.0) % 180.0 - 90.0)
        for first in _courses_at(whole, spot)
        for second in _courses_at(shape, spot)
    ]
    return round(min(pairs), 6) if pairs else None


def _courses_at(shape: BaseGeometry, spot: Point) -> Iterator[float]:
    """Directions of the straight pieces of a line that pass a point [deg]."""
    for part in shapely.get_parts(shape):
        for start, end in pairwise(part.coords):
            if LineString([start, end]).distance(spot) <= 10 * TOLERANCE:
                yield math.degrees(math.atan2(end[1] - start[1], end[0] - start[0]))
