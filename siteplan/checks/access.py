"""The machine's way in, measured again: on the lot, from the street, clear, to every element."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Final

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.findings.model import NOTHING, Finding, Value
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Element
from siteplan.layout.model import Access, Layout
from siteplan.site.lent import ground_to_drive
from siteplan.site.model import Feature, Site
from siteplan.vocabulary.kinds import kinds

STREET_NEAR_M: Final = 20.0
"""A way that begins farther from a drawn street does not begin at it; common practice [m]."""
SLACK_M: Final = 0.01
"""How far ground may be widened here so that rounding does not close a gap [m]."""


def access_findings(
    site: Site, layout: Layout, taken: BaseGeometry | None = None
) -> Iterator[Finding]:
    """Everything that is wrong with the way in of the drill rig or excavator of a layout.

    ``taken`` is ground of things that are not among the features of the site: the way in was seen
    to keep clear of them.
    """
    access = layout.access
    if access is None:
        return
    if not access.path.is_empty:
        yield from _start(site, access)
        yield from _on_the_lot(site, access)
        yield from _crossed(site, access)
    yield from _unreached(site, layout, access, taken)


def _start(site: Site, access: Access) -> Iterator[Finding]:
    """The way begins where a machine can come from."""
    start = Point(access.path.coords[0])
    from_street = any(
        street.distance(start) <= access.width_m
        for street in (s.shape for s in site.of_kind("street"))
    )
    edge = ground_to_drive(site.parcel, site.features).boundary
    on_line = edge.distance(start) <= TOLERANCE or from_street
    if not on_line or not any(
        shape.distance(start) <= limit for shape, limit in _comes_from(site, access)
    ):
        yield _error("way-in-start", access.machine)


def _comes_from(site: Site, access: Access) -> list[tuple[BaseGeometry, float]]:
    """What a machine can come from, and how far from it the way may begin [m]."""
    digs = access.machine == "excavator"
    machine = site.exchanger.excavator if digs else site.exchanger.rig
    if machine is not None and machine.gates:
        return [(Point(gate), 2 * access.width_m) for gate in machine.gates]
    return [
        *((street.shape, STREET_NEAR_M) for street in site.of_kind("street")),
        *(
            (driveway.shape, access.width_m + driveway.width_m)
            for driveway in site.of_kind("driveway")
        ),
    ]


def _on_the_lot(site: Site, access: Access) -> Iterator[Finding]:
    """The way stays on the lot but for the street side of its start."""
    start = Point(access.path.coords[0])
    drivable = ground_to_drive(site.parcel, site.features)
    outside = _body(access).difference(drivable.buffer(SLACK_M))
    for part in shapely.get_parts(outside):
        corners = shapely.points(shapely.get_coordinates(part))
        before = start.distance(part) <= access.width_m
        for street in site.of_kind("street"):
            limit = street.shape.distance(start) + access.width_m
            before |= bool((shapely.distance(corners, street.shape) <= limit).all())
        if not before and part.area > SLACK_M**2:
            beyond = float(shapely.distance(corners, site.parcel).max())
            yield _error("way-in-off-the-lot", access.machine, measured_m=beyond)


def _crossed(site: Site, access: Access) -> Iterator[Finding]:
    """The way keeps half its width from everything it may not drive over."""
    for feature in _solid(site.features):
        away = float(access.path.distance(feature.shape)) - feature.width_m / 2
        if kinds()[feature.kind].bridged:
            away = float(access.path.distance(_blocked(feature, site.features)))
        if away < access.width_m / 2 - TOLERANCE:
            values = {"machine": access.machine, "width_m": access.width_m, "kind": feature.kind}
            blocked = _error("way-in-blocked", feature.id, measured_m=away, values=values)
            yield replace(blocked, required_m=access.width_m / 2)


def ground_taken(features: Iterable[Feature]) -> BaseGeometry:
    """Ground of those features that a machine may not drive over."""
    known = tuple(features)
    return shapely.union_all([_blocked(each, known) for each in _solid(known)])


def _blocked(feature: Feature, features: Iterable[Feature]) -> BaseGeometry:
    """Ground of a feature that no machine drives over: water has a culvert under each driveway."""
    ground: BaseGeometry = feature.shape.buffer(feature.width_m / 2)
    if not kinds()[feature.kind].bridged:
        return ground
    for drive in features:
        if drive.kind == "driveway":
            ground = ground.difference(drive.shape.buffer(drive.width_m / 2 + SLACK_M))
    return ground


def _unreached(
    site: Site, layout: Layout, access: Access, taken: BaseGeometry | None
) -> Iterator[Finding]:
    """There is a clear way, as wide as the machine, to every new bore and well.

    A trench may lie as far from it as the boom gets.

    It begins where the way in ends, or elsewhere at the street.
    """
    half = access.width_m / 2
    open_ground = ground_to_drive(site.parcel, site.features)
    for ground in (taken, ground_taken(site.features)):
        if ground is not None:
            open_ground = open_ground.difference(ground)
    wide = open_ground.buffer(-(half - SLACK_M))
    front = shapely.union_all([shape.buffer(far) for shape, far in _comes_from(site, access)])
    line = site.parcel.exterior.intersection(front)
    joined = [
        part
        for part in shapely.get_parts(wide)
        if _touches(part, access.path, half) or part.distance(line) <= half
    ]
    digs, standing = access.machine == "excavator", shapely.union_all(joined)
    dug = _dug_from(site, standing, half) if digs else None
    for element in layout.new:
        near = standing.distance(element.footprint) <= half if dug is None else _digs(dug, element)
        if not near:
            noun = "excavator" if digs else "drill rig"
            values = {"noun": noun, "machine": access.machine}
            stopped = _error("no-way-in", element.id, values=values)
            yield replace(stopped, required_m=access.width_m)


def _dug_from(site: Site, standing: BaseGeometry, half_m: float) -> BaseGeometry:
    """Ground that an excavator's boom gets to from where it stands."""
    excavator = site.exchanger.excavator
    return standing.buffer(half_m + (0.0 if excavator is None else excavator.boom_m))


def _digs(ground: BaseGeometry, element: Element) -> bool:
    missed = element.axis.difference(ground)
    return missed.is_empty or bool(0.0 < missed.length <= TOLERANCE)


def _touches(part: BaseGeometry, path: LineString, half_m: float) -> bool:
    return not path.is_empty and bool(part.distance(Point(path.coords[-1])) <= half_m)


def _body(access: Access) -> BaseGeometry:
    """Ground under the way in."""
    return access.path.buffer(access.width_m / 2, cap_style="flat", join_style="mitre")


def _solid(features: Iterable[Feature]) -> list[Feature]:
    """Features that a machine may not drive over."""
    solid = []
    for feature in features:
        crossing = kinds()[feature.kind].rig
        is_line = feature.shape.area == 0 and feature.shape.length > 0
        if crossing == "never" or (crossing == "lines" and not is_line):
            solid.append(feature)
    return solid


def _error(
    code: str,
    subject: str,
    *,
    measured_m: float | None = None,
    values: Mapping[str, Value] = NOTHING,
) -> Finding:
    return Finding(code, subject, measured_m, rule="rig access", values=values)
