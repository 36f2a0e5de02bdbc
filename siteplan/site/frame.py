"""The one local metric frame of a georeferenced site.

A transverse Mercator projection centred on the parcel with scale 1: over a lot its distances
are ground distances at the ellipsoid to a few parts in ten million, where a state or UTM grid
can be off by 4 parts in 10,000. The y axis is true north at the parcel's centre, the origin is
the south-west corner of the parcel's bounding box.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np
import shapely
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError
from shapely.geometry.base import BaseGeometry

WGS84 = "EPSG:4326"
MARGIN_DEG = 1.0
"""How far outside its area of use a coordinate system is still believed [deg]."""


def known_crs(name: str) -> bool:
    """Whether a coordinate system of this name exists."""
    try:
        CRS.from_user_input(name)
    except CRSError:
        return False
    return True


def is_geographic(name: str) -> bool:
    """Whether coordinates of this system are degrees."""
    return bool(CRS.from_user_input(name).is_geographic)


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

    @cached_property
    def _local(self) -> CRS:
        return CRS.from_proj4(
            f"+proj=tmerc +lat_0={self.latitude!r} +lon_0={self.longitude!r} +k=1 "
            "+x_0=0 +y_0=0 +datum=WGS84 +units=m +no_defs"
        )

    @cached_property
    def _to_local(self) -> Transformer:
        return Transformer.from_crs(CRS.from_user_input(self.crs), self._local, always_xy=True)

    @cached_property
    def _to_earth(self) -> Transformer:
        return Transformer.from_crs(self._local, CRS.from_user_input(WGS84), always_xy=True)

    def localize(self, shape: BaseGeometry) -> BaseGeometry:
        """Shape in local metres, from coordinates of the source."""
        origin = np.array([self.x_m, self.y_m])

        def forward(points: NDArray[np.float64]) -> NDArray[np.float64]:
            x, y = self._to_local.transform(points[:, 0], points[:, 1])
            return np.asarray(np.column_stack((x, y)) - origin, dtype=np.float64)

        return shapely.transform(shape, forward)

    def latitude_longitude(self, x: float, y: float) -> tuple[float, float]:
        """WGS 84 latitude and longitude of a local point [deg]."""
        longitude, latitude = self._to_earth.transform(x + self.x_m, y + self.y_m)
        return float(latitude), float(longitude)


def frame_around(parcel: BaseGeometry, crs: str) -> LocalFrame:
    """Frame centred on a parcel that is given in a coordinate system."""
    to_earth = Transformer.from_crs(
        CRS.from_user_input(crs), CRS.from_user_input(WGS84), always_xy=True
    )
    west, south, east, north = parcel.bounds
    longitude, latitude = to_earth.transform((west + east) / 2, (south + north) / 2)
    centred = LocalFrame(crs, float(longitude), float(latitude))
    x, y, *_ = centred.localize(parcel).bounds
    return LocalFrame(crs, centred.longitude, centred.latitude, float(x), float(y))
