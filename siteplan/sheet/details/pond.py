"""Detail of what lies in a pond: a coil, a flat mat or a frame of plates, under its water."""

from __future__ import annotations

from typing import Final

from siteplan.findings.words import plural
from siteplan.layout.elements import Coil
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.drafting import (
    Drafting,
    Named,
    largest_scale,
    room_beside,
    widest,
)
from siteplan.sheet.details.trench import DIMENSION_MM, scale_words, scaled_heading
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.style.formats import detail_mark
from siteplan.site.pond_bodies import FlatMat, PlateFrame, PondExchanger
from siteplan.units.lengths import INCH, format_length, rough

BLOCK_SHARE: Final = 0.45
"""Share of a coil's height that its blocks have as drawn; common practice, no source [-]."""
LEAST_HIGH_M: Final = 8 * INCH
"""Least height at which coil and blocks are drawn [m]."""
BESIDE_M: Final = 0.6
"""Water drawn on either side [m]."""
PIPE_M: Final = 0.03
"""A run of pipe of a mat as drawn, at least [m]."""
NOTE: Final = (
    "Drawn where the water is shallowest; depth at the lowest level. Blocks carry the {thing} off "
    "the mud; their weight holds it down, empty of fluid too. Mark the {things} on the shore. "
    "Pressure-test before sinking."
)


def pond_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section of the pond at a coil up to a height [mm], None where there is none."""
    layout, unit = content.layout, content.site.unit
    coils = layout.of(Coil) if layout else ()
    if not coils or layout is None:
        return None
    options = content.site.exchanger.pond
    coil = min(coils, key=lambda coil: (coil.water_depth_m, coil.id))
    body = options.body if coil.body == options.words.name else None
    high = max(options.height_m, LEAST_HIGH_M)
    whole, across = coil.water_depth_m + high, _across(coil, body)
    deep = detail_mark(coil.water_depth_m, unit, rounding="down")
    left = DIMENSION_MM + widest([deep]) + 4.0
    total = across + 2 * BESIDE_M
    scale = largest_scale(content, (total, whole), (room_beside(width, 0.45), room_mm))
    flow = Flow(width, "pond-section")
    noun = layout.loop.noun
    scaled_heading(flow, f"{noun.upper()} SECTION", scale_words(scale.nominal, unit))
    drawing = Drafting(flow, scale.ratio, (left, -flow.depth - DIMENSION_MM - 4.0))
    drawing.line([(0.0, 0.0), (total, 0.0)], "water")
    drawing.line([(0.0, -whole), (total, -whole)], "section-ground")
    named = _draw(drawing, (-whole, -coil.water_depth_m), across, body)
    surface, bottom = drawing.mm(0.0, 0.0), drawing.mm(0.0, -whole)
    top = drawing.mm(0.0, -coil.water_depth_m)
    drawing.deep(surface[0] - 3.0, (surface[1], top[1]), deep)
    first, last = drawing.mm(BESIDE_M, 0.0)[0], drawing.mm(BESIDE_M + across, 0.0)[0]
    drawing.wide(top[1] + 2.5, (first, last), detail_mark(across, unit))
    middle = named[0][1]
    named = [
        ("LOW WATER LEVEL", drawing.mm(total, 0.0)),
        (_words(content, layout, coil, body), middle),
        *named[1:],
        ("POND BOTTOM", drawing.mm(total, -whole)),
    ]
    lowest = drawing.labels(drawing.mm(total, 0.0)[0] + 5.0, surface[1], named)
    flow.depth = max(-bottom[1] + 3.0, -lowest) + 2.0
    thing = layout.loop.short
    flow.paragraph(NOTE.format(thing=thing, things=plural(thing)))
    return flow.block()


def _across(coil: Coil, body: PondExchanger | None) -> float:
    """Width drawn: of a coil its diameter, of a mat or frame across its pipes or plates [m]."""
    return coil.diameter_m if body is None else body.width_m


def _words(content: PlanContent, layout: Layout, coil: Coil, body: PondExchanger | None) -> str:
    """What it is, with its sizes."""
    unit = content.site.unit
    pipe = layout.circuits[0].pipe if layout.circuits else ""
    length = format_length(coil.pipe_m, unit, rough(unit), rounding="down")
    pipe = f"{length} OF {pipe} PIPE".replace("  ", " ")
    if isinstance(body, PlateFrame):
        high = detail_mark(body.plate_height_m, unit)
        long = detail_mark(body.plate_length_m, unit)
        return f"FRAME, {body.plates} PLATES {high} HIGH, {long} LONG"
    if isinstance(body, FlatMat):
        long = detail_mark(body.length_m, unit)
        apart = detail_mark(body.spacing_m, unit)
        return f"MAT {long} LONG, {pipe}, {apart} APART"
    return f"COIL, {pipe}"


def _draw(
    drawing: Drafting, between: tuple[float, float], across: float, body: PondExchanger | None
) -> list[Named]:
    """Draw the body and its blocks; the places of their names, the body's first [m]."""
    bottom, top = between
    left, right = BESIDE_M, BESIDE_M + across
    base = bottom + (top - bottom) * BLOCK_SHARE
    if isinstance(body, PlateFrame):
        base = max(top - body.plate_height_m, bottom)
        _plates(drawing, body, left, (base, top))
    elif isinstance(body, FlatMat):
        base = top - PIPE_M
        _runs(drawing, body, left, top)
    else:
        ring = [(left, base), (right, base), (right, top), (left, top)]
        drawing.hatch(ring, gap_mm=0.9, angle=0.0)
        drawing.line(ring, "section-hole", closed=True)
    wide = min(0.4, across / 3)
    for x in (left + 0.1, right - 0.1 - wide):
        block = [(x, bottom), (x + wide, bottom), (x + wide, base), (x, base)]
        if base > bottom:
            drawing.line(block, "section-hole", closed=True)
    blocks = drawing.mm(right - 0.1 - wide / 2, (bottom + base) / 2)
    return [("", drawing.mm(right - 0.05, (base + top) / 2)), ("BALLAST BLOCKS", blocks)]


def _plates(
    drawing: Drafting, frame: PlateFrame, left: float, between: tuple[float, float]
) -> None:
    """Draw the plates of a frame from their ends, as thick as can be seen."""
    base, top = between
    stack = (frame.plates - 1) * frame.spacing_m
    first = left + (frame.width_m - stack) / 2
    for number in range(frame.plates):
        x = first + number * frame.spacing_m
        drawing.line([(x, base), (x, top)], "trench")
    right = left + frame.width_m
    for y in between:
        drawing.line([(left, y), (right, y)], "section-hole")


def _runs(drawing: Drafting, mat: FlatMat, left: float, top: float) -> None:
    """Draw the runs of a mat cut across, on the lattice that carries them."""
    right = left + mat.width_m
    count = int(mat.width_m / mat.spacing_m + 1e-9) + 1
    first = left + (mat.width_m - (count - 1) * mat.spacing_m) / 2
    for number in range(count):
        drawing.pipe((first + number * mat.spacing_m, top - PIPE_M / 2), PIPE_M)
    drawing.line([(left, top - PIPE_M), (right, top - PIPE_M)], "section-hole")
