"""Detail of a bore: from the header trench down to the U-bend, its depth broken."""

from __future__ import annotations

import math
from typing import Final

from siteplan.demand.fluid_side import u_bend_pipe
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Bore
from siteplan.layout.header.section import header_depth, outer
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.drafting import Drafting, Named, largest_scale, tallest, widest
from siteplan.sheet.details.trench import DIMENSION_MM, scale_words, scaled_heading
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.style.formats import detail_mark
from siteplan.units.heat import format_conductivity
from siteplan.units.model import UnitSystem

WIDE_M: Final = 1.2
"""What is drawn on either side of a bore, at most [m]."""
UPPER_M: Final = 0.9
"""How much of a bore is drawn below the header [m]."""
LOWER_M: Final = 0.7
"""How much of a bore is drawn above its toe [m]."""
GAP_MM: Final = 5.0
"""Between the two pieces of a broken depth on paper [mm]."""
NOTE: Final = (
    "Depth is broken; what is drawn is to scale. Fill with grout from the toe up to the header, "
    "through a tremie pipe that is drawn up with it, in one go. Casing through loose ground and "
    "its length: by the driller's log and the well authority; none is stated. Pressure-test the "
    "loop before and after grouting; cap the pipes until the header is joined."
)


def bore_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section of a bore up to a height [mm], None where there is none."""
    layout, unit = content.layout, content.site.unit
    bores = list(layout.of(Bore)) if layout else []
    if layout is None or not bores:
        return None
    header = header_depth(layout.piping, content.site.exchanger.piping.header)
    size = (WIDE_M, header + UPPER_M + LOWER_M)
    scale = largest_scale(content, size, (width * 0.62, min(room_mm, tallest(content) - 75.0)))
    ratio = scale.ratio
    flow = Flow(width, "bore-section")
    scale_text = scale_words(scale.nominal, unit)
    scaled_heading(flow, "BORE SECTION", f"{scale_text}, DEPTH BROKEN")
    deep = depth_words(bores, unit)
    left = DIMENSION_MM + widest([deep])
    middle = left + 0.35 * 1000.0 / ratio + 4.0
    upper = Drafting(flow, ratio, (middle, -flow.depth - 3.0))
    cut = upper.mm(0.0, -header - UPPER_M)[1]
    # the toe of a piece drawn as if it began LOWER_M below the break
    toe = cut - GAP_MM - LOWER_M * 1000.0 / ratio
    lower = Drafting(flow, ratio, (middle, toe))
    _draw_upper(upper, bores[0], header, cut)
    pipe = layout.circuits[0].pipe if layout.circuits else ""
    _draw_pipe(upper, lower, (header, outer(pipe)), bores[0])
    edge = upper.mm(bores[0].diameter_m / 2, 0.0)
    upper.deep(left, (edge[1], toe), deep)
    named = _named(content, (upper, lower), bores[0], header=header, pipe=pipe)
    lowest = upper.labels(
        upper.mm(bores[0].diameter_m / 2 + 0.4, 0.0)[0] + 4.0, edge[1] - 5.0, named
    )
    flow.depth = max(-toe, -lowest) + 2.5
    flow.paragraph(f"{_leaning(bores)}{NOTE} {_turn(content, pipe)}".rstrip())
    return flow.block()


def depth_words(bores: list[Bore], unit: UnitSystem) -> str:
    r"""Depth of the bores from the ground, or the least and the greatest.

    Examples
    --------
    >>> from siteplan.units.systems import US
    >>> depth_words([Bore("B1", 0, 0, 0.15, 91.44), Bore("B2", 6, 0, 0.15, 60.96)], US)
    '200\'-0" TO 300\'-0"'
    """
    depths = [bore.depth_m for bore in bores]
    low, high = (detail_mark(depth, unit, rounding="down") for depth in (min(depths), max(depths)))
    return high if low == high else f"{low} TO {high}"


def _leaning(bores: list[Bore]) -> str:
    if not any(bore.tilt_deg for bore in bores):
        return ""
    return "Bores lean as the table says; their depth is measured along them. "


def _turn(content: PlanContent, size: str) -> str:
    """How the legs of the U-bend turn into the header trench."""
    if not size:
        return ""
    energy = content.site.exchanger.energy
    pipe = pipes()[size] if energy is None else u_bend_pipe(energy)
    radius = detail_mark(pipe.bend_radius_m, content.site.unit)
    return (
        f"Turn its legs into the header trench no tighter than {radius} ({pipe.least_bend:g} x the "
        f"diameter of DR {round(pipe.dimension_ratio, 1):g} pipe, PPI), with no joint in the bend, "
        "or with elbows."
    )


def _draw_upper(drawing: Drafting, bore: Bore, header: float, cut: float) -> None:
    """Draw ground, header trench and the bore down to the break."""
    half = bore.diameter_m / 2
    end = half + 0.4
    drawing.line([(-0.35, 0.0), (end, 0.0)], "section-ground")
    drawing.line([(-half - 0.06, 0.0), (-half - 0.06, -header), (-half, -header)], "section-hole")
    drawing.line([(half, -header), (end, -header)], "section-hole")
    low = -header - UPPER_M
    drawing.hatch([(-half, -header), (half, -header), (half, low), (-half, low)], gap_mm=1.4)
    for x in (-half, half):
        drawing.line([(x, -header), (x, low)], "section-hole")
    left, right = drawing.mm(-half, 0.0)[0], drawing.mm(half, 0.0)[0]
    for y in (cut, cut - GAP_MM):
        drawing.break_line(left - 3.0, right + 3.0, y)


def _draw_pipe(upper: Drafting, lower: Drafting, sizes: tuple[float, float], bore: Bore) -> None:
    """Draw both legs of the U-bend, above and below the break, and the lower piece."""
    header, outer_m = sizes
    half = bore.diameter_m / 2
    leg = min(half - outer_m / 2, outer_m)
    lower.hatch([(-half, LOWER_M), (half, LOWER_M), (half, 0.0), (-half, 0.0)], gap_mm=1.4)
    lower.line([(-half, LOWER_M), (-half, 0.0), (half, 0.0), (half, LOWER_M)], "section-hole")
    for side, level in ((-1.0, 0.2), (1.0, 0.1)):
        y = level - header
        upper.line([(half + 0.4, y), (side * leg, y), (side * leg, -header - UPPER_M)], "trench")
    turns = [math.pi * step / 12 for step in range(13)]
    bend = [(-leg * math.cos(t), 0.1 - leg * math.sin(t)) for t in turns]
    lower.line([(-leg, LOWER_M), *bend, (leg, LOWER_M)], "trench")


def _named(
    content: PlanContent, drawings: tuple[Drafting, Drafting], bore: Bore, *, header: float,
    pipe: str,
) -> list[Named]:  # fmt: skip
    unit, energy = content.site.unit, content.site.exchanger.energy
    upper, lower = drawings
    grout = "GROUT FULL DEPTH, BOTTOM UP"
    if energy is not None:
        grout += f", {format_conductivity(energy.loop.grout, unit)}"
    half = bore.diameter_m / 2
    bored = detail_mark(bore.diameter_m, unit, rounding="nearest")
    if unit.detail is None:
        bored = unit.small.text(bore.diameter_m).upper()
    return [
        (f"HEADER {detail_mark(header, unit)} DEEP", upper.mm(half + 0.38, 0.2 - header)),
        (f"{bored} DIA. BORE", upper.mm(half, -header - 0.2)),
        (grout, upper.mm(half * 0.85, -header - 0.5)),
        (f"U-BEND {pipe}, FACTORY FUSED".replace(" ,", ","), lower.mm(0.02, 0.07)),
    ]
