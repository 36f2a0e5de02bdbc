"""What somebody must know about a machine's way in: what it costs, and the lines above it."""

from __future__ import annotations

from collections.abc import Iterator

from shapely import MultiLineString

from siteplan.available.access import OVERHEAD, machine_ground, machine_of
from siteplan.checks.model import Finding
from siteplan.earthwork.travel import travel_row, travel_source
from siteplan.geometry.distance import gap
from siteplan.geometry.offset import grow
from siteplan.layout.model import Access, Layout, Well
from siteplan.layout.wording import count_of
from siteplan.site.machines import Machine, RigOptions
from siteplan.site.model import DisplayUnit, Feature, Site
from siteplan.units.lengths import FOOT, format_length, round_to, to_unit

NOT_CHECKED = {"rig": "rig-access-not-checked", "digger": "digger-access-not-checked"}
"""Codes of the findings that nobody knows where a machine gets to."""
BESIDE_M = 0.5
"""What a digger reaches beside its ground, as a bucket is wide; common practice, no source [m]."""
LEAST_LOST_M = 0.3048
"""Trench lost that is worth a figure [m]."""


def rig_remarks(site: Site, layout: Layout) -> Iterator[Finding]:
    """Notes and warnings about the way of the drill rig or digger."""
    machine = machine_of(site, layout.system)
    if machine is None:
        return
    new = [one for one in layout.elements if not (isinstance(one, Well) and one.existing)]
    if layout.access is None:
        if new:
            yield from _not_checked(site, machine, layout)
    else:
        yield from _cost(site, layout, layout.access)
        yield from _by_hand(site, layout)
        yield from _under_lines(site, layout.access)
    if new and isinstance(machine, RigOptions):
        yield from _near_lines(site, layout, machine)


def _not_checked(site: Site, machine: Machine, layout: Layout) -> Iterator[Finding]:
    name, code = machine.kind, NOT_CHECKED[machine.kind]
    if machine.access == "anywhere":
        noun = "drill rig" if name == "rig" else name
        yield Finding(
            code,
            "note",
            f"The site file says that a {noun} gets everywhere: its way in was not checked.",
        )
    elif machine_ground(site, layout.system) is None:
        yield Finding(
            code,
            "warning",
            f"{name.capitalize()} access not checked: no street drawn along the lot. Draw a street "
            f"or the driveway, give [{name}] from = [x, y] on the property line, or say [{name}] "
            'access = "anywhere".',
        )


def _cost(site: Site, layout: Layout, access: Access) -> Iterator[Finding]:
    if not access.because:
        return
    name = access.machine
    costs = f"Access keeps a {name} off part of the ground"
    if access.lost:
        costs = f"Access costs {count_of(access.lost, _thing(layout))}"
    elif access.lost_m >= LEAST_LOST_M:
        length = format_length(access.lost_m, site.unit, 0, rounding="down")
        costs = f"Access costs {length} of trench"
    yield Finding(
        f"{name}-access",
        "warning" if layout.obstacle else "note",
        f"{costs}: {access.because}. Another way in ([{name}] from) or a smaller {name} may get "
        "there.",
        measured_m=access.width_m,
    )


def _by_hand(site: Site, layout: Layout) -> Iterator[Finding]:
    """Stretches of header and joint trench to which the digger does not get."""
    ground = machine_ground(site, layout.system) if layout.system == "horizontal" else None
    if ground is None or layout.header is None:
        return
    reached = grow(ground.area, BESIDE_M)
    named = [("header trench", layout.header.runs)]
    named += [(f"joint {one.id}", (one.line,)) for one in layout.joints]
    for name, lines in named:
        missed = float(MultiLineString(list(lines)).difference(reached).length)
        if missed >= LEAST_LOST_M:
            length = format_length(missed, site.unit, 0, rounding="up")
            yield Finding(
                "dug-by-hand",
                "note",
                f"The digger does not reach {length} of the {name}: dig there by hand, or give "
                "another way in ([digger] from).",
                measured_m=missed,
            )


def _thing(layout: Layout) -> str:
    return "bore" if layout.system == "vertical" else "well"


def _under_lines(site: Site, access: Access) -> Iterator[Finding]:
    """Where the way in passes beneath a power line."""
    for line in site.of_kind(OVERHEAD):
        if access.path.is_empty or line.shape.distance(access.path) > access.width_m / 2:
            continue
        if access.machine == "digger":
            yield _digger_under(line)
            continue
        yield Finding(
            "rig-under-line",
            "warning",
            f"The rig's way in passes under {line.id} ({line.kind}{_volts(line)}): travel with the "
            f"mast lowered and keep {_clearance(line, site.unit)} below it ({travel_source()}).",
            subject=line.id,
            rule=travel_source(),
        )


def _digger_under(line: Feature) -> Finding:
    return Finding(
        "digger-under-line",
        "warning",
        f"The digger's way in passes under {line.id} ({line.kind}{_volts(line)}): travel with the "
        "boom lowered, and ask its owner what to keep (common practice, no source).",
        subject=line.id,
        rule="common practice, no source",
    )


def _volts(line: Feature) -> str:
    return "" if line.voltage_v is None else f", {line.voltage_v / 1000:g} kV"


def _clearance(line: Feature, unit: DisplayUnit) -> str:
    if line.voltage_v is None:
        first, second = (_at_least(feet * FOOT, unit) for feet in (6, 10))
        return (
            f"what its voltage asks, which is not stated ({first} up to 50 kV, {second} up to "
            "345 kV),"
        )
    row = travel_row(line.voltage_v)
    if row is None:
        return "what its owner asks"
    return _at_least(row.clearance_m, unit)


def _at_least(clearance_m: float, unit: DisplayUnit) -> str:
    """A clearance for a sentence, rounded up, without needless decimals."""
    value = round_to(to_unit(clearance_m, unit), 2, "up")
    return f"{value:g} {unit}"


def _near_lines(site: Site, layout: Layout, rig: RigOptions) -> Iterator[Finding]:
    """Where a raised mast is higher than a power line is away: no rule forbids it."""
    for line in site.of_kind(OVERHEAD):
        away = [
            (gap(one.footprint, line.shape).distance, one.id)
            for one in layout.elements
            if not (isinstance(one, Well) and one.existing)
        ]
        distance, name = min(away)
        if distance < rig.mast_m:
            yield Finding(
                "mast-near-line",
                "note",
                f"{name} is {format_length(distance, site.unit, 1, rounding='down')} from "
                f"{line.id} ({line.kind}), less than the mast of "
                f"{format_length(rig.mast_m, site.unit, 1)} is high: raise, lower and move the "
                "mast only away from the line.",
                subject=line.id,
                measured_m=distance,
                required_m=rig.mast_m,
            )
