"""The ground that an element opens, round its bends as exactly as distances are told."""

from __future__ import annotations

import math
from typing import Final

from shapely import LinearRing
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Element, Trench

SPAN: Final = 1.5
"""So many steps one piece of a drawn arc may span."""


def opened_ground(element: Element) -> BaseGeometry:
    """What an element takes near the surface, seen from above.

    Around a bend of a wide pit the drawn outline has chords, which lie inside the true arc by
    millimetres; here they lie inside it by less than ``TOLERANCE``.

    Examples
    --------
    >>> from shapely import LineString, Point
    >>> bent = LineString([(0, 0), (10, 0), (19.9, 1.4)])
    >>> pit, stone = Trench("T1", bent, 4.0, 1.2, 6), Point(10.35, -5.0)
    >>> far = stone.distance(Point(10, 0)) - 2.0
    >>> abs(opened_ground(pit).distance(stone) - far) < 1e-6, pit.footprint.distance(stone) > far
    (True, True)
    """
    if not isinstance(element, Trench) or not (element.bends or element.is_ring):
        return element.near_surface
    half = element.width_m / 2
    # a chord of the angle a lies inside its arc by half * (1 - cos(a / 2))
    step = 2 * math.acos(1 - TOLERANCE / 2 / max(half, TOLERANCE)) / SPAN
    course = LinearRing(element.line.coords) if element.is_ring else element.line
    pieces = math.ceil(math.pi / 2 / step)
    return course.buffer(half, quad_segs=pieces, cap_style="flat", join_style="round")
