"""Where a drill rig or an excavator can work: what a body of its size can reach from the street."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
import shapely
import shapely.ops
from shapely import LineString, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.available.frontage import apron_of, frontage_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.memory import Memory
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways.driving import Reach, Vehicle, reach_of
from siteplan.layout.elements import Element
from siteplan.site import loop_options
from siteplan.site.lent import ground_to_drive
from siteplan.site.machines import ExcavatorOptions, Machine, MachineKind
from siteplan.site.model import Feature, Site, System
from siteplan.vocabulary.kinds import kinds

POINT_RADIUS_M: Final = 1.0
"""What a machine keeps from a thing drawn as a point: about half its size; common practice, no
source [m]."""
LINE_HALF_M: Final = 0.5
"""Half the width of a stream or other obstacle drawn as a line without width; common practice,
no source [m]."""
APRON: Final = 1.5
"""Depth of the street on which a rig lines up, in lengths of the rig."""

OVERHEAD: Final = "overhead power line"
SHOWING_THE_WAY: Final = ("street", "driveway", OVERHEAD)
"""Kinds that say where a machine comes in, or what it does not pass under."""
MOST_NAMED: Final = 2
"""Things named that stand in the way."""


@dataclass(frozen=True, slots=True)
class MachineGround:
    """Where a rig or an excavator gets to on one lot.

    Parameters
    ----------
    reach
        Where the middle of its rear can stand.
    frontage
        Part of the property line over which it comes in.
    machine
        The rig or excavator.
    area
        Where it can work: under the mast of a rig, within the boom of an excavator.
    """

    reach: Reach
    frontage: BaseGeometry
    machine: Machine
    area: BaseGeometry


def machine_of(site: Site, system: System) -> Machine | None:
    """Machine that must come in for a loop type; None where none must or it is not asked for."""
    return loop_options.machine_of(site.exchanger, system)


def machine_ground(
    site: Site, system: System, memory: Memory | None = None
) -> MachineGround | None:
    """Ground that the machine of a loop type can reach on a site.

    None where it is not asked for, and where neither street nor driveway shows the way in.
    ``memory`` holds what was worked out for the lot already.
    """
    return _ground_of(site, machine_of(site, system), Memory() if memory is None else memory)


def _ground_of(
    site: Site, machine: Machine | None, memory: Memory, *, shuns: bool = False
) -> MachineGround | None:
    """Ground of a machine, worked out again only where something moved that it minds."""
    if machine is None or machine.access == "anywhere":
        return None
    parcel = site.parcel
    taken = {each: memory.of(obstacle_of, each) for each in site.features}
    minded = tuple(each for each, ground in taken.items() if _shows(each) or not ground.is_empty)
    leading = tuple(each for each in minded if each.kind in SHOWING_THE_WAY)
    frontage = memory.of(frontage_of, parcel, leading, machine)
    if frontage.is_empty:
        return None
    # without ground before the lot a machine would have to appear on its edge, and could not turn
    # in
    apron = memory.of(apron_of, parcel, frontage, APRON * machine.length_m)
    met = _Met(parcel, minded, frontage, apron, tuple(taken[each] for each in minded))
    return memory.of(_machine_ground, met, machine, shuns=shuns)


def _shows(feature: Feature) -> bool:
    """Whether a machine may come in by a feature, or stand on it beyond the lot."""
    return feature.kind in SHOWING_THE_WAY or kinds()[feature.kind].lent


@dataclass(frozen=True, slots=True)
class _Met:
    """What a machine meets on a lot.

    Parameters
    ----------
    parcel, features
        The lot, and what on it can change where the machine comes in or gets to.
    frontage, apron
        Part of the property line over which it comes in, and the ground before that.
    taken
        Ground that it may not drive over.
    """

    parcel: Polygon
    features: tuple[Feature, ...]
    frontage: BaseGeometry
    apron: BaseGeometry
    taken: tuple[BaseGeometry, ...]


def _machine_ground(met: _Met, machine: Machine, *, shuns: bool) -> MachineGround:
    """Ground of a machine; one that ``shuns`` does not pass under power lines."""
    parcel, features, apron = met.parcel, met.features, met.apron
    on_lot = [street.shape for street in features if street.kind == "street"]
    before = apron.difference(parcel)
    # it starts on the street, lined up any way: what it needs to turn in lies outside the lot
    gates = shapely.union_all([before, *(grow(street, machine.width_m) for street in on_lot)])
    lines = [line.shape for line in features if line.kind == OVERHEAD and shuns]
    solid = shapely.union_all([*_unbridged(met), *(grow(line, LINE_HALF_M) for line in lines)])
    open_ground = shapely.union_all([ground_to_drive(parcel, features), apron])
    vehicle = Vehicle(machine.width_m, machine.length_m, machine.turning_m)
    reach = reach_of(open_ground.difference(solid), gates.intersection(open_ground), vehicle)
    area = reach.area
    if isinstance(machine, ExcavatorOptions):
        area = _within_boom(reach.area, parcel.difference(solid), machine.boom_m)
    return MachineGround(reach, met.frontage, machine, area)


def _unbridged(met: _Met) -> Iterator[BaseGeometry]:
    """Ground that each feature keeps a machine off, but for water under a driveway."""
    drives = shapely.union_all(
        [
            grow(feature.shape, feature.width_m / 2)
            for feature in met.features
            if feature.kind == "driveway"
        ]
    )
    for feature, ground in zip(met.features, met.taken, strict=True):
        yield ground.difference(drives) if kinds()[feature.kind].bridged else ground


def _within_boom(standing: BaseGeometry, open_ground: BaseGeometry, boom_m: float) -> BaseGeometry:
    """Ground that a bucket gets to, without what lies behind an obstacle."""
    dug = standing.buffer(boom_m).intersection(open_ground)
    # near enough for the boom, but a house or pond lies between
    parts = [part for part in shapely.get_parts(dug) if part.intersects(standing)]
    return shapely.union_all([part for part in parts if part.geom_type == "Polygon"])


def obstacle_of(feature: Feature) -> BaseGeometry:
    """Ground that a feature keeps a machine off; empty where it may drive over it."""
    crossing = kinds()[feature.kind].rig
    line = feature.shape.length > 0 and feature.shape.area == 0
    if crossing == "free" or (crossing == "lines" and line):
        return shapely.MultiPolygon()
    if feature.shape.area > 0:
        return grow(feature.shape, feature.overhang_m)
    return grow(feature.shape, max(feature.width_m / 2, LINE_HALF_M) if line else POINT_RADIUS_M)


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
        round_them = _ground_of(site, ground.machine, memory, shuns=True)
        way = LineString() if round_them is None else _way(site, round_them, new)
        if not way.is_empty:
            return way
    return _way(site, ground, new)


def _way(site: Site, ground: MachineGround, elements: Sequence[Element]) -> LineString:
    if isinstance(ground.machine, ExcavatorOptions):
        return _way_to_dig(site, ground.reach, elements, ground.machine.boom_m)
    reach = ground.reach
    steps = [
        (reach.steps_to(element.x_m, element.y_m), number)
        for number, element in enumerate(elements)
    ]
    # the element reached first has the shortest way in, which is the one to draw
    reached = sorted((step, number) for step, number in steps if step is not None)
    for _, number in reached:
        way = reach.way_to(elements[number].x_m, elements[number].y_m)
        if way is not None:
            return _on_the_lot(site, way)
    return LineString()


def _way_to_dig(site: Site, reach: Reach, elements: Sequence[Element], boom_m: float) -> LineString:
    """Way to the first place from which the boom gets to a trench."""
    shape = shapely.union_all([element.footprint for element in elements])
    _, first = np.unique(reach.cells, return_index=True)
    spots = reach.poses[np.sort(first)]
    shapely.prepare([shape, reach.area])
    points = shapely.points(spots)
    # a bucket reaches where the tracks do not: the way ends where the boom is long enough
    near = shapely.dwithin(shape, points, boom_m) & shapely.dwithin(reach.area, points, TOLERANCE)
    # nobody digs from the street what can be dug from the lot
    on_lot = shapely.dwithin(ground_to_drive(site.parcel, site.features), points, TOLERANCE)
    for x, y in np.concatenate([spots[near & on_lot], spots[near & ~on_lot]]):
        way = reach.way_to(float(x), float(y))
        if way is not None:
            return _on_the_lot(site, way)
    return LineString()


def rig_stopped(site: Site, x: float, y: float, kind: MachineKind = "rig") -> Reason | None:
    """Why no rig or excavator gets to a point; None where one does, or where that is not known."""
    machine = site.exchanger.excavator if kind == "excavator" else site.exchanger.rig
    ground, spot = _ground_of(site, machine, Memory()), shapely.Point(x, y)
    beyond = not site.parcel.dwithin(spot, TOLERANCE)  # other reasons are enough there
    if ground is None or beyond or ground.area.dwithin(spot, TOLERANCE):
        return None
    because = what_stops(site, ground, spot)
    return reason("machine-stopped", machine=ground.machine.kind, because=because)


def what_stops(site: Site, ground: MachineGround, missed: BaseGeometry) -> Reason:
    """What keeps a machine from ground that it does not reach.

    That is what stands beside the shortest line from where it gets to.
    """
    machine = ground.machine
    size = reason("machine-size", width_m=machine.width_m, length_m=machine.length_m)
    # what the machine cannot pass stands beside the shortest way to what it misses: other
    # obstacles on the lot are true, and no reason
    line = shapely.shortest_line(ground.area, missed)
    if ground.area.is_empty or line is None:
        return reason("machine-not-onto-lot", machine=machine.kind, size=size)
    names: list[tuple[float, str]] = []
    for feature in site.features:
        solid = obstacle_of(feature)
        if not solid.is_empty and solid.distance(line) <= machine.width_m:
            names.append((float(solid.distance(line)), feature.id))
    beside = float(site.parcel.exterior.distance(line))
    if beside <= machine.width_m:
        names.append((beside, "the property line"))
    things = tuple(name for _, name in sorted(names)[:MOST_NAMED]) or ("what stands there",)
    near = line.length <= machine.width_m
    code = "machine-no-room-beside" if near else "machine-cannot-pass"
    return reason(code, machine=machine.kind, size=size, things=things)


def _on_the_lot(site: Site, way: LineString) -> LineString:
    """The way from where it comes onto the lot for the last time."""
    crossings = way.intersection(ground_to_drive(site.parcel, site.features).boundary)
    spots = shapely.get_coordinates(crossings)
    along = [way.project(shapely.Point(spot)) for spot in spots]
    start = max(along, default=0.0)
    cut = shapely.ops.substring(way, start, way.length)
    return cut if isinstance(cut, LineString) else LineString()
