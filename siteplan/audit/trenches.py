"""Trenches and their crossovers, read from centre lines and edges."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from shapely import LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.audit.figures import length_said
from siteplan.audit.labels import names_crossover
from siteplan.audit.model import Drawing, DrawnLine, DrawnSymbol
from siteplan.audit.words import drawn_fault
from siteplan.findings.model import Finding, reason
from siteplan.layout.elements import Element, Trench
from siteplan.layout.piping_model import Crossover
from siteplan.sheet.style.styles import layer
from siteplan.site.model import Site

SAME_M: Final = 0.001
"""Places closer than this are one [m]."""


def trenches_of(
    named: Sequence[tuple[str, DrawnSymbol]], drawing: Drawing, site: Site, findings: list[Finding]
) -> tuple[Trench, ...]:
    """A trench for every mark at the start of a centre line.

    A symbol away from every line takes the one left over, if only one is, and says so.
    """
    pairs = _paired(named, drawing, findings)
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
    named: Sequence[tuple[str, DrawnSymbol]], drawing: Drawing, findings: list[Finding]
) -> list[tuple[str, DrawnSymbol, DrawnLine]]:
    free = list(drawing.on(layer("trench")))
    by_number: dict[int, DrawnLine] = {}
    for number, (_, symbol) in enumerate(named):
        # marks in their place first, so that one away from its line takes no line of another
        line = next((line for line in free if math.dist(line.points[0], symbol.at) <= SAME_M), None)
        if line is not None:
            free.remove(line)
            by_number[number] = line
    for number, (name, symbol) in enumerate(named):
        if number in by_number:
            continue
        # with several lines left over nobody can tell which is meant
        line = _elsewhere(symbol, drawing) or (free[0] if len(free) == 1 else None)
        if line is None:
            told = reason(
                "mark-without-line", name=name, handle=symbol.handle, layer=layer("trench")
            )
            findings.append(drawn_fault("no-line", told, name))
            continue
        by_number[number] = line
        if line in free:
            free.remove(line)
            told = reason("mark-not-at-start", name=name, handle=symbol.handle, line=line.handle)
            findings.append(drawn_fault("mark-off-line", told, name))
        else:
            told = reason(
                "line-on-wrong-layer",
                name=name,
                handle=line.handle,
                layer=line.layer,
                wanted=layer("trench"),
            )
            findings.append(drawn_fault("layer", told, name))
    for line in free:
        told = reason("line-without-id", handle=line.handle)
        findings.append(drawn_fault("no-id", told, f"handle {line.handle}"))
    return [(*named[number], by_number[number]) for number in sorted(by_number)]


def _elsewhere(symbol: DrawnSymbol, drawing: Drawing) -> DrawnLine | None:
    """An open line that starts at a mark, on a layer on which no plan has one."""
    usual = {layer(role) for role in ("trench", "header", "crossover", "trench-pipe", "ids")}
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
    depth = length_said(symbol.value("DEPTH"), options.depth_m, site.unit)
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
    # the width asked for is tried first: measured, it would come out with the rounding of the file
    if any(_is_edge(around, polygon) for _, polygon in edges):
        return wanted
    middle = path.interpolate(0.5, normalized=True)
    # by the middle, which lies in its edge even where an end was moved
    own = [pair for pair in edges if pair[1].buffer(SAME_M).contains(middle)]
    if path.is_ring or not own:
        findings.append(drawn_fault("edge", reason("no-edge", name=name), name))
        return wanted
    line, polygon = max(own, key=lambda pair: float(pair[1].intersection(around).area))
    width = float(polygon.area / path.length)
    if not _is_edge(Trench(name, path, width, 0.0, 1).footprint, polygon):
        findings.append(
            drawn_fault("edge", reason("edge-off-line", name=name, handle=line.handle), name)
        )
        return wanted
    told = reason("width-differs", name=name, drawn_m=width, asked_m=wanted)
    findings.append(drawn_fault("width", told, name, width))
    return width


def _is_edge(footprint: BaseGeometry, polygon: Polygon) -> bool:
    """Whether a ring drawn is the outside of the ground that a trench opens."""
    shell = Polygon(footprint.exterior) if isinstance(footprint, Polygon) else footprint
    return bool(shell.hausdorff_distance(polygon) <= SAME_M)


def crossovers_of(
    elements: Sequence[Element], drawing: Drawing, findings: list[Finding]
) -> tuple[Crossover, ...]:
    """A crossover for each line on their layer, between the trenches whose far ends are near.

    Its id is the one written nearest to its middle.
    """
    trenches = [element for element in elements if isinstance(element, Trench)]
    lines = list(drawing.on(layer("crossover")))
    if len(trenches) < 2:
        for line in lines:
            told = reason("crossover-of-nothing", handle=line.handle)
            findings.append(drawn_fault("crossover", told, f"handle {line.handle}"))
        return ()
    names = _crossover_names(lines, drawing)
    crossovers = []
    for name, line in zip(names, lines, strict=True):
        path = LineString(line.points)
        first = _nearest(line.points[0], trenches)
        # both ends of a short one may be nearest to the same trench, and it joins two
        second = _nearest(line.points[-1], [trench for trench in trenches if trench is not first])
        ends = (first.id, second.id)
        depth = max(first.depth_m, second.depth_m)
        crossovers.append(Crossover(name, path, ends, max(first.width_m, second.width_m), depth))
    return tuple(crossovers)


def _nearest(at: tuple[float, float], trenches: Sequence[Trench]) -> Trench:
    return min(
        trenches, key=lambda trench: float(Point(trench.line.coords[-1]).distance(Point(at)))
    )


def _crossover_names(lines: Sequence[DrawnLine], drawing: Drawing) -> list[str]:
    """The ids written near the middles of the lines, nearest first; a number where none is left."""
    labels = [word for word in drawing.words if names_crossover(word)]
    middles = [LineString(line.points).interpolate(0.5, normalized=True) for line in lines]
    # nearest of all pairs first: line by line an early one would take the label of a later one
    pairs = sorted(
        (float(Point(word.at).distance(middle)), number, place)
        for number, middle in enumerate(middles)
        for place, word in enumerate(labels)
    )
    names: dict[int, str] = {}
    for _, number, place in pairs:
        if number not in names and labels[place].text not in names.values():
            names[number] = labels[place].text
    return [names.get(number, f"X{number + 1}") for number in range(len(lines))]
