"""What may not be used: one light hatch, and a dashed line with its name for every rule."""

from __future__ import annotations

from dataclasses import replace

import shapely
from shapely import LineString, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.available.area import KeepOut
from siteplan.rule_books.model import PROPERTY_LINE, Rule
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.ground_left import ground_left
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.plan_view.features import beside_line, name_area
from siteplan.sheet.style.formats import short_mark
from siteplan.sheet.style.styles import layer
from siteplan.site.model import Site
from siteplan.units.model import UnitSystem

SETBACK_INK, SETBACK_LEADER = 4.4, 3.0
"""What the name of what is built pays for interrupting a setback line: as much as for most other
places beside it, less than between two trenches; and what a leader pays for crossing one."""
OTHER_NAME = 5.6
"""What any other name pays besides."""
BESIDE_LINE = 6.0
"""What the name of a setback line pays for standing beside it."""
HATCH_GAP_MM = 4.2
NAME_HEIGHT_MM = 2.05
MOST_COST = 65.0
"""A name that disturbs more than this is left out."""
UNHATCHED = ("building", "pond", "septic tank", "drainfield", "reserve area", "wetland")
"""Kinds whose own area tells that nothing goes there."""
LEAST_NAMED_M2, LEAST_WIDE_M = 10.0, 2.0
"""Available ground smaller than this, or narrower wherever one stands, is not named [m2, m]."""
MOST_NAMED = 3
"""Parts of the available ground that are named: the largest."""
OVERHANG = " OVERHANG"
"""Behind a kind of thing whose overhang a distance is measured from."""
GROUPED = {"potable well": "WELL", PROPERTY_LINE: "PROPERTY LINE"}


def draw_limits(canvas: Canvas, site: Site, keep_outs: tuple[KeepOut, ...]) -> None:
    """Draw the union of all keep-outs as one light hatch, and the edge of each rule's ground."""
    lines = setback_lines(site, keep_outs)
    taken = shapely.union_all([keep_out.shape for keep_out in keep_outs])
    areas = [area.shape for area in site.of_kind(*UNHATCHED) if area.shape.area > 0]
    filled = shapely.union_all(areas)
    band = taken.intersection(site.parcel)
    if not band.is_empty:  # GEOS cannot take shapes of mixed dimension off an empty one
        band = band.difference(filled)
    canvas.hatch(band, "keep-out-hatch", layer("keep-out"), gap=HATCH_GAP_MM)
    for _, line in lines:
        canvas.outline(line, "setback", layer("setback"), ink=SETBACK_INK, leader=SETBACK_LEADER)


def keep_names_off_limits(
    canvas: Canvas, site: Site, keep_outs: tuple[KeepOut, ...]
) -> list[BaseGeometry]:
    """Ink by which further names pay more for interrupting the edge of a rule's ground."""
    sizes = canvas.placer.sizes()
    for _, line in setback_lines(site, keep_outs):
        for part in get_parts(line):
            if isinstance(part, LineString):
                canvas.cover_line([(x, y) for x, y, *_ in part.coords], OTHER_NAME, 0.0)
    return canvas.placer.since(sizes)


def label_limits(canvas: Canvas, site: Site, keep_outs: tuple[KeepOut, ...], decimals: int) -> None:
    """Write what each setback line is, where there is room; the table says it anyway."""
    for rule, line in setback_lines(site, keep_outs):
        text = setback_name(rule, site.unit, decimals)
        label = Label((text,), NAME_HEIGHT_MM, "text-setback", layer("setback"))
        places = []
        for part in sorted(get_parts(line), key=lambda part: -part.length)[:2]:
            if isinstance(part, LineString):
                path = LineString(canvas.view.to_paper(part.coords))
                # in its line a name cannot be taken for that of the next one, which may be near
                places += beside_line(path, label, over=True)
                places += [
                    replace(place, cost=place.cost + BESIDE_LINE)
                    for place in beside_line(path, label)
                ]
        canvas.put(label, places, most=MOST_COST)


def label_available(canvas: Canvas, content: PlanContent) -> None:
    """Name the ground that the rules leave, where no field stands in it."""
    layout, unit = content.layout, content.site.unit
    if layout is None or layout.elements:
        return
    parts = [
        part
        for part in get_parts(ground_left(content))
        if part.area > LEAST_NAMED_M2 and not part.buffer(-LEAST_WIDE_M / 2).is_empty
    ]
    for part in sorted(parts, key=lambda part: -part.area)[:MOST_NAMED]:
        size = unit.area.text(float(part.area))
        label = Label(("AVAILABLE AREA", size), NAME_HEIGHT_MM, "text-setback", layer("setback"))
        name_area(canvas, part, [label])


def setback_name(rule: Rule, unit: UnitSystem, decimals: int) -> str:
    """Name of a setback line, its distance rounded as in the table.

    Examples
    --------
    >>> from siteplan.units.systems import METRIC, US
    >>> well = Rule("w", "potable well", ("bore",), 15.24, "50 ft", "b", "s")
    >>> setback_name(well, US, 1), setback_name(well, METRIC, 2)
    ("50' WELL SEPARATION", '15.24 m WELL SEPARATION')
    >>> roof = Rule("o", "building", ("bore",), 1.524, "5 ft", "b", "s", measure="overhang")
    >>> setback_name(roof, US, 1)
    "5' BUILDING OVERHANG SEPARATION"
    """
    subject = GROUPED.get(rule.subject, rule.subject.upper())
    if rule.measure == "overhang":
        subject += OVERHANG
    word = "SETBACK" if rule.subject == PROPERTY_LINE else "SEPARATION"
    return f"{short_mark(rule.distance_m, unit, decimals=decimals)} {subject} {word}"


def setback_lines(
    site: Site, keep_outs: tuple[KeepOut, ...]
) -> tuple[tuple[Rule, BaseGeometry], ...]:
    """Inner edge of the ground each rule takes from the parcel, rules with a distance only."""
    grouped: dict[tuple[str, float, str], list[KeepOut]] = {}
    for keep_out in keep_outs:
        rule = keep_out.rule
        if rule.distance_m > 0.0:
            key = (rule.subject, rule.distance_m, rule.measure)
            grouped.setdefault(key, []).append(keep_out)
    # an edge along the property line or under a house limits nothing
    inner = site.parcel.buffer(-0.05).difference(
        shapely.union_all([feature.shape for feature in site.of_kind("building")])
    )
    lines = []
    for group in grouped.values():
        edge = shapely.union_all([keep_out.shape for keep_out in group]).boundary.intersection(
            inner
        )
        if edge.length > 0.0:
            merged = shapely.line_merge(edge) if edge.geom_type == "MultiLineString" else edge
            lines.append((group[0].rule, merged))
    return tuple(lines)
