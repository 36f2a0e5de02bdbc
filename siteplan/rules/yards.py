"""The rear yard: ground behind the house, as seen from the street."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.site.model import Site

REAR_YARD = "rear yard"
"""What the ground is called among the things on a lot."""


@dataclass(frozen=True, slots=True)
class RearLine:
    """The line along the rear of the house, across the lot.

    Parameters
    ----------
    back
        Unit vector away from the street, x and y.
    at_m
        How far along it the line stands [m].
    """

    back: tuple[float, float]
    at_m: float

    def behind(self, x: float, y: float) -> float:
        """How far a point lies behind the line; below zero before it [m].

        Examples
        --------
        >>> RearLine((0.0, 1.0), 30.0).behind(5.0, 42.0)
        12.0
        """
        return x * self.back[0] + y * self.back[1] - self.at_m


def rear_line(site: Site) -> RearLine | None:
    """Line along the rear of the largest building; None where no building or street is drawn.

    The way to the street is the shortest one from the building to the nearest street.
    """
    buildings, streets = site.of_kind("building"), site.of_kind("street")
    if not buildings or not streets:
        return None
    house = max((each.shape for each in buildings), key=lambda shape: float(shape.area))
    way = min(
        (shapely.shortest_line(house, street.shape) for street in streets),
        key=lambda line: float(line.length),
    )
    (x1, y1), (x2, y2) = shapely.get_coordinates(way)
    length = float(np.hypot(x2 - x1, y2 - y1))
    if length <= TOLERANCE:
        return None
    back = (float((x1 - x2) / length), float((y1 - y2) / length))
    corners = shapely.get_coordinates(house)
    return RearLine(back, float((corners @ np.array(back)).max()))


def ground_before(parcel: BaseGeometry, line: RearLine) -> BaseGeometry:
    """Ground of a parcel that lies before the line along the rear of the house."""
    far = 2 * float(np.abs(parcel.bounds).max()) + abs(line.at_m) + 1.0
    (x, y), (along_x, along_y) = line.back, (-line.back[1], line.back[0])
    start, before = line.at_m, line.at_m - 2 * far
    corners = [
        (x * reach + along_x * side, y * reach + along_y * side)
        for reach, side in ((start, -far), (start, far), (before, far), (before, -far))
    ]
    return parcel.intersection(Polygon(corners))
