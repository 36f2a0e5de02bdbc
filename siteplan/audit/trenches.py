"""Trenches and their joints, read from centre lines and edges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.audit.labels import names_joint
from siteplan.audit.model import Drawing, DrawnLine, DrawnSymbol
from siteplan.audit.words import drawn_fault
from siteplan.findings.model import Finding
from siteplan.layout.model import Element, Trench
from siteplan.layout.piping_model import Joint
from siteplan.sheet.style.formats import short_mark
from siteplan.sheet.style.styles import layer
from siteplan.site.model import Site
from siteplan.units.lengths import UnitError, format_length, parse_length

SAME_M: Final = 0.001
"""Places closer than this are one [m]."""


def trenches_of(
    named: Sequence[tuple[str, DrawnSymbol]], drawing: Drawing, site: Site, findings: list[Finding]
) -> tuple[Trench, ...]:
    """A trench for every mark at the start of a centre line.

    A symbol away from every line takes the one left over, if only one is, and says so.
    """
    pairs = _paired(named, drawing, site, findings)
    edges = [
        (line, Polygon(line.points))
        for line in drawing.on(layer("trench-edge"))
        if len(line.points) > 2
    ]
    trenches = []
    for name, symbol, line in pairs:
        path = LineString([*line.points, line.points[0]] if line.closed else line.points)
        trenches.append(_trench((name, symbol), path, edges, site, findings))
    return tuple(trenches)


def _paired(
    named: Sequence[tuple[str, DrawnSymbol]], drawing: Drawing, site: Site, findings: list[Finding]
) -> list[tuple[str, DrawnSymbol, DrawnLine]]:
    free, center = list(drawing.on(layer("trench"))), site.unit.center
    pairs: dict[int, DrawnLine] = {}
    for number, (_, symbol) in enumerate(named):
        line = next(
            (
                free_line
                for free_line in free
                if math.dist(free_line.points[0], symbol.at) <= SAME_M
            ),
            None,
        )
        if line is not None:
            free.remove(line)
            pairs[number] = line
    for number, (name, symbol) in enumerate(named):
        if number in pairs:
            continue
        line = _elsewhere(symbol, drawing) or (free[0] if len(free) == 1 else None)
        if line is None:
            sentence = (
                f"{name} (handle {symbol.handle}) lies at the start of no trench centre line. "
            )
            sentence += f"Move it to the start of one on layer {layer('trench')}."
            findings.append(drawn_fault("no-line", sentence, name))
            continue
        pairs[number] = line
        if line in free:
            free.remove(line)
            sentence = (
                f"{name} (handle {symbol.handle}) does not lie at the start of its centre line "
            )
            sentence += f"(handle {line.handle}). Move the two together."
            findings.append(drawn_fault("mark-off-line", sentence, name))
        else:
            sentence = (
                f"The {center} line of {name} (handle {line.handle}) lies on layer {line.layer}, "
            )
            sentence += f"not on {layer('trench')}. Move it back to that layer."
            findings.append(drawn_fault("layer", sentence, name))
    for line in free:
        sentence = f"The trench {center} line with handle {line.handle} has no id at its start. "
        sentence += "Copy it together with its mark, or erase it."
        findings.append(drawn_fault("no-id", sentence, f"handle {line.handle}"))
    return [(*named[number], pairs[number]) for number in sorted(pairs)]


def _elsewhere(symbol: DrawnSymbol, drawing: Drawing) -> DrawnLine | None:
    """An open line that starts at a mark, on a layer on which no plan has one."""
    usual = {layer(role) for role in ("trench", "header", "joint", "trench-pipe", "ids")}
    for line in drawing.lines:
        starts = math.dist(line.points[0], symbol.at) <= SAME_M
        if line.layer not in usual and not line.closed and starts:
            return line
    return None


def _trench(
    named: tuple[str, DrawnSymbol],
    path: LineString,
    edges: Sequence[tuple[DrawnLine, Polygon]],
    site: Site,
    findings: list[Finding],
) -> Trench:
    name, symbol = named
    options = site.exchanger.horizontal
    depth = _depth(symbol, site)
    width = _width(name, path, edges, site, findings)
    return Trench(name, path, width, depth, options.pipes, options.kind)


def _width(
    name: str,
    path: LineString,
    edges: Sequence[tuple[DrawnLine, Polygon]],
    site: Site,
    findings: list[Finding],
) -> float:
    """Width between the edges drawn around a centre line; the site's where they do not fit [m]."""
    wanted = site.exchanger.horizontal.width_m
    around = Trench(name, path, wanted, 0.0, 1).footprint
    if any(_is_edge(around, polygon) for _, polygon in edges):
        return wanted
    middle = path.interpolate(0.5, normalized=True)
    own = [pair for pair in edges if pair[1].buffer(SAME_M).contains(middle)]
    if path.is_ring or not own:
        sentence = f"No edge is drawn around {name} where its {site.unit.center} line lies. "
        sentence += "Draw the plan again, "
        findings.append(drawn_fault("edge", f"{sentence}or move the edge with the line.", name))
        return wanted
    line, polygon = max(own, key=lambda pair: float(pair[1].intersection(around).area))
    width = float(polygon.area / path.length)
    if not _is_edge(Trench(name, path, width, 0.0, 1).footprint, polygon):
        sentence = f"The edge of {name} (handle {line.handle}) does not lie around its "
        sentence += f"{site.unit.center} line. "
        findings.append(drawn_fault("edge", f"{sentence}Move the two together.", name))
        return wanted
    shown = format_length(width, site.unit, 2)
    sentence = f"{name} is drawn {shown} wide, the site file says "
    sentence += f"{format_length(wanted, site.unit, 2)}. Mend the one or the other."
    findings.append(drawn_fault("width", sentence, name, width))
    return width


def _is_edge(footprint: BaseGeometry, polygon: Polygon) -> bool:
    """Whether a ring drawn is the outside of the ground that a trench opens."""
    shell = Polygon(footprint.exterior) if isinstance(footprint, Polygon) else footprint
    return bool(shell.hausdorff_distance(polygon) <= SAME_M)


def _depth(symbol: DrawnSymbol, site: Site) -> float:
    """Depth written at a trench; the site's where it is that, or cannot be read [m]."""
    expected = site.exchanger.horizontal.depth_m
    text = symbol.value("DEPTH")
    if text in ("", short_mark(expected, site.unit, rounding="down")):
        return expected
    try:
        return parse_length(text, site.unit.name)
    except UnitError:
        return expected


def joints_of(
    elements: Sequence[Element], drawing: Drawing, findings: list[Finding]
) -> tuple[Joint, ...]:
    """A joint for each line on the layer of joints, between the trenches whose far ends are near.

    Its id is the one written nearest to its middle.
    """
    trenches = [one for one in elements if isinstance(one, Trench)]
    lines = list(drawing.on(layer("joint")))
    if len(trenches) < 2:
        for line in lines:
            sentence = f"A joint (handle {line.handle}) has no two trenches to join. Erase it."
            findings.append(drawn_fault("joint", sentence, f"handle {line.handle}"))
        return ()
    names = _joint_names(lines, drawing)
    joints = []
    for name, line in zip(names, lines, strict=True):
        path = LineString(line.points)
        first = _nearest(line.points[0], trenches)
        second = _nearest(line.points[-1], [trench for trench in trenches if trench is not first])
        ends = (first.id, second.id)
        depth = max(first.depth_m, second.depth_m)
        joints.append(Joint(name, path, ends, max(first.width_m, second.width_m), depth))
    return tuple(joints)


def _nearest(at: tuple[float, float], trenches: Sequence[Trench]) -> Trench:
    return min(
        trenches, key=lambda trench: float(Point(trench.line.coords[-1]).distance(Point(at)))
    )


def _joint_names(lines: Sequence[DrawnLine], drawing: Drawing) -> list[str]:
    """The ids written near the middles of the lines, nearest first; a number where none is left."""
    labels = [word for word in drawing.words if names_joint(word)]
    middles = [LineString(line.points).interpolate(0.5, normalized=True) for line in lines]
    pairs = sorted(
        (float(Point(word.at).distance(middle)), number, place)
        for number, middle in enumerate(middles)
        for place, word in enumerate(labels)
    )
    names: dict[int, str] = {}
    for _, number, place in pairs:
        if number not in names and labels[place].text not in names.values():
            names[number] = labels[place].text
    return [names.get(number, f"J{number + 1}") for number in range(len(lines))]
