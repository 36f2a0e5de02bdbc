"""A traverse: courses and curves one after another, and how well they close.

Latitude of a course = length x cos azimuth, departure = length x sin azimuth; the compass rule
(Bowditch) shares the misclosure by length. Both are in every surveying text; see the sources beside
the tests.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

ARC_DEV_M: Final = 0.001
"""How far the pieces of a drawn curve lie off the true one at most [m]."""


@dataclass(frozen=True, slots=True)
class CircularCurve:
    """A circular curve: its radius, and its central angle, positive where it turns right."""

    radius_m: float
    delta_deg: float

    @property
    def arc_m(self) -> float:
        """Length along the curve [m]."""
        return self.radius_m * math.radians(abs(self.delta_deg))

    @property
    def chord_m(self) -> float:
        """Length of the chord [m]."""
        return 2 * self.radius_m * math.sin(math.radians(abs(self.delta_deg)) / 2)


@dataclass(frozen=True, slots=True)
class Leg:
    """One call: azimuth of the line or of the chord, clockwise from north, and its length.

    Parameters
    ----------
    azimuth_deg
        [deg].
    length_m
        Of the line or of the chord [m].
    curve
        The curve over that chord; None: a line.
    """

    azimuth_deg: float
    length_m: float
    curve: CircularCurve | None = None

    @property
    def step(self) -> tuple[float, float]:
        """Departure and latitude [m]."""
        angle = math.radians(self.azimuth_deg)
        return self.length_m * math.sin(angle), self.length_m * math.cos(angle)

    @property
    def end_deg(self) -> float:
        """Azimuth at its end, that a tangent curve goes on with [deg]."""
        return self.azimuth_deg + (self.curve.delta_deg / 2 if self.curve else 0.0)


@dataclass(frozen=True, slots=True)
class Closure:
    """How a traverse closes.

    Parameters
    ----------
    east_m, north_m
        Sums of departures and of latitudes [m].
    perimeter_m
        Sum of all lengths, along curves where they are curved [m].
    """

    east_m: float
    north_m: float
    perimeter_m: float

    @property
    def miss_m(self) -> float:
        """Misclosure [m]."""
        return math.hypot(self.east_m, self.north_m)

    @property
    def ratio(self) -> float:
        """Perimeter over misclosure: 5,000 of a closure of 1 in 5,000; infinite if it closes."""
        return self.perimeter_m / self.miss_m if self.miss_m > 0 else math.inf


def closure_of(courses: Sequence[Leg]) -> Closure:
    """How courses close that should come back to where they began.

    Examples
    --------
    >>> square = [Leg(azimuth, 100.0) for azimuth in (0, 90, 180, 270)]
    >>> closure_of(square).miss_m < 1e-9, closure_of(square).perimeter_m
    (True, 400.0)
    """
    east, north = np.sum([course.step for course in courses], axis=0)
    lengths = [course.curve.arc_m if course.curve else course.length_m for course in courses]
    return Closure(float(east), float(north), math.fsum(lengths))


def by_compass_rule(courses: Sequence[Leg]) -> list[Leg]:
    """Courses that close: the misclosure shared out by length."""
    closure = closure_of(courses)
    total = math.fsum(course.length_m for course in courses)
    adjusted = []
    for course in courses:
        share = course.length_m / total
        east, north = course.step
        east, north = east - share * closure.east_m, north - share * closure.north_m
        length = math.hypot(east, north)
        curve = course.curve
        if curve is not None:
            # the central angle is kept, so that the curve stays as much of a circle
            curve = replace(curve, radius_m=curve.radius_m * length / course.length_m)
        adjusted.append(Leg(math.degrees(math.atan2(east, north)) % 360.0, length, curve))
    return adjusted


def corners_of(courses: Sequence[Leg]) -> Floats:
    """Where each course begins, from the first at the origin, shape (n, 2) [m]."""
    steps = np.array([course.step for course in courses], dtype=np.float64).reshape(-1, 2)
    return np.vstack([np.zeros((1, 2)), np.cumsum(steps, axis=0)[:-1]])


def outline_of(courses: Sequence[Leg]) -> Floats:
    """Points of the outline, curves in pieces that lie within a millimetre of them [m]."""
    points = [
        np.asarray(corner)[None, :] + _along(course)
        for corner, course in zip(corners_of(courses), courses, strict=True)
    ]
    return np.vstack(points)


def _along(course: Leg) -> Floats:
    """Points of a course from its start, which is the origin, without its end [m]."""
    if course.curve is None:
        return np.zeros((1, 2))
    radius, delta = course.curve.radius_m, math.radians(course.curve.delta_deg)
    piece = 2 * math.acos(max(0.0, 1 - ARC_DEV_M / radius))
    count = max(2, math.ceil(abs(delta) / piece))
    # the direction at the start is half the central angle before that of the chord
    heading = math.radians(course.azimuth_deg) - delta / 2
    turned = delta * np.arange(count) / count
    side = math.copysign(1.0, delta)
    east = radius * side * (math.cos(heading) - np.cos(heading + turned))
    north = radius * side * (np.sin(heading + turned) - math.sin(heading))
    return np.column_stack([east, north])
