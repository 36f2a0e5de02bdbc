"""Detail of a pond coil: on the bottom, under its water."""

from __future__ import annotations

from typing import Final

from siteplan.layout.elements import Coil
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.drafting import Drafting, largest_scale, room_beside, widest
from siteplan.sheet.details.trench import DIMENSION_MM, scale_words, scaled_heading
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.style.formats import detail_mark
from siteplan.units.lengths import INCH, format_length, rough

BLOCK_SHARE: Final = 0.45
"""Share of a coil's height that its blocks have as drawn; common practice, no source [-]."""
LEAST_HIGH_M: Final = 8 * INCH
"""Least height at which coil and blocks are drawn [m]."""
NOTE: Final = (
    "Blocks carry the coil off the mud; their "
    "weight holds it down, empty of fluid too. Mark the coils on the shore. Pressure-test before "
    "sinking."
)


def pond_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section of the pond at a coil up to a height [mm], None where there is none."""
    layout, unit = content.layout, content.site.unit
    coils = layout.of(Coil) if layout else ()
    if not coils:
        return None
    coil = min(coils, key=lambda coil: (coil.water_depth_m, coil.id))
    high = max(content.site.exchanger.pond.height_m, LEAST_HIGH_M)
    whole = coil.water_depth_m + high
    deep = detail_mark(coil.water_depth_m, unit, rounding="down")
    left = DIMENSION_MM + widest([deep]) + 4.0
    total = coil.diameter_m + 1.2
    scale = largest_scale(content, (total, whole), (room_beside(width, 0.45), room_mm))
    flow = Flow(width, "pond-section")
    scaled_heading(flow, "POND COIL SECTION", scale_words(scale.nominal, unit))
    drawing = Drafting(flow, scale.ratio, (left, -flow.depth - DIMENSION_MM - 4.0))
    _draw(drawing, coil, total, high)
    surface, bottom = drawing.mm(0.0, 0.0), drawing.mm(0.0, -whole)
    top = drawing.mm(0.0, -coil.water_depth_m)
    drawing.deep(surface[0] - 3.0, (surface[1], top[1]), deep)
    first, last = drawing.mm(0.6, 0.0)[0], drawing.mm(0.6 + coil.diameter_m, 0.0)[0]
    y = top[1] + 2.5
    drawing.wide(y, (first, last), detail_mark(coil.diameter_m, unit))
    pipe = layout.circuits[0].pipe if layout is not None and layout.circuits else ""
    length = format_length(coil.pipe_m, unit, rough(unit), rounding="down")
    middle = -coil.water_depth_m - high * (1 - BLOCK_SHARE) / 2
    named = [
        ("LOW WATER LEVEL", drawing.mm(total, 0.0)),
        (f"COIL, {length} OF {pipe} PIPE".replace("  ", " "), drawing.mm(total - 0.65, middle)),
        ("BALLAST BLOCKS", drawing.mm(total - 0.95, high * BLOCK_SHARE / 2 - whole)),
        ("POND BOTTOM", drawing.mm(total, -whole)),
    ]
    lowest = drawing.labels(drawing.mm(total, 0.0)[0] + 5.0, surface[1], named)
    flow.depth = max(-bottom[1] + 3.0, -lowest) + 2.0
    shallow = "Drawn where the water is shallowest; depth at the lowest level. "
    flow.paragraph(shallow + NOTE)
    return flow.block()


def _draw(drawing: Drafting, coil: Coil, total: float, high: float) -> None:
    """Draw water, bottom, coil and blocks."""
    whole = coil.water_depth_m + high
    drawing.line([(0.0, 0.0), (total, 0.0)], "water")
    drawing.line([(0.0, -whole), (total, -whole)], "section-ground")
    left, right = 0.6, 0.6 + coil.diameter_m
    bottom, top = high * BLOCK_SHARE - whole, -coil.water_depth_m
    ring = [(left, bottom), (right, bottom), (right, top), (left, top)]
    drawing.hatch(ring, gap_mm=0.9, angle=0.0)
    drawing.line(ring, "section-hole", closed=True)
    for x in (left + 0.1, right - 0.5):
        block = [(x, -whole), (x + 0.4, -whole), (x + 0.4, bottom), (x, bottom)]
        drawing.line(block, "section-hole", closed=True)
