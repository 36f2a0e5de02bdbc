"""A header pit: where the pipes of all circuits come together at a manifold in the ground."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
from shapely import MultiLineString, Polygon
from shapely.ops import nearest_points

from siteplan.units.lengths import FOOT

PIT_SIDE_M: Final = 15 * FOOT
"""Side of a pit in which two people join the pipes of a field; common practice, no source [m]."""
PIT_GAP_M: Final = 4 * FOOT
"""Undug ground between the side of a pit and a loop trench or bore, as much as the pit is usually
deep; common practice, no source [m]."""
PIT: Final = "header pit"
"""What it is called where it is measured."""

XY = tuple[float, float]


@dataclass(frozen=True, slots=True)
class HeaderPit:
    """A pit beside or around the header.

    Parameters
    ----------
    corners
        Its corners in their order [m].
    """

    corners: tuple[XY, ...]

    @property
    def outline(self) -> Polygon:
        """The ground that it opens."""
        return Polygon(self.corners)

    @property
    def area_m2(self) -> float:
        """Area of the ground that it opens [m2]."""
        return float(self.outline.area)

    @property
    def sides_m(self) -> tuple[float, float]:
        """Shorter and longer side of the least rectangle around it [m]."""
        # far from the origin the rectangle would be off
        near = shapely.transform(self.outline, lambda places: places - places[0])
        around = shapely.get_coordinates(near.minimum_rotated_rectangle)
        shorter, longer = sorted(np.hypot(*np.diff(around[:3], axis=0).T))
        return float(shorter), float(longer)

    def joint(self, runs: MultiLineString) -> XY:
        """Where on the header its manifold stands: nearest to its middle [m]."""
        at, _ = nearest_points(runs, self.outline.centroid)
        return float(at.x), float(at.y)


def pit_around(middle: XY, turn_rad: float, side_m: float = PIT_SIDE_M) -> HeaderPit:
    """A square pit around a point, one side in a direction.

    Examples
    --------
    >>> pit_around((0.0, 0.0), 0.0, 2.0).corners
    ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
    """
    along, across = math.cos(turn_rad), math.sin(turn_rad)
    half = side_m / 2
    return HeaderPit(
        tuple(
            (middle[0] + x * along - y * across, middle[1] + x * across + y * along)
            for x, y in ((-half, -half), (half, -half), (half, half), (-half, half))
        )
    )
