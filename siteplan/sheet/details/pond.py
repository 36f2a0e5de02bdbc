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

BLOCK_M: Final = 8 * INCH
"""Height of the blocks below a coil as drawn; common practice, no source [m]."""
THICK_M: Final = 10 * INCH
"""Thickness of a bundle of pipe as drawn [m]."""
NOTE: Final = (
    "Coil and blocks are drawn without their true height. Blocks carry the coil off the mud; their "
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
    deep = detail_mark(coil.water_depth_m, unit, rounding="down")
    left = DIMENSION_MM + widest([deep]) + 4.0
    total = coil.diameter_m + 1.2
    scale = largest_scale(content, (total, coil.water_depth_m), (room_beside(width, 0.45), room_mm))
    flow = Flow(width, "pond-section")
    scaled_heading(flow, "POND COIL SECTION", scale_words(scale.nominal, unit))
    drawing = Drafting(flow, scale.ratio, (left, -flow.depth - DIMENSION_MM - 4.0))
    _draw(drawing, coil, total)
    surface, bottom = drawing.mm(0.0, 0.0), drawing.mm(0.0, -coil.water_depth_m)
    drawing.deep(surface[0] - 3.0, (surface[1], bottom[1]), deep)
    first, last = drawing.mm(0.6, 0.0)[0], drawing.mm(0.6 + coil.diameter_m, 0.0)[0]
    y = drawing.mm(0.0, BLOCK_M + THICK_M - coil.water_depth_m)[1] + 2.5
    drawing.wide(y, (first, last), detail_mark(coil.diameter_m, unit))
    pipe = layout.circuits[0].pipe if layout is not None and layout.circuits else ""
    length = format_length(coil.pipe_m, unit, rough(unit), rounding="down")
    middle = BLOCK_M + THICK_M / 2 - coil.water_depth_m
    named = [
        ("LOW WATER LEVEL", drawing.mm(total, 0.0)),
        (f"COIL, {length} OF {pipe} PIPE".replace("  ", " "), drawing.mm(total - 0.65, middle)),
        ("BALLAST BLOCKS", drawing.mm(total - 0.95, BLOCK_M / 2 - coil.water_depth_m)),
        ("POND BOTTOM", drawing.mm(total, -coil.water_depth_m)),
    ]
    lowest = drawing.labels(drawing.mm(total, 0.0)[0] + 5.0, surface[1], named)
    flow.depth = max(-bottom[1] + 3.0, -lowest) + 2.0
    shallow = "Drawn where the water is shallowest; depth at the lowest level. "
    flow.paragraph(shallow + NOTE)
    return flow.block()


def _draw(drawing: Drafting, coil: Coil, total: float) -> None:
    """Draw water, bottom, coil and blocks."""
    deep = coil.water_depth_m
    drawing.line([(0.0, 0.0), (total, 0.0)], "water")
    drawing.line([(0.0, -deep), (total, -deep)], "section-ground")
    left, right = 0.6, 0.6 + coil.diameter_m
    low, high = BLOCK_M - deep, BLOCK_M + THICK_M - deep
    ring = [(left, low), (right, low), (right, high), (left, high)]
    drawing.hatch(ring, gap_mm=0.9, angle=0.0)
    drawing.line(ring, "section-hole", closed=True)
    for x in (left + 0.1, right - 0.5):
        block = [(x, -deep), (x + 0.4, -deep), (x + 0.4, low), (x, low)]
        drawing.line(block, "section-hole", closed=True)
