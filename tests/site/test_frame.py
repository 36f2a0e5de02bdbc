"""The local frame: ground distances, and back to the earth."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from pyproj import Geod, Transformer
from shapely import LineString, Polygon

from siteplan.site.frame import frame_around, known_crs

# UTM 18N near 43 N 75.5 W, 200 m square
SQUARE = Polygon([(459000, 4762000), (459200, 4762000), (459200, 4762200), (459000, 4762200)])


def test_local_distances_are_those_of_the_ellipsoid_not_of_the_grid() -> None:
    frame = frame_around(SQUARE, "EPSG:32618")
    side = LineString(list(SQUARE.exterior.coords)[:2])
    local = frame.localize(side).length
    to_earth = Transformer.from_crs("EPSG:32618", "EPSG:4326", always_xy=True)
    (lon1, lon2), (lat1, lat2) = to_earth.transform(*np.array(side.coords).T)
    # the geodesic library of PROJ is the outside reference
    _, _, geodesic = Geod(ellps="WGS84").inv(lon1, lat1, lon2, lat2)
    assert local == pytest.approx(geodesic, abs=1e-5)
    # UTM 18N at 43 N 75.5 W lies near its scale of 0.9996: the grid is 8 cm short in 200 m
    assert local - 200 == pytest.approx(200 * (1 / 0.99962 - 1), abs=0.005)


def test_the_origin_is_the_south_west_corner_of_the_bounding_box() -> None:
    frame = frame_around(SQUARE, "EPSG:32618")
    assert frame.localize(SQUARE).bounds[:2] == pytest.approx((0, 0), abs=1e-9)


def test_latitude_and_longitude_come_back_to_the_millimetre() -> None:
    frame = frame_around(SQUARE, "EPSG:32618")
    x, y = frame.localize(SQUARE).exterior.coords[2]
    latitude, longitude = frame.latitude_longitude(x, y)
    to_grid = Transformer.from_crs("EPSG:4326", "EPSG:32618", always_xy=True)
    assert to_grid.transform(longitude, latitude) == pytest.approx((459200, 4762200), abs=1e-3)


def test_a_survey_foot_grid_is_read_in_survey_feet() -> None:
    # EPSG:2249, Massachusetts mainland: US survey foot; 1000 ftUS = 304.800610 m before scale
    square = Polygon([(750000, 3000000), (751000, 3000000), (751000, 3001000), (750000, 3001000)])
    frame = frame_around(square, "EPSG:2249")
    assert frame.localize(square).length == pytest.approx(4 * 304.80061, rel=2e-4)


def test_unknown_names_are_no_coordinate_systems() -> None:
    assert known_crs("EPSG:26986")
    assert not known_crs("EPSG:1")


def test_the_grid_scale_is_that_of_a_published_example() -> None:
    # J. P. Snyder, Map Projections: A Working Manual, USGS Professional Paper 1395, p. 269:
    # transverse Mercator, Clarke 1866, meridian 75 W, k0 0.9996, at 40 30 N 73 30 W: k 0.9997989,
    # x 127,106.5 m, y 4,484,124.4 m from the equator (from the page as quoted in reference data)
    crs = "+proj=tmerc +lat_0=0 +lon_0=-75 +k=0.9996 +ellps=clrk66 +units=m +no_defs"
    lot = shapely.box(127_076.5, 4_484_094.4, 127_136.5, 4_484_154.4)
    assert frame_around(lot, crs).grid_scale == pytest.approx(0.9997989, abs=1e-7)


def test_degrees_have_no_grid_scale() -> None:
    lot = shapely.box(-71.001, 42.0, -71.0, 42.001)
    assert frame_around(lot, "EPSG:4326").grid_scale is None
