"""What was measured or is known of the water of a pond: frozen values."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from shapely import Point, Polygon

STEP_M: Final = 1.0
"""Distance of the points of a shore or contour between which the bottom is drawn [m]."""
MOST_POINTS: Final = 2_000
"""About so many points are set on all lines of a pond; a large one has them wider apart."""
LIQUID_C: Final = 0.5
"""Coldest water in which coils are still free of ice; common practice, no source [C]."""
SHORE_M: Final = 1.0
"""What a contour may lie beyond the shore, or a shore entry beside it, as two surveys drew them;
common practice, no source [m]."""
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
class ShoreEntry:
    """Where header and electric line shall come through the shore.

    Parameters
    ----------
    id
        Name of it in the site file.
    at
        Where: on the shore, unless it was drawn too far from it.
    """

    id: str
    at: Point


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
    shore_entries
        Where the header shall come through the shore; none: where its trench is short.
    """

    soundings: tuple[Sounding, ...] = ()
    side_slope: float | None = None
    drawdown_m: float = 0.0
    inflow_m3s: float = 0.0
    inflow_c: float | None = None
    shore_entries: tuple[ShoreEntry, ...] = ()


@dataclass(frozen=True, slots=True)
class Weather:
    """Means of the months, January first.

    Parameters
    ----------
    air_c, dew_c
        Temperatures of air and dew point [C].
    sun_w_m2
        Sun and sky on level ground, mean over day and night [W/m2].
    wind_ms
        Wind of the year over the water, as at 10 m [m/s].
    latitude_deg
        North of the equator positive [deg].
    source
        Who says so.
    assumed
        What of it nobody states, in words.
    """

    air_c: tuple[float, ...]
    dew_c: tuple[float, ...]
    sun_w_m2: tuple[float, ...]
    wind_ms: float
    latitude_deg: float
    source: str = ""
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class WaterYear:
    """The calculated year of a pond's water.

    Parameters
    ----------
    pond
        Id of the pond.
    alone_c, with_loop_c
        Mean temperature of the water by month, without the loop and with it [C].
    coldest_alone_c, coldest_c
        On the coldest day, without the loop and with it [C].
    warmest_alone_c, warmest_c
        On the warmest day, without the loop and with it [C].
    ice_m
        Thickest ice of each month, with the loop [m].
    exchange
        Exchange of the surface in the warmest month [W/(m2 K)].
    evaporated_mm
        Water lost to the air in a year [mm].
    loop_w
        Heat that the loop draws by month [W].
    area_m2, volume_m3
        Water at the lowest level.
    frozen_w
        Most heat asked of water at 0 C [W].
    """

    pond: str
    alone_c: tuple[float, ...]
    with_loop_c: tuple[float, ...]
    coldest_alone_c: float
    coldest_c: float
    warmest_alone_c: float
    warmest_c: float
    ice_m: tuple[float, ...]
    exchange: float
    evaporated_mm: float
    loop_w: tuple[float, ...]
    area_m2: float
    volume_m3: float
    frozen_w: float

    @property
    def freezes(self) -> bool:
        """Whether the water around the coils does not stay liquid all winter."""
        return self.frozen_w > 0 or self.coldest_c < LIQUID_C


def point_step(length_m: float) -> float:
    """Distance of the points on the lines of a pond whose lines are so long in all [m].

    Examples
    --------
    >>> round(point_step(700.0), 3), round(point_step(8_000.0), 3)
    (1.0, 4.0)
    """
    # a hair more: a side of whole metres has the same points however it is turned
    return max(STEP_M, length_m / MOST_POINTS) * (1 + 1e-6)
