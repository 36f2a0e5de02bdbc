"""Detail of the well pair: casing, screen, and the water level that has to be measured."""

from __future__ import annotations

import math
from typing import Final

from siteplan.layout.elements import Well
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.bore import GAP_MM
from siteplan.sheet.details.drafting import Drafting, Named, largest_scale, tallest
from siteplan.sheet.details.trench import DIMENSION_MM, scale_words, scaled_heading
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.style.formats import detail_mark
from siteplan.units.lengths import FOOT, format_flow, format_length
from siteplan.units.model import UnitSystem

RISE_M: Final = 1 * FOOT
"""Casing above the ground as drawn; common practice, no source [m]."""
UPPER_M: Final = 1.4
LOWER_M: Final = 0.9
LEVEL: Final = -0.75 * UPPER_M
"""Where the level at rest is drawn: the depth is broken [m]."""
STIR: Final = {"supply": -0.15, "return": 0.15}
"""By how much the level is drawn to fall while it is pumped, or to rise [m]."""
PIPE_SHARE: Final = 0.16
"""Half of the pipe in a well, as a share of the casing [-]."""
PUMP_M: Final = (0.62, 0.84)
"""Lower and upper end of the pump over the toe, as drawn [m]."""
GAP_BETWEEN_MM: Final = 16.0
"""Between the two wells on paper [mm]."""
NOTE: Final = (
    "Depth and distance are broken. Length of casing, annular seal and screen: by the driller's "
    "log and the well authority; none is stated. The return pipe ends below the water, so that no "
    "air is drawn in."
)
LONE_NOTE: Final = (
    "Depth is broken. Length of casing, annular seal and screen: by the driller's log and the well "
    "authority; none is stated. Water goes to the outfall: its pipe drains towards its end, which "
    "lies above the highest water or has a check valve, on stone against erosion."
)
NOT_KNOWN: Final = (
    "The static level is not known: measure it before the pump is chosen, and state it."
)


def well_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section of supply and return well up to a height [mm], None where there are none."""
    layout, unit = content.layout, content.site.unit
    wells = layout.of(Well) if layout else ()
    if not wells:
        return None
    lone = len(wells) < 2
    flow = Flow(width, "well-section")
    size = (2.0, RISE_M + UPPER_M + LOWER_M)
    scale = largest_scale(content, size, (width, min(room_mm, tallest(content) - 75.0)))
    words = scale_words(scale.nominal, unit)
    title = "SUPPLY WELL SECTION" if lone else "WELL PAIR SECTION"
    scaled_heading(flow, title, f"{words}, DEPTH BROKEN")
    rise = RISE_M * 1000.0 / scale.ratio
    outside = (wells[0].diameter_m / 2 + 0.1) * 1000.0 / scale.ratio
    top, left = -flow.depth - rise - 12.0, outside + DIMENSION_MM + 12.0
    apart_mm = 2 * outside + GAP_BETWEEN_MM
    drawings = [Drafting(flow, scale.ratio, (left + k * apart_mm, top)) for k in range(len(wells))]
    for drawing, well in zip(drawings, wells, strict=False):
        toe = _draw_well(drawing, well)
        x = drawing.origin[0]
        drawing.write(_name(well), (x, top + rise + 8.0), "center")
        drawing.deep(x - outside - 2.0, (top, toe), _depth(well, unit))
    first, last = drawings[0].origin[0], drawings[-1].origin[0]
    if not lone:
        apart = math.dist((wells[0].x_m, wells[0].y_m), (wells[1].x_m, wells[1].y_m))
        drawings[0].wide(top + rise + 2.0, (first, last), detail_mark(apart, unit, rounding="down"))
    lowest = drawings[-1].labels(
        last + outside + 4.0, top + 4.0, _named(drawings[-1], wells[-1], content)
    )
    flow.depth = max(-toe, -lowest) + 2.5
    flow.paragraph(LONE_NOTE if lone else NOTE)
    flow.paragraph(_pump_words(content))
    return flow.block()


def _pump_words(content: PlanContent) -> str:
    """What the pump has to do, as far as the level at rest is known."""
    study, unit = content.wells, content.site.unit
    lift = study.lift if study is not None else None
    if study is None or lift is None:
        return NOT_KNOWN
    flow = format_flow(study.seasons.flow_m3s, unit, rounding="up")
    level, lifted = (
        format_length(length, unit, rounding="up") for length in (lift.level_m, lift.head_m)
    )
    return (
        f"Supply: pump on a drop pipe below the level while it is pumped, {level} down by "
        f"calculation; {flow} against {lifted}, about {lift.power_w:,.0f} W. Measure both levels."
    )


def _name(well: Well) -> str:
    role = well.role.upper()
    return role if well.id.upper() == role else f"{role} {well.id}"


def _depth(well: Well, unit: UnitSystem) -> str:
    return "EXISTING" if well.existing else detail_mark(well.depth_m, unit, rounding="down")


def _draw_well(drawing: Drafting, well: Well) -> float:
    """Draw ground, casing, seal and screen of a well; where its toe lies [mm]."""
    half = well.diameter_m / 2
    scale = 1000.0 / drawing.ratio
    for side in (-1.0, 1.0):
        drawing.line([(side * (half + 0.03), 0.0), (side * (half + 0.1), 0.0)], "section-ground")
        drawing.line([(side * half, RISE_M), (side * half, -UPPER_M)], "section-hole")
        near, far = side * half, side * (half + 0.05)
        drawing.hatch([(near, 0.0), (far, 0.0), (far, -UPPER_M), (near, -UPPER_M)], gap_mm=0.8)
    drawing.line([(-half - 0.03, RISE_M), (half + 0.03, RISE_M)], "section-hole")
    left, right = drawing.mm(-half, 0.0)[0] - 3.0, drawing.mm(half, 0.0)[0] + 3.0
    cut = drawing.mm(0.0, -UPPER_M)[1]
    for y in (cut, cut - GAP_MM):
        drawing.break_line(left, right, y)
    toe = cut - GAP_MM - LOWER_M * scale
    lower = Drafting(drawing.flow, drawing.ratio, (drawing.origin[0], toe))
    for side in (-1.0, 1.0):
        lower.line([(side * half, LOWER_M), (side * half, 0.0)], "section-hole")
    lower.line([(-half, 0.0), (half, 0.0)], "section-hole")
    for step in range(1, 8):
        lower.line([(-half, 0.08 * step), (half, 0.08 * step)], "hair")
    for level, style in ((LEVEL, "water"), (LEVEL + STIR[well.role], "contour")):
        drawing.line([(-half, level), (half, level)], style)
    _draw_pipe(drawing, lower, well)
    return toe


def _draw_pipe(drawing: Drafting, lower: Drafting, well: Well) -> None:
    """Draw the drop pipe with the pump at its end, or the return pipe that ends below the water."""
    half = well.diameter_m * PIPE_SHARE
    for side in (-half, half):
        drawing.line([(side, RISE_M), (side, -UPPER_M)], "trench-pipe")
    if well.role == "supply":
        for side in (-half, half):
            lower.line([(side, LOWER_M), (side, PUMP_M[1])], "trench-pipe")
        wide, (low, high) = 2 * half, PUMP_M
        ring = [(-wide, low), (wide, low), (wide, high), (-wide, high)]
        lower.line(ring, "section-hole", closed=True)


def _named(drawing: Drafting, well: Well, content: PlanContent) -> list[Named]:
    unit, half = content.site.unit, well.diameter_m / 2
    size = unit.small.text(well.diameter_m).upper()
    toe = drawing.mm(half, -UPPER_M)[1] - GAP_MM - LOWER_M * 1000.0 / drawing.ratio
    screen = (drawing.mm(half, 0.0)[0], toe + 0.3 * 1000.0 / drawing.ratio)
    rest, stirred = _levels(content, well)
    return [
        (f"CASING {size}, CAPPED", drawing.mm(half, RISE_M * 0.5)),
        ("ANNULAR SEAL, GROUTED", drawing.mm(half + 0.04, -0.3)),
        (
            "DROP PIPE TO THE PUMP" if well.role == "supply" else "RETURN PIPE, ENDS BELOW WATER",
            drawing.mm(well.diameter_m * PIPE_SHARE, -0.6),
        ),
        (stirred, drawing.mm(half * 0.8, LEVEL + STIR[well.role])),
        (rest, drawing.mm(half * 0.8, LEVEL)),
        ("SCREEN, LENGTH NOT STATED", screen),
    ]


def _levels(content: PlanContent, well: Well) -> tuple[str, str]:
    """Words for the level at rest, and for that while water goes in or is pumped."""
    study, unit, level = content.wells, content.site.unit, content.site.exchanger.open.level_m
    if well.role == "supply":
        lift = study.lift if study is not None else None
        if level is None or lift is None:
            return "STATIC LEVEL NOT KNOWN", "FALLS WHILE IT IS PUMPED"
        falls = format_length(lift.level_m, unit, 2, rounding="up")
        rest = format_length(level, unit, 2, rounding="down")
        return f"STATIC LEVEL {rest}", f"FALLS TO {falls}"
    if study is None or level is None:
        return "STATIC LEVEL NOT KNOWN", "RISES WHILE WATER GOES IN"
    rises = max(level - study.levels.back_m, 0.0)
    rest, up_to = (format_length(down, unit, 2, rounding="down") for down in (level, rises))
    return f"STATIC LEVEL {rest}", f"RISES TO {up_to}"
