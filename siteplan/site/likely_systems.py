"""In which coordinate system a file without one may be: where each would put the lot."""

from __future__ import annotations

import re
from dataclasses import dataclass
from typing import Final

import shapely
from pyproj import Proj
from pyproj.database import query_crs_info
from pyproj.enums import PJType
from shapely.geometry.base import BaseGeometry

from siteplan.site.frame import WGS84, frame_around

ZONES: Final = re.compile(r"NAD83 / (?!.*(UTM|MTM|Albers|Atlas|Lambert|LCC|Polar|Teranet)).+")
"""State plane zones of the United States, in metres and in feet."""
NATIONAL: Final = re.compile(
    r"NAD83 / UTM zone \d+N|OSGB36 / British National Grid|ETRS89 / UTM zone \d+N|"
    r"RGF93 v1 / Lambert-93|NZGD2000 / New Zealand Transverse Mercator 2000"
)
"""What a file is in next."""
MOST: Final = 3


@dataclass(frozen=True, slots=True)
class LikelySystem:
    """A coordinate system, and where it puts a lot.

    Parameters
    ----------
    code, name
        By the EPSG database.
    latitude, longitude
        Middle of the lot [deg].
    area_m2
        Area of the lot [m2].
    """

    code: str
    name: str
    latitude: float
    longitude: float
    area_m2: float


def likely_systems(shape: BaseGeometry) -> tuple[LikelySystem, ...]:
    """The three likeliest coordinate systems of a shape, the likeliest first.

    Degrees where the numbers may be degrees; else state plane zones before national grids, and of
    each those first of whose area of use the shape lies nearest to the middle.

    Examples
    --------
    >>> from shapely import box
    >>> [found.code for found in likely_systems(box(200_000, 925_000, 200_060, 925_080))][0]
    'EPSG:26986'
    """
    west, south, east, north = shape.bounds
    if max(abs(west), abs(east)) <= 180 and max(abs(south), abs(north)) <= 90:
        return (_told(shape, WGS84, "longitude and latitude, WGS 84"),)
    x, y = (west + east) / 2, (south + north) / 2
    ranked = []
    for info in query_crs_info("EPSG", PJType.PROJECTED_CRS):
        rank = 0 if ZONES.fullmatch(info.name) else 1 if NATIONAL.fullmatch(info.name) else None
        if rank is None or info.deprecated or info.area_of_use is None:
            continue
        system, used = f"{info.auth_name}:{info.code}", info.area_of_use
        # the datums lie metres apart, which a rank by degrees does not feel
        longitude, latitude = Proj(system)(x, y, inverse=True)
        aside = max(
            abs(2 * longitude - used.west - used.east) / (used.east - used.west),
            abs(2 * latitude - used.south - used.north) / (used.north - used.south),
        )
        if 0 <= aside <= 1:
            ranked.append((rank, aside, system, info.name))
    return tuple(_told(shape, system, name) for *_, system, name in sorted(ranked)[:MOST])


def _told(shape: BaseGeometry, system: str, name: str) -> LikelySystem:
    frame = frame_around(shape, system)
    area_m2 = float(shapely.area(frame.localize(shape)))
    return LikelySystem(system, name, frame.latitude, frame.longitude, area_m2)
