"""Where a drill rig can stand: what a body of its size can reach from the street."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import lru_cache
from typing import Final

import shapely
import shapely.ops
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.frontage import apron_of, frontage_of
from siteplan.geometry.driving import Reach, Vehicle, reach_of
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Element, Well
from siteplan.site.kinds import kinds
from siteplan.site.machines import RigOptions
from siteplan.site.model import Feature, Site
from siteplan.units import format_length

POINT_RADIUS_M: Final = 1.0
"""What a rig keeps from a thing drawn as a point: about half its size; common practice, no
source [m]."""
LINE_HALF_M: Final = 0.5
"""Half the width of a stream or other obstacle drawn as a line without width; common practice,
no source [m]."""
APRON: Final = 1.5
"""Depth of the street on which a rig lines up, in lengths of the rig."""

OVERHEAD: Final = "overhead power line"
MOST_NAMED: Final = 2
"""Things named that stand in the way."""


@dataclass(frozen=True, slots=True)
class RigGround:
    """Where a rig can stand on one lot.

    Parameters
    ----------
    reach
        Where it gets to.
    frontage
        Part of the property line over which it comes in.
    rig
        The rig.
    """

    reach: Reach
    frontage: BaseGeometry
    rig: RigOptions

    @property
    def area(self) -> BaseGeometry:
        """Where its mast can stand."""
        return self.reach.area


def rig_ground(site: Site) -> RigGround | None:
    """Ground that a rig can reach on a site.

    None where it is not asked for, and where neither street nor driveway shows the way in.
    """
    rig = site.exchanger.rig
    if rig is None or rig.access == "anywhere":
        return None
    return _rig_ground(site.parcel, site.features, rig)


@lru_cache(maxsize=8)
def _rig_ground(
    parcel: Polygon, features: tuple[Feature, ...], rig: RigOptions, *, shuns: bool = False
) -> RigGround | None:
    """The same ground is asked for with every rule that is weighed.

    A rig that ``shuns`` does not pass under power lines.
    """
    frontage = frontage_of(parcel, features, rig)
    if frontage.is_empty:
        return None
    apron = apron_of(parcel, frontage, APRON * rig.length_m)
    on_lot = [one.shape for one in features if one.kind == "street"]
    before = apron.difference(parcel)
    gates = shapely.union_all([before, *(grow(one, rig.width_m) for one in on_lot)])
    lines = [one.shape for one in features if one.kind == OVERHEAD and shuns]
    taken = [*map(obstacle_of, features), *(grow(line, LINE_HALF_M) for line in lines)]
    solid = shapely.union_all(taken)
    open_ground = shapely.union_all([parcel, apron])
    vehicle = Vehicle(rig.width_m, rig.length_m, rig.turning_m)
    reach = reach_of(open_ground.difference(solid), gates.intersection(open_ground), vehicle)
    return RigGround(reach, frontage, rig)


def obstacle_of(feature: Feature) -> BaseGeometry:
    """Ground that a feature keeps a rig off; empty where it may drive over it."""
    crossing = kinds()[feature.kind].rig
    line = feature.shape.length > 0 and feature.shape.area == 0
    if crossing == "free" or (crossing == "lines" and line):
        return shapely.MultiPolygon()
    if feature.shape.area > 0:
        return grow(feature.shape, feature.overhang_m)
    return grow(feature.shape, max(feature.width_m / 2, LINE_HALF_M) if line else POINT_RADIUS_M)


def way_in(site: Site, ground: RigGround, elements: tuple[Element, ...]) -> LineString:
    """Centre line from the frontage to the element that the rig gets to first; empty: no way.

    It passes under a power line only where there is no other way.
    """
    new = [one for one in elements if not (isinstance(one, Well) and one.existing)]
    if site.of_kind(OVERHEAD):
        round_them = _rig_ground(site.parcel, site.features, ground.rig, shuns=True)
        way = LineString() if round_them is None else _way(site, round_them.reach, new)
        if not way.is_empty:
            return way
    return _way(site, ground.reach, new)


def _way(site: Site, reach: Reach, elements: Sequence[Element]) -> LineString:
    steps = [(reach.steps_to(one.x_m, one.y_m), number) for number, one in enumerate(elements)]
    found = sorted((step, number) for step, number in steps if step is not None)
    for _, number in found:
        way = reach.way_to(elements[number].x_m, elements[number].y_m)
        if way is not None:
            return _on_the_lot(site, way)
    return LineString()


def rig_stopped(site: Site, x: float, y: float) -> str:
    """Why no rig gets to a point; empty where one does, or where that is not known."""
    ground, spot = rig_ground(site), shapely.Point(x, y)
    beyond = not site.parcel.dwithin(spot, TOLERANCE)  # other reasons are enough there
    if ground is None or beyond or ground.area.dwithin(spot, TOLERANCE):
        return ""
    return f"no rig gets there: {what_stops(site, ground, spot)}"


def what_stops(site: Site, ground: RigGround, missed: BaseGeometry) -> str:
    """What keeps a rig from ground that it does not reach, in a phrase.

    That is what stands beside the shortest line from where it gets to.
    """
    rig = ground.rig
    size = " and ".join(
        f"{_in_words(length, site)} {word}"
        for length, word in ((rig.width_m, "wide"), (rig.length_m, "long"))
    )
    line = shapely.shortest_line(ground.area, missed)
    if ground.area.is_empty or line is None:
        return f"a rig {size} does not get onto the lot"
    names: list[tuple[float, str]] = []
    for feature in site.features:
        solid = obstacle_of(feature)
        if not solid.is_empty and solid.distance(line) <= rig.width_m:
            names.append((float(solid.distance(line)), feature.id))
    beside = float(site.parcel.exterior.distance(line))
    if beside <= rig.width_m:
        names.append((beside, "the property line"))
    named = [name for _, name in sorted(names)[:MOST_NAMED]] or ["what stands there"]
    verb = "has no room to stand beside" if line.length <= rig.width_m else "cannot get past"
    return f"a rig {size} {verb} {' and '.join(named)}"


def _in_words(length_m: float, site: Site) -> str:
    return format_length(length_m, site.unit, 1).replace(".0 ", " ")


def _on_the_lot(site: Site, way: LineString) -> LineString:
    """The way from where it comes onto the lot for the last time."""
    crossings = way.intersection(site.parcel.exterior)
    spots = shapely.get_coordinates(crossings)
    along = [way.project(shapely.Point(spot)) for spot in spots]
    start = max(along, default=0.0)
    cut = shapely.ops.substring(way, start, way.length)
    return cut if isinstance(cut, LineString) else LineString()
