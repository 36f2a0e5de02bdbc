"""What somebody must know about a machine's way in: what it costs, and the lines above it."""

from __future__ import annotations

from collections.abc import Iterator

from shapely import MultiLineString

from siteplan.advisories.power_lines import at_work, volts_of
from siteplan.available.access import OVERHEAD, machine_of
from siteplan.available.prepared import PreparedLot
from siteplan.earthwork.travel import travel_row, travel_source
from siteplan.findings.model import Finding, Reason, reason
from siteplan.geometry.distance import gap
from siteplan.geometry.offset import grow
from siteplan.layout.model import Access, Layout
from siteplan.site.machines import Machine, RigOptions
from siteplan.site.model import Feature, Site
from siteplan.units.lengths import FOOT

_EVERYWHERE = {"rig": "rig-gets-everywhere", "excavator": "excavator-gets-everywhere"}
_NOT_CHECKED = {"rig": "rig-access-not-checked", "excavator": "excavator-access-not-checked"}
BESIDE_M = 0.5
"""How far an excavator digs beside its ground, a bucket wide; common practice, no source [m]."""
LEAST_LOST_M = 0.3048
"""Trench lost that is worth a figure [m]."""


def rig_remarks(lot: PreparedLot, layout: Layout) -> Iterator[Finding]:
    """Notes and warnings about the way of the drill rig or excavator."""
    site, machine = lot.site, machine_of(lot.site, layout.system)
    if machine is None:
        return
    new = layout.new
    if layout.access is None:
        if new:
            yield from _not_checked(lot, machine, layout)
    else:
        yield from _cost(layout, layout.access)
        yield from _by_hand(lot, layout)
        yield from _under_lines(site, layout.access)
    yield from at_work(site, layout)
    if new and isinstance(machine, RigOptions):
        yield from _near_lines(site, layout, machine)


def _not_checked(lot: PreparedLot, machine: Machine, layout: Layout) -> Iterator[Finding]:
    if machine.access == "anywhere":
        yield Finding(_EVERYWHERE[machine.kind])
    elif lot.machine_ground(layout.system) is None:
        yield Finding(_NOT_CHECKED[machine.kind])


def _cost(layout: Layout, access: Access) -> Iterator[Finding]:
    if not access.because:
        return
    machine = access.machine
    costs = reason("access-keeps-off", machine=machine)
    if access.lost:
        thing = layout.loop.noun
        costs = reason("access-costs-elements", machine=machine, lost=access.lost, thing=thing)
    elif access.lost_m >= LEAST_LOST_M:
        costs = reason("access-costs-trench", machine=machine, lost_m=access.lost_m)
    yield Finding(
        "access-stops" if layout.obstacle else "access-costs",
        measured_m=access.width_m,
        values={"costs": costs, "because": access.because, "machine": machine},
    )


def _by_hand(lot: PreparedLot, layout: Layout) -> Iterator[Finding]:
    """Stretches of header and crossover trench to which the excavator does not get."""
    ground = lot.machine_ground(layout.system) if layout.loop.dug else None
    if ground is None or layout.header is None:
        return
    reached = grow(ground.area, BESIDE_M)
    named = [(reason("header-trench"), layout.header.runs)]
    named += [
        (reason("crossover-named", crossover=crossover.id), (crossover.line,))
        for crossover in layout.crossovers
    ]
    for trench, lines in named:
        missed = float(MultiLineString(list(lines)).difference(reached).length)
        if missed >= LEAST_LOST_M:
            yield Finding("dug-by-hand", measured_m=missed, values={"trench": trench})


def _under_lines(site: Site, access: Access) -> Iterator[Finding]:
    """Where the way in passes beneath a power line."""
    for line in site.of_kind(OVERHEAD):
        if access.path.is_empty or line.shape.distance(access.path) > access.width_m / 2:
            continue
        digs = access.machine == "excavator"
        yield Finding(
            "excavator-under-line" if digs else "rig-under-line",
            subject=line.id,
            # the regulation speaks of cranes and derricks: a drill rig, but not an excavator
            rule="common practice, no source" if digs else travel_source(),
            values={
                "kind": line.kind,
                "volts": volts_of(line),
                "clearance": _clearance(line),
                "source": travel_source(),
            },
        )


def _clearance(line: Feature) -> Reason:
    """What the rig keeps below a line as it travels."""
    if line.voltage_v is None:
        return reason("clearance-by-voltage", first_m=6 * FOOT, second_m=10 * FOOT)
    row = travel_row(line.voltage_v)
    if row is None:
        return reason("clearance-by-owner")
    return reason("clearance-of-class", clearance_m=row.clearance_m)


def _near_lines(site: Site, layout: Layout, rig: RigOptions) -> Iterator[Finding]:
    """Where a raised mast is higher than a power line is away: no rule forbids it."""
    for line in site.of_kind(OVERHEAD):
        away = [(gap(element.footprint, line.shape).distance, element.id) for element in layout.new]
        distance, name = min(away)
        if distance < rig.mast_m:
            yield Finding(
                "mast-near-line",
                subject=line.id,
                measured_m=distance,
                required_m=rig.mast_m,
                values={"element": name, "kind": line.kind},
            )
