"""The way in of a drill rig or an excavator: by the driveway and open ground where that serves."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
import shapely.ops
from numpy.typing import NDArray
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.available.access import OVERHEAD, MachineGround, ground_of, obstacle_of
from siteplan.geometry.memory import Memory
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Element
from siteplan.preferences.table import figure_of
from siteplan.site.lent import ground_to_drive
from siteplan.site.machines import ExcavatorOptions
from siteplan.site.model import Site
from siteplan.vocabulary.kinds import kinds

Floats = NDArray[np.float64]

DRIVE_M: Final = figure_of("available.way_in.drive_m")
DRIVE_GAIN: Final = figure_of("available.way_in.drive_gain")
NEAR_M: Final = figure_of("available.way_in.near_m")
NEAR_COST: Final = figure_of("available.way_in.near_cost")
LINE_M: Final = figure_of("available.way_in.line_m")
KERB_M: Final = figure_of("available.way_in.kerb_m")


def way_in(
    site: Site,
    ground: MachineGround,
    elements: tuple[Element, ...],
    memory: Memory | None = None,
) -> LineString:
    """Centre line from the frontage to the element that is reached first; empty: no way.

    It passes under a power line only where there is no other way.
    """
    new = [element for element in elements if not element.existing]
    # first round the power lines: passing under them is a hazard, so only where it must be
    if site.of_kind(OVERHEAD):
        memory = Memory() if memory is None else memory
        round_them = ground_of(site, ground.machine, memory, shuns=True)
        way = LineString() if round_them is None else _way(site, round_them, new)
        if not way.is_empty:
            return way
    return _way(site, ground, new)


def _way(site: Site, ground: MachineGround, elements: Sequence[Element]) -> LineString:
    """The shortest way, or another that is driven with less harm."""
    digs = isinstance(ground.machine, ExcavatorOptions)
    places = _places_to_dig(site, ground, elements) if digs else _places_to_drill(ground, elements)
    for x, y in places:
        way = ground.reach.way_to(float(x), float(y))
        if way is not None:
            return _with_less_harm(site, ground, places, _on_the_lot(site, way))
    return LineString()


def _places_to_drill(ground: MachineGround, elements: Sequence[Element]) -> Floats:
    """Elements that the rig gets to, the one reached first before the others."""
    steps = [
        (ground.reach.steps_to(element.x_m, element.y_m), number)
        for number, element in enumerate(elements)
    ]
    # the element reached first has the shortest way in, which is the one to draw
    reached = sorted((step, number) for step, number in steps if step is not None)
    spots = [(elements[number].x_m, elements[number].y_m) for _, number in reached]
    places = np.array(spots, dtype=np.float64).reshape(-1, 2)
    return places[shapely.dwithin(ground.reach.area, shapely.points(places), TOLERANCE)]


def _places_to_dig(site: Site, ground: MachineGround, elements: Sequence[Element]) -> Floats:
    """Places from which the boom gets to a trench, the one reached first before the others."""
    reach = ground.reach
    assert isinstance(ground.machine, ExcavatorOptions)
    shape = shapely.union_all([element.footprint for element in elements])
    _, first = np.unique(reach.cells, return_index=True)
    spots = reach.poses[np.sort(first)]
    shapely.prepare([shape, reach.area])
    points = shapely.points(spots)
    # a bucket reaches where the tracks do not: the way ends where the boom is long enough
    near = shapely.dwithin(shape, points, ground.machine.boom_m)
    near &= shapely.dwithin(reach.area, points, TOLERANCE)
    # nobody digs from the street what can be dug from the lot
    lot = ground_to_drive(site.parcel, site.features)
    on_lot = shapely.dwithin(lot, points, TOLERANCE)
    # nor with the tracks still over the kerb, where it gets in as a whole
    inside = on_lot & ~shapely.dwithin(ground.frontage, points, ground.machine.length_m)
    order = (inside, on_lot & ~inside, ~on_lot)
    return np.concatenate([spots[near & which] for which in order])


def _with_less_harm(
    site: Site, ground: MachineGround, places: Floats, shortest: LineString
) -> LineString:
    """The shortest way, or one by the drive and far from what stands there, if that costs less."""
    drives, things = _drives(site), _near_things(site)
    near = shapely.union_all([things, _near_lines(site)])
    drive = grow(drives, DRIVE_M).intersection(ground.free)
    if _cost(shortest, drive, near) <= shortest.length and drive.is_empty:
        return shortest
    on_lot = ground_to_drive(site.parcel, site.features)
    # from the street onto the drive, where there is one
    before = ground.free.difference(on_lot)
    if not drive.is_empty:
        before = before.intersection(grow(drive, ground.machine.length_m))
    within = shapely.dwithin(on_lot, shapely.points(places), TOLERANCE)
    paved = shapely.union_all([before, drives.intersection(ground.free)])
    by_drive = shapely.union_all([before, drive])
    on_ground = ground.free.intersection(on_lot)
    open_ground = shapely.union_all([by_drive, on_ground.difference(near)])

    def by(*grounds: BaseGeometry) -> list[LineString]:
        found = ground.reach.first_way(
            (ground.free, ground.gates), ground.vehicle, grounds, places[within]
        )
        way = LineString() if found is None else _on_the_lot(site, found)
        return [] if way.is_empty else [way]

    ways = [*([] if shortest.is_empty else [shortest]), *by(paved, by_drive, open_ground)]
    if not any(way.intersects(drive) for way in ways) and not drive.is_empty:
        # a line in the ground all the way across is crossed from the drive, not gone round
        clear = shapely.union_all([by_drive, on_ground.difference(things)])
        ways += by(paved, by_drive, clear)
    return min(ways, key=lambda way: _cost(way, drive, near), default=shortest)


def _drives(site: Site) -> BaseGeometry:
    """Driveways as they are drawn."""
    drives = [each for each in site.features if each.kind == "driveway"]
    return shapely.union_all([grow(each.shape, each.width_m / 2) for each in drives])


def _near_things(site: Site) -> BaseGeometry:
    """Ground near to what a machine may not drive over."""
    taken = (obstacle_of(feature) for feature in site.features)
    return shapely.union_all([grow(each, NEAR_M) for each in taken if not each.is_empty])


def _near_lines(site: Site) -> BaseGeometry:
    """Ground over lines in the ground."""
    lines = (
        grow(feature.shape, LINE_M)
        for feature in site.features
        if kinds()[feature.kind].letter and feature.kind != OVERHEAD
    )
    return shapely.union_all([*lines])


def _cost(way: LineString, drive: BaseGeometry, near: BaseGeometry) -> float:
    """Length of a way, less for each metre on a drive and more near to what stands there [m].

    Where there is a drive, a way that comes in elsewhere crosses a kerb or a verge.
    """
    off = way.difference(drive)
    elsewhere = not (drive.is_empty or shapely.dwithin(drive, Point(way.coords[0]), TOLERANCE))
    return float(
        way.length
        - DRIVE_GAIN * (way.length - off.length)
        + NEAR_COST * off.intersection(near).length
        + KERB_M * elsewhere
    )


def _on_the_lot(site: Site, way: LineString) -> LineString:
    """The way from where it comes onto the lot for the last time."""
    crossings = way.intersection(ground_to_drive(site.parcel, site.features).boundary)
    spots = shapely.get_coordinates(crossings)
    along = [way.project(shapely.Point(spot)) for spot in spots]
    start = max(along, default=0.0)
    cut = shapely.ops.substring(way, start, way.length)
    return cut if isinstance(cut, LineString) else LineString()
