"""The one local metric frame of a georeferenced site.

A transverse Mercator projection centred on the parcel with scale 1: over a lot its distances
are ground distances at the ellipsoid to a few parts in ten million, where a state or UTM grid
can be off by 4 parts in 10,000. The y axis is true north at the parcel's centre, the origin is
the south-west corner of the parcel's bounding box.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS, Proj, Transformer, network
from pyproj.exceptions import ProjError
from shapely.geometry.base import BaseGeometry

from siteplan.errors import GeometryError

WGS84 = "EPSG:4326"
MARGIN_DEG = 1.0
"""How far outside its area of use a coordinate system is still believed [deg]."""

# no grid is fetched, whatever the surroundings say: the same lot has the same places everywhere
network.set_network_enabled(active=False)  # type: ignore[attr-defined]


def known_crs(name: str) -> bool:
    """Whether a coordinate system of this name exists, and is one of places on the ground."""
    try:
        system = CRS.from_user_input(name)
        return bool(system.is_geographic or system.is_projected) and bool(_between(name, WGS84))
    except ProjError:
        return False


def is_geographic(name: str) -> bool:
    """Whether coordinates of this system are degrees."""
    return bool(CRS.from_user_input(name).is_geographic)


def projjson_of(name: str) -> dict[str, Any]:
    """A coordinate system as PROJJSON, which GeoParquet writes."""
    return dict(CRS.from_user_input(name).to_json_dict())


def metres_of_system(name: str) -> float | None:
    """Unit of the coordinates of a system [m]; None where they are degrees.

    Examples
    --------
    >>> metres_of_system("EPSG:26986"), metres_of_system("EPSG:4326")
    (1.0, None)
    """
    axis = CRS.from_user_input(name).axis_info[0]
    return None if is_geographic(name) else float(axis.unit_conversion_factor)


@dataclass(frozen=True)
class LocalFrame:
    """Local metres around one parcel.

    Parameters
    ----------
    crs
        Coordinate system the source is written in.
    longitude, latitude
        Centre of the projection, WGS 84 [deg].
    x_m, y_m
        Projected place of the local origin [m].
    """

    crs: str
    longitude: float
    latitude: float
    x_m: float = 0.0
    y_m: float = 0.0

    @property
    def crs_name(self) -> str:
        """Name of the coordinate system the source is written in."""
        return f"{CRS.from_user_input(self.crs).name} ({self.crs})"

    def in_area_of_use(self) -> bool:
        """Whether the coordinate system is meant for this place, by the EPSG database."""
        area = CRS.from_user_input(self.crs).area_of_use
        if area is None:
            return True
        east = area.east if area.east >= area.west else area.east + 360
        longitude = (
            self.longitude + 360 if self.longitude < area.west - MARGIN_DEG else (self.longitude)
        )
        return (
            area.west - MARGIN_DEG <= longitude <= east + MARGIN_DEG
            and area.south - MARGIN_DEG <= self.latitude <= area.north + MARGIN_DEG
        )

    @property
    def north(self) -> str:
        """What the local y axis is."""
        return "TRUE NORTH"

    @property
    def grid_scale(self) -> float | None:
        """Length on the grid of the source over length on the ellipsoid, at the parcel.

        None for degrees. What the height above the ellipsoid adds is not known here.
        """
        crs = CRS.from_user_input(self.crs)
        if not crs.is_projected:
            return None
        x, y = self.latitude_longitude(-self.x_m, -self.y_m)[::-1]
        return float(Proj(crs).get_factors(x, y).meridional_scale)

    @property
    def _local(self) -> str:
        return (
            f"+proj=tmerc +lat_0={self.latitude!r} +lon_0={self.longitude!r} +k=1 "
            "+x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs"
        )

    def localize(self, shape: BaseGeometry, crs: str = "") -> BaseGeometry:
        """Shape in local metres, from coordinates of the source or of another system."""
        origin = np.array([self.x_m, self.y_m])
        to_local = _between(crs or self.crs, self._local)

        def forward(points: NDArray[np.float64]) -> NDArray[np.float64]:
            return np.asarray(_carried(to_local, points) - origin, dtype=np.float64)

        return shapely.transform(shape, forward)

    def written(self, shape: BaseGeometry, crs: str = "") -> BaseGeometry:
        """Shape in coordinates of the source or of another system, from local metres."""
        from_local = _between(self._local, crs or self.crs)

        def backward(points: NDArray[np.float64]) -> NDArray[np.float64]:
            return _carried(from_local, points + np.array([self.x_m, self.y_m]))

        return shapely.transform(shape, backward)

    def latitude_longitude(self, x: float, y: float) -> tuple[float, float]:
        """WGS 84 latitude and longitude of a local point [deg]."""
        longitude, latitude = _between(self._local, WGS84).transform(x + self.x_m, y + self.y_m)
        return float(latitude), float(longitude)


def _carried(transformer: Transformer, points: NDArray[np.float64]) -> NDArray[np.float64]:
    """Points in the other coordinate system of a transformer."""
    # lists, as an array with one point is taken for a number where numpy is before 2.4
    x, y = transformer.transform(points[:, 0].tolist(), points[:, 1].tolist())
    return np.column_stack((x, y))


def frame_around(parcel: BaseGeometry, crs: str) -> LocalFrame:
    """Frame centred on a parcel that is given in a coordinate system.

    Raises
    ------
    GeometryError
        The parcel lies nowhere on earth.
    """
    to_earth = _between(crs, WGS84)
    west, south, east, north = parcel.bounds
    longitude, latitude = to_earth.transform((west + east) / 2, (south + north) / 2)
    if not (abs(latitude) <= 90 and abs(longitude) <= 360):
        raise GeometryError(f"({west:.10g}, {south:.10g}) lies nowhere on earth in {crs}.")
    centred = LocalFrame(crs, float(longitude), float(latitude))
    x, y, *_ = centred.localize(parcel).bounds
    if not (math.isfinite(x) and math.isfinite(y)):
        raise GeometryError(f"({west:.10g}, {south:.10g}) is too far from the rest in {crs}.")
    return LocalFrame(crs, centred.longitude, centred.latitude, float(x), float(y))


@lru_cache(maxsize=16)
def _between(source: str, target: str) -> Transformer:
    """What brings easting and northing, or longitude and latitude, from a system to another."""
    # x before y in both, whatever order a system's authority writes: files are in that order
    return Transformer.from_crs(
        CRS.from_user_input(source), CRS.from_user_input(target), always_xy=True
    )
