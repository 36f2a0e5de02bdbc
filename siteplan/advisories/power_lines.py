"""What is to be kept from overhead power lines while machines work, and where pipe passes under."""

from __future__ import annotations

from collections.abc import Iterator

import shapely
from shapely import Point
from shapely.geometry.base import BaseGeometry

from siteplan.available.access import OVERHEAD, machine_of
from siteplan.findings.model import Finding, Reason, reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.model import Layout
from siteplan.rules.ruleset import safety_clearance
from siteplan.site.machines import ExcavatorOptions, Machine
from siteplan.site.model import Feature, Site

NOUNS = {"rig": "drill rig", "excavator": "excavator"}
"""What a machine is called in a sentence."""


def volts_of(line: Feature) -> Reason | None:
    """Voltage of a line as a sentence has it behind its kind; None where it is not stated."""
    return None if line.voltage_v is None else reason("so-many-volts", voltage_v=line.voltage_v)


def clearance_of(line: Feature) -> tuple[Reason, str]:
    """What machines at work keep from a line, and the source that says so."""
    rule = safety_clearance(line)
    if rule is None:
        return reason("clearance-by-owner"), "29 CFR 1926.1408, Table A"
    return reason("clearance-of-class", clearance_m=rule.distance_m), rule.source


def passing_under(site: Site, name: str, line: str) -> Finding:
    """Warning that pipe passes under a power line: what to keep, and that nothing is exposed.

    Parameters
    ----------
    site
        The lot.
    name
        Id of the pipe: ``"header"`` or a crossover's.
    line
        Id of the line.
    """
    feature = next(feature for feature in site.of_kind(OVERHEAD) if feature.id == line)
    clearance, source = clearance_of(feature)
    pipe = reason("header-named") if name == "header" else reason("crossover-named", crossover=name)
    return Finding(
        "crossing-under-line",
        subject=line,
        rule=source,
        values={
            "pipe": pipe,
            "kind": feature.kind,
            "volts": volts_of(feature),
            "clearance": clearance,
            "source": source,
        },
    )


def lines_kept_off(site: Site) -> Reason:
    """What machines keep from each power line of a lot: the note of its sheet."""
    lines = [
        reason(
            "line-kept-off",
            clearance=clearance_of(line)[0],
            line=line.id,
            voltage=reason("voltage-not-stated")
            if line.voltage_v is None
            else reason("so-many-kilovolts", voltage_v=line.voltage_v),
        )
        for line in site.of_kind(OVERHEAD)
    ]
    return reason("lines-kept-off", lines=tuple(lines))


def at_work(site: Site, layout: Layout) -> Iterator[Finding]:
    """Warnings of lines that a machine comes near, or passes under, once it is on the lot."""
    machine = machine_of(site, layout.system)
    if machine is None or not layout.new:
        return
    for line in site.of_kind(OVERHEAD):
        rule = safety_clearance(line)
        near = float(_work_area(site, layout, machine).distance(line.shape))
        passes = _on_both_sides(site, layout, line)
        reaches = rule is not None and near < rule.distance_m - TOLERANCE
        if not passes and not reaches:
            continue
        clearance, source = clearance_of(line)
        yield Finding(
            "works-near-line",
            subject=line.id,
            measured_m=None if passes else near,
            required_m=None if rule is None else rule.distance_m,
            rule=source,
            values={
                "noun": NOUNS[machine.kind],
                "does": reason("passes-beneath" if passes else "reaches-near"),
                "kind": line.kind,
                "volts": volts_of(line),
                "clearance": clearance,
                "source": source,
            },
        )


def _dug(layout: Layout) -> list[BaseGeometry]:
    """What a machine makes: new elements; an excavator also the header and crossovers."""
    made: list[BaseGeometry] = [element.footprint for element in layout.new]
    if layout.loop.dug:
        made += [*(layout.header.runs if layout.header is not None else ())]
        made += [crossover.line for crossover in layout.crossovers]
    return made


def _work_area(site: Site, layout: Layout, machine: Machine) -> BaseGeometry:
    """Ground over which boom or mast can come as the machine works."""
    reach = site.exchanger.machine_reach_m
    if isinstance(machine, ExcavatorOptions):
        reach = machine.boom_m
    return shapely.union_all([made.buffer(reach) for made in _dug(layout)])


def _on_both_sides(site: Site, layout: Layout, line: Feature) -> bool:
    """Whether a line across the lot lies between places of work, or where the way in ends."""
    places = _dug(layout)
    if layout.access is not None and not layout.access.path.is_empty:
        places.append(Point(layout.access.path.coords[-1]))
    sides = [
        part
        for part in shapely.get_parts(site.parcel.difference(line.shape.buffer(TOLERANCE)))
        if any(place.intersects(part) for place in places)
    ]
    return len(sides) > 1
