"""Ground that a field keeps off where that takes little more: front yard, drive, utilities."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.available.frontage import side_facing
from siteplan.geometry.lines.sweep import polygonal
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Spared
from siteplan.preferences.table import figure_of
from siteplan.site.model import Feature
from siteplan.vocabulary.kinds import kinds

DRIVE_M: Final = figure_of("available.spared.drive_m")
LINE_M: Final = figure_of("available.spared.line_m")


def spared_ground(
    parcel: Polygon, features: tuple[Feature, ...], house: Feature | None
) -> tuple[Spared, ...]:
    """Ground of a lot and its house that nobody digs up who has other ground as good."""
    drives = [each.shape for each in features if each.kind == "driveway"]
    lines = [each.shape for each in features if kinds()[each.kind].group == "utility"]
    spared = (
        Spared("front yard", front_yard(parcel, features, house)),
        Spared("drive", _beside(parcel, drives, DRIVE_M)),
        Spared("utilities", _beside(parcel, lines, LINE_M)),
    )
    return tuple(each for each in spared if not each.shape.is_empty)


def front_yard(parcel: Polygon, features: Sequence[Feature], house: Feature | None) -> BaseGeometry:
    """Ground of a lot nearer to the street than its house is; empty without street or house."""
    streets = [each.shape for each in features if each.kind == "street"]
    side = shapely.union_all([side_facing(parcel, street) for street in streets])
    if house is None or side.is_empty:
        return Polygon()
    # its pieces, looked at one by one, make a few straight lines
    lines = shapely.simplify(shapely.line_merge(side), TOLERANCE)
    return polygonal(parcel.intersection(grow(lines, float(side.distance(house.shape)))))


def _beside(parcel: Polygon, shapes: Sequence[BaseGeometry], reach_m: float) -> BaseGeometry:
    grown = shapely.union_all([grow(shape, reach_m) for shape in shapes])
    return polygonal(parcel.intersection(grown))
