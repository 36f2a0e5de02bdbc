"""Detail of the groundwater: its flow, the wells around, and how far the pair's water spreads."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import Final

import shapely
from shapely import LineString, Point
from shapely.geometry.base import BaseGeometry

from siteplan.demand.wells import WellStudy
from siteplan.layout.elements import Well
from siteplan.layout.outfall import Outfall
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.drafting import PITCH_MM, Drafting, Named, Scale
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import BODY_MM
from siteplan.sheet.style.paper import enlargement, scale_label, scale_ratios
from siteplan.sheet.tables.plan_names import plan_names

WORDS_MM: Final = 46.0
"""What names beside the drawing take [mm]."""
BEYOND: Final = 0.2
"""Ground shown around the lot, in parts of its size."""
NEAR: Final = 1.0
"""Wells of others that are shown are no farther from the pair, in parts of the lot's size."""
EDGE: Final = 0.08
"""Ground shown around such a well, in parts of the lot's size."""
SHAFT_MM: Final = 5.5
"""Half of the arrow of the flow [mm]."""
GAP_MM: Final = 4.0
WELL_MM: Final = 1.1
"""Radius of a well as drawn [mm]."""
ALIKE: Final = 0.02
"""Areas within the drawing that differ by less are drawn as one [-]."""
PLUME: Final = "other"
CAPTURE: Final = "setback"


def groundwater_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Plan of the groundwater around a well pair, up to a height [mm]; None without one."""
    study, unit = content.wells, content.site.unit
    if study is None or content.layout is None:
        return None
    frame = _frame(content, study)
    scale = _scale(content, frame, (width - WORDS_MM, room_mm - 40.0))
    flow = Flow(width, "groundwater")
    flow.heading("GROUNDWATER AROUND THE WELLS")
    west, south, east, north = frame.bounds
    top = -flow.depth - 3.0
    origin = (-west * 1000.0 / scale.ratio, top - north * 1000.0 / scale.ratio)
    drawing = Drafting(flow, scale.ratio, origin)
    _draw_lot(drawing, content, frame)
    named = [*_areas(drawing, study, frame), *_wells(drawing, content, frame)]
    right, bottom = drawing.mm(east, south)
    below = _arrow(drawing, study, (right + 4.0, top), content)
    lowest = drawing.labels(right + 4.0, below, named)
    flow.depth = max(-bottom, -lowest) + 2.5
    names = plan_names(content.site)
    flow.paragraph(_note(study, scale_label(scale.nominal, unit), names))
    return flow.block()


def _frame(content: PlanContent, study: WellStudy) -> BaseGeometry:
    """Ground that is shown: the lot with some around it, and the wells of others not far off."""
    west, south, east, north = content.site.parcel.bounds
    size = max(east - west, north - south)
    around = {each.id for each in study.levels.neighbours if each.distance_m <= NEAR * size}
    wells = [feature.shape for feature in content.site.features if feature.id in around]
    lot = shapely.box(west, south, east, north).buffer(BEYOND * size, join_style="mitre")
    shown = [lot, *(well.buffer(EDGE * size) for well in wells)]
    return shapely.box(*shapely.union_all(shown).bounds)


def _scale(content: PlanContent, frame: BaseGeometry, room_mm: tuple[float, float]) -> Scale:
    """Largest scale of plans at which the ground fits into a room [mm]."""
    west, south, east, north = frame.bounds
    factor = enlargement(content.site.sheet.size)
    for ratio in sorted(scale_ratios(content.site.unit)):
        scale = Scale(int(ratio), factor)
        metre_mm = 1000.0 / scale.ratio
        if (east - west) * metre_mm <= room_mm[0] and (north - south) * metre_mm <= room_mm[1]:
            break
    return scale


def _draw_lot(drawing: Drafting, content: PlanContent, frame: BaseGeometry) -> None:
    for shape, style in (
        (content.site.parcel.exterior, "property"),
        *((feature.shape, "building") for feature in content.site.of_kind("building")),
        *((feature.shape, "water") for feature in content.site.of_kind("pond", "stream")),
    ):
        _lines(drawing, shape.boundary if shape.area else shape, frame, style)


def _lines(drawing: Drafting, shape: BaseGeometry, frame: BaseGeometry, style: str) -> None:
    for part in shapely.get_parts(shapely.line_merge(shape.intersection(frame))):
        if isinstance(part, LineString):
            drawing.line([(x, y) for x, y, *_ in part.coords], style)


def _areas(drawing: Drafting, study: WellStudy, frame: BaseGeometry) -> Iterator[Named]:
    """Draw plume and capture of each time; a name for those that the frame shows."""
    plumes = [(spread.years, spread.plume) for spread in study.spreads]
    captures = [(spread.years, spread.capture) for spread in study.spreads]
    for areas, style, called in (
        (plumes, PLUME, "RETURN PLUME"), (captures, CAPTURE, "CAPTURE"),
    ):  # fmt: skip
        there = [(years, shape) for years, shape in areas if not shape.is_empty]
        for years, shape in _told_apart(there, frame):
            edge = shape.simplify(0.1).boundary
            _lines(drawing, edge, frame, style)
            shown = shapely.get_coordinates(edge.intersection(frame.buffer(-0.5)))
            if len(shown):
                # the place nearest to the names
                x, y = max(shown.tolist(), key=lambda place: (round(place[0], 3), place[1]))
                yield f"{called}, {years}", drawing.mm(x, y)


def _told_apart(
    areas: Sequence[tuple[int, BaseGeometry]], frame: BaseGeometry
) -> Iterator[tuple[str, BaseGeometry]]:
    """Areas that differ within the frame, each with the years in which it looks so."""
    groups: list[list[tuple[int, BaseGeometry]]] = []
    for years, shape in areas:
        here = shape.intersection(frame).area
        before = groups[-1][-1][1].intersection(frame).area if groups else -math.inf
        if abs(here - before) <= ALIKE * here:
            groups[-1].append((years, shape))
        else:
            groups.append([(years, shape)])
    for group in groups:
        named = [str(years) for years, _ in group]
        series = " AND ".join([", ".join(named[:-1]), named[-1]] if len(named) > 1 else named)
        yield series + (" YEAR" if named == ["1"] else " YEARS"), group[-1][1]


def _wells(drawing: Drafting, content: PlanContent, frame: BaseGeometry) -> Iterator[Named]:
    """Draw the pair and the wells of others as rings, the pair's filled."""
    layout, study = content.layout, content.wells
    for well in layout.of(Well) if layout is not None else ():
        at = drawing.mm(well.x_m, well.y_m)
        _ring(drawing, at)
        drawing.pipe((well.x_m, well.y_m), 0.0)
        yield well.role.upper(), at
    for outfall in layout.of(Outfall) if layout is not None else ():
        at = drawing.mm(outfall.x_m, outfall.y_m)
        _ring(drawing, at)
        yield "OUTFALL", at
    around = {each.id for each in study.levels.neighbours} if study is not None else set()
    for feature in content.site.features:
        place = feature.shape.centroid
        if feature.id in around and frame.contains(Point(place.x, place.y)):
            at = drawing.mm(place.x, place.y)
            _ring(drawing, at)
            yield (feature.label or feature.id).upper(), at


def _ring(drawing: Drafting, at: tuple[float, float]) -> None:
    turns = [2 * math.pi * step / 24 for step in range(24)]
    ring = [(at[0] + WELL_MM * math.cos(t), at[1] + WELL_MM * math.sin(t)) for t in turns]
    drawing.stroke(ring, "section-hole", closed=True)


def _arrow(
    drawing: Drafting, study: WellStudy, at: tuple[float, float], content: PlanContent
) -> float:
    """Draw where the groundwater flows to, and how fast; the height below it in the block [mm]."""
    aquifer, unit = content.site.exchanger.open.aquifer, content.site.unit
    speed = math.hypot(*study.pair.past)
    left, top = at
    if not speed:
        drawing.write("GROUNDWATER: NO FLOW STATED", (left, top - BODY_MM))
        return top - BODY_MM - GAP_MM
    angle = math.radians(aquifer.direction_deg)
    x, y = math.sin(angle), math.cos(angle)
    middle = left + SHAFT_MM, top - SHAFT_MM
    tip = middle[0] + SHAFT_MM * x, middle[1] + SHAFT_MM * y
    drawing.stroke([(middle[0] - SHAFT_MM * x, middle[1] - SHAFT_MM * y), tip], "arrow")
    for side in (-1.0, 1.0):
        back = (tip[0] - 2.2 * x + side * y, tip[1] - 2.2 * y - side * x)
        drawing.stroke([back, tip], "arrow")
    pace = unit.permeability.text(speed / aquifer.porosity)
    for number, line in enumerate(("GROUNDWATER", pace)):
        drawing.write(line, (left + 2 * SHAFT_MM + 2.0, middle[1] + 0.6 - PITCH_MM * number))
    return top - 2 * SHAFT_MM - GAP_MM


def _note(study: WellStudy, scale: str, names: Mapping[str, str]) -> str:
    """What the drawing shows; ``names``: of features by their ids."""
    years = ", ".join(str(spread.years) for spread in study.spreads)
    if study.outfall:
        return (
            f"Scale {scale}. Fine: where the water comes from that is pumped within {years} years "
            f"of {study.seasons.hours:,.0f} h of full flow each; what comes out of "
            f"{names[study.outfall]}, to which it is returned, is not in it. "
            "Arrow: how far the water itself moves in a day. "
            "Outlines end where the drawing ends. By calculation, in an aquifer alike everywhere: "
            "no survey of the groundwater."
        )
    return (
        f"Scale {scale}. Dashed: where heat of the water returned has been after {years} years of "
        f"{study.seasons.hours:,.0f} h of full flow each. Fine: where the water comes from that is "
        "pumped within that time. Arrow: how far the water itself moves in a day. Outlines end "
        "where the drawing ends. By calculation, in an aquifer alike everywhere: no survey of the "
        "groundwater."
    )
