"""What was measured or is known of the water of a pond: frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from shapely import Point, Polygon

STEP_M: Final = 1.0
"""Distance of the points of a shore or contour between which the bottom is drawn [m]."""
MOST_POINTS: Final = 2_000
"""About so many points are set on all lines of a pond; a large one has them wider apart."""
USUAL_SLOPE: Final = 3.0
"""How far out the sides of a pond lie for one down where nobody says; common practice, no source
[-]."""


@dataclass(frozen=True, slots=True)
class DepthContour:
    """The part of a pond that is at least so deep.

    Parameters
    ----------
    depth_m
        Water depth below the level of the survey [m].
    shape
        Area inside the contour line.
    """

    depth_m: float
    shape: Polygon


@dataclass(frozen=True, slots=True)
class Sounding:
    """A depth measured at one place.

    Parameters
    ----------
    id
        Name of it on the sheet.
    at
        Where.
    depth_m
        Water depth below the level of the survey [m].
    """

    id: str
    at: Point
    depth_m: float


@dataclass(frozen=True, slots=True)
class PondSurvey:
    """What is known of a pond beside its outline, its depth and its contours.

    Parameters
    ----------
    soundings
        Depths measured at places.
    side_slope
        How far out the sides lie for one down, where the pond has one depth; None: not stated [-].
    drawdown_m
        How far the lowest level lies below that of outline and depths [m].
    inflow_m3s, inflow_c
        Water that runs in the whole year [m3/s] and its temperature; None: as the ground [C].
    """

    soundings: tuple[Sounding, ...] = ()
    side_slope: float | None = None
    drawdown_m: float = 0.0
    inflow_m3s: float = 0.0
    inflow_c: float | None = None


def point_step(length_m: float) -> float:
    """Distance of the points on the lines of a pond whose lines are so long in all [m].

    Examples
    --------
    >>> point_step(700.0), point_step(8_000.0)
    (1.0, 4.0)
    """
    return max(STEP_M, length_m / MOST_POINTS)
