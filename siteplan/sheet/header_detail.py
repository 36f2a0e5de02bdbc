"""Details of the header: its trench cut across, and the way through the wall."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final

from siteplan.flow.pipes import pipes
from siteplan.layout.piping_model import HeaderPiece, HeaderPipe, Piping
from siteplan.rules.bedding import SAND_ABOVE_M, SAND_BELOW_M
from siteplan.sheet.content import PlanContent
from siteplan.sheet.drafting import WAVE_MM, Drafting, largest_scale, room_beside, widest
from siteplan.sheet.flow import Block, Flow
from siteplan.sheet.formats import short_mark
from siteplan.sheet.header_table import pipe_words
from siteplan.sheet.headerpoints import SAME_M
from siteplan.sheet.model import XY
from siteplan.sheet.section import DIMENSION_MM, TAPE_M, scale_words
from siteplan.units import INCH

ROW: Final = 3
"""Pipes of one side that lie beside each other; more lie above them."""
WIRE_M: Final = 2 * INCH
"""Height of the tracer wire over the pipes; common practice, no source [m]."""
LEAST_M: Final = 0.03
"""Diameter for which a pipe of unknown size is drawn [m]."""
WALL_M: Final = 10 * INCH
"""Wall as drawn; its true thickness is the building's [m]."""
ABOVE_M: Final = 0.15
"""Wall drawn above the ground [m]."""
Laid = tuple[XY, float]
"""Middle of a pipe and its outer diameter [m]."""
WALL_WORDS: Final = (
    "Wall thickness, sleeve and seal as the building asks: the wall is drawn without its size. "
    "Bed the pipes on firm ground up to the wall, so that they do not shear where the trench "
    "settles; slope the sleeve down to the outside."
)


def header_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section of the header trench where most pipes lie, up to a height [mm]; None without one."""
    piping, unit = _piping(content), content.site.unit
    if piping is None:
        return None
    piece = max(piping.pieces, key=lambda one: len(one.pipes))
    deep = short_mark(piping.depth_m, unit)
    left = DIMENSION_MM + widest([deep]) + 3.0
    room = (room_beside(width, 0.4), room_mm)
    scale = largest_scale(content, (piping.width_m, piping.depth_m), room)
    flow = Flow(width)
    flow.heading(f"HEADER TRENCH SECTION, {scale_words(scale.nominal, unit)}")
    middle = left + piping.width_m * 500.0 / scale.ratio
    drawing = Drafting(flow, scale.ratio, (middle, -flow.depth - DIMENSION_MM - 3.0))
    laid = pipe_places(piece.pipes, piping.width_m, SAND_BELOW_M - piping.depth_m)
    top = _draw_trench(drawing, piping, laid)
    half = piping.width_m / 2
    edge, bottom = drawing.mm(half, 0.0), drawing.mm(-half, -piping.depth_m)
    drawing.deep(bottom[0] - 3.0, (edge[1], bottom[1]), deep)
    drawing.wide(edge[1] + 3.0, (bottom[0], edge[0]), short_mark(piping.width_m, unit))
    named = [
        (f"TAPE {short_mark(TAPE_M, unit)} DOWN", drawing.mm(0.0, -TAPE_M)),
        (f"SAND {short_mark(SAND_ABOVE_M, unit)} OVER PIPE", drawing.mm(half * 0.9, top)),
        ("TRACER WIRE", drawing.mm(0.0, top - SAND_ABOVE_M + WIRE_M)),
        (_pipes_words(piece, wells=_has_wells(content)), drawing.mm(*laid[-1][0])),
    ]
    lowest = drawing.labels(edge[0] + 5.0, edge[1] - 4.0, named)
    flow.depth = max(-bottom[1], -lowest) + 2.0
    flow.paragraph(_filling(content, piping, len(piece.pipes)))
    return flow.block()


def _piping(content: PlanContent) -> Piping | None:
    layout = content.layout
    piping = layout.piping if layout is not None and layout.header is not None else None
    return piping if piping is not None and piping.pieces else None


def _draw_trench(drawing: Drafting, piping: Piping, laid: Sequence[Laid]) -> float:
    """Draw ground, trench, sand, tape, wire and pipes; the top of the sand [m]."""
    half, depth = piping.width_m / 2, piping.depth_m
    drawing.line([(-half, 0.0), (-half, -depth), (half, -depth), (half, 0.0)], "section-hole")
    for side in (-1.0, 1.0):
        x, y = drawing.mm(side * half, 0.0)
        drawing.stroke([(x, y), (x + side * 3.0, y)], "section-ground")
    high = max(at[1] + size / 2 for at, size in laid)
    top = min(high + SAND_ABOVE_M, 0.0)
    drawing.hatch([(-half, -depth), (half, -depth), (half, top), (-half, top)])
    drawing.line([(-half, top), (half, top)], "hair")
    if top < -TAPE_M:
        drawing.line([(-3 * INCH, -TAPE_M), (3 * INCH, -TAPE_M)], "crossing")
    drawing.pipe((0.0, high + WIRE_M), 0.0)
    for at, size in laid:
        drawing.pipe(at, size)
    return top


def outer(size: str) -> float:
    """Outer diameter of a pipe size [m], that of a small one where it is not known."""
    return pipes()[size].outer_m if size in pipes() else LEAST_M


def pipe_places(found: Sequence[HeaderPipe], width_m: float, low_m: float) -> list[Laid]:
    """Middle and diameter of the pipes [m]: those that go out left, those that come back right.

    They lie beside each other where the trench is wide enough, else one above another.

    Examples
    --------
    Two pipes of 3/4 in, 1.05 in across, 6 in from the sides of a trench 24 in wide:

    >>> two = (HeaderPipe("supply", "3/4 in", 0.0), HeaderPipe("return", "3/4 in", 0.0))
    >>> [(round(x, 4), round(y, 4)) for (x, y), _ in pipe_places(two, 0.6096, -1.0)]
    [(-0.1524, -0.9867), (0.1524, -0.9867)]
    """
    aside = width_m / 2 - 6 * INCH
    pitch = max(1.5 * outer(pipe.size) for pipe in found)
    along = ROW if pitch * 1.4 < min(aside, 6 * INCH) else 1
    count = {-1.0: 0, 1.0: 0}
    places: list[Laid] = []
    for number, pipe in enumerate(found):
        out = pipe.role == "supply" or (pipe.role == "pair" and number % 2 == 0)
        side = -1.0 if out else 1.0
        row, step = divmod(count[side], along)
        count[side] += 1
        x = side * aside + (0.0, 1.0, -1.0)[step] * pitch
        places.append(((x, low_m + outer(pipe.size) / 2 + row * pitch), outer(pipe.size)))
    return places


def _pipes_words(piece: HeaderPiece, *, wells: bool) -> str:
    count = len(piece.pipes)
    words = pipe_words(piece.pipes)
    if wells:
        words = words.replace("circuit", "well water").removeprefix(f"{count} × ")
    return f"{count} {'PIPE' if count == 1 else 'PIPES'}: {words}"


def _filling(content: PlanContent, piping: Piping, count: int) -> str:
    unit = content.site.unit
    below, above = short_mark(SAND_BELOW_M, unit), short_mark(SAND_ABOVE_M, unit)
    apart = short_mark(piping.width_m - 12 * INCH, unit)
    sides = f"Going out and coming back {apart} apart. " if count > 1 else ""
    return (
        f"Drawn where most pipes lie. {sides}Fill in this order: sand from {below} below to "
        f"{above} above the pipe; native soil without stones in layers, warning tape, topsoil. "
        "Tracer wire along the whole trench. Pressure-test before filling."
    )


def _through(count: int) -> str:
    """Pipes in the sleeve, in words."""
    return f"{count} HEADER PIPE{'' if count == 1 else 'S'}" if count else "HEADER PIPES"


def _has_wells(content: PlanContent) -> bool:
    return content.layout is not None and content.layout.system == "open"


def _entering(content: PlanContent, piping: Piping) -> int:
    """Number of pipes that come through the wall."""
    assert content.layout is not None
    assert content.layout.header is not None
    point = content.layout.header.entry.point
    at = (float(point.x), float(point.y))
    return sum(len(one.pipes) for one in piping.pieces if math.dist(one.start, at) <= SAME_M)


def wall_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section through the wall at the entry, up to a height [mm]; None where there is no header."""
    piping, layout, unit = _piping(content), content.layout, content.site.unit
    if piping is None or layout is None or layout.header is None:
        return None
    deep = short_mark(piping.depth_m - SAND_BELOW_M, unit, rounding="down")
    left = DIMENSION_MM + widest([deep]) + 6.0
    scale = largest_scale(content, (1.5, piping.depth_m), (room_beside(width, 0.5), room_mm))
    flow = Flow(width)
    flow.heading(f"WALL ENTRY, DEPTH {scale_words(scale.nominal, unit)}")
    above = max(9.0, ABOVE_M * 1000.0 / scale.ratio + 2 * WAVE_MM)
    drawing = Drafting(flow, scale.ratio, (left, -flow.depth - above))
    level = SAND_BELOW_M - piping.depth_m
    _draw_wall(drawing, level)
    x, ground = drawing.mm(0.15, 0.0)
    drawing.deep(x - 8.0, (ground, drawing.mm(0.0, level)[1]), deep)
    end = drawing.mm(0.9 + WALL_M + 0.35, 0.0)[0]
    where = layout.header.entry
    named = [
        (f"WALL AT {(where.label or where.id).upper()}", drawing.mm(0.9 + WALL_M, 0.05)),
        ("SLEEVE, SEALED BOTH SIDES", drawing.mm(0.9 + WALL_M * 0.8, level + 2.2 * INCH)),
        (_through(_entering(content, piping)), drawing.mm(0.9 + WALL_M + 0.3, level)),
    ]
    lowest = drawing.labels(end + 3.0, ground + 4.0, named)
    flow.depth = max(-drawing.mm(0.0, level - 0.3)[1], -lowest) + 2.0
    flow.paragraph(WALL_WORDS)
    return flow.block()


def _draw_wall(drawing: Drafting, level: float) -> None:
    """Draw ground, wall, sleeve and pipe [m]."""
    inner, out = 0.9 + WALL_M, 0.9
    drawing.line([(0.15, 0.0), (out, 0.0)], "section-ground")
    for low, high in ((level - 0.3, level - 2 * INCH), (level + 2 * INCH, ABOVE_M)):
        drawing.hatch([(out, low), (inner, low), (inner, high), (out, high)])
        drawing.line([(out, low), (out, high)], "section-hole")
        drawing.line([(inner, low), (inner, high)], "section-hole")
    for y in (level - 2 * INCH, level + 2 * INCH):
        drawing.line([(out - 0.08, y), (inner + 0.08, y)], "section-hole")
    for y in (level - 0.3, ABOVE_M):
        drawing.break_line(
            drawing.mm(out, 0.0)[0], drawing.mm(inner, 0.0)[0], drawing.mm(0.0, y)[1]
        )
    drawing.line([(0.15, level), (inner + 0.35, level)], "header")
