"""Where a drill rig or an excavator can work: what a body of its size can reach from the street."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

import shapely
import shapely.ops
from shapely import Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.available.frontage import apron_of, frontage_of
from siteplan.findings.model import Reason, reason
from siteplan.geometry.memory import Memory
from siteplan.geometry.offset import grow
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.geometry.ways.driving import Reach, reach_of
from siteplan.geometry.ways.poses import Vehicle
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
    free, gates
        Ground that it may cover, and where it stands to begin with.
    """

    reach: Reach
    frontage: BaseGeometry
    machine: Machine
    area: BaseGeometry
    free: BaseGeometry
    gates: BaseGeometry

    @property
    def vehicle(self) -> Vehicle:
        """The machine as a body that is driven."""
        return Vehicle(self.machine.width_m, self.machine.length_m, self.machine.turning_m)


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
    return ground_of(site, machine_of(site, system), Memory() if memory is None else memory)


def ground_of(
    site: Site, machine: Machine | None, memory: Memory, *, shuns: bool = False
) -> MachineGround | None:
    """Ground of a machine, worked out again only where something moved that it minds.

    One that ``shuns`` does not pass under power lines.
    """
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
    free, gates = open_ground.difference(solid), gates.intersection(open_ground)
    vehicle = Vehicle(machine.width_m, machine.length_m, machine.turning_m)
    reach = reach_of(free, gates, vehicle)
    area = reach.area
    if isinstance(machine, ExcavatorOptions):
        area = _within_boom(reach.area, parcel.difference(solid), machine.boom_m)
    return MachineGround(reach, met.frontage, machine, area, free, gates)


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


def rig_stopped(site: Site, x: float, y: float, kind: MachineKind = "rig") -> Reason | None:
    """Why no rig or excavator gets to a point; None where one does, or where that is not known."""
    machine = site.exchanger.excavator if kind == "excavator" else site.exchanger.rig
    ground, spot = ground_of(site, machine, Memory()), shapely.Point(x, y)
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
