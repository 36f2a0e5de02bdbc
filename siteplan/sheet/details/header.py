"""Detail of the header: its trench cut across."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from siteplan.earthwork.bedding import SAND_ABOVE_M, SAND_BELOW_M, TAPE_M
from siteplan.layout.header.section import (
    Laid,
    piece_lines,
    piece_width,
    pipe_places,
    pipes_in,
    sand_height,
)
from siteplan.layout.piping_model import HeaderPiece, Piping
from siteplan.quantities.take_off import dry_length
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.details.drafting import Drafting, largest_scale, room_beside, widest
from siteplan.sheet.details.trench import DIMENSION_MM, scale_words, scaled_heading
from siteplan.sheet.kept import kept
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.style.formats import detail_mark
from siteplan.sheet.tables.header import piece_words
from siteplan.units.lengths import INCH

WIRE_M: Final = 2 * INCH
"""Height of the tracer wire over the pipes; common practice, no source [m]."""
LAID_M: Final = 0.1
"""So much of a piece of header outside a pond is what rounding left [m]."""


def header_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section of the header trench where most pipes lie, up to a height [mm]; None without one."""
    piping, unit = piping_of(content), content.site.unit
    if piping is None:
        return None
    piece = _fullest(content)
    if piece is None:
        return None
    deep = detail_mark(piping.depth_m, unit, rounding="nearest")
    width_m = piece_width(piece, piping)
    left = DIMENSION_MM + widest([deep]) + 3.0
    room = (room_beside(width, 0.4), room_mm)
    scale = largest_scale(content, (width_m, piping.depth_m), room)
    flow = Flow(width, "header-section")
    scaled_heading(flow, "HEADER TRENCH SECTION", scale_words(scale.nominal, unit))
    middle = left + width_m * 500.0 / scale.ratio
    drawing = Drafting(flow, scale.ratio, (middle, -flow.depth - DIMENSION_MM - 3.0))
    laid = pipe_places(pipes_in(piece), width_m, SAND_BELOW_M - piping.depth_m)
    top = sand_height(piece, piping) - piping.depth_m
    _draw_trench(drawing, (width_m, piping.depth_m), laid, top=top)
    half = width_m / 2
    edge, bottom = drawing.mm(half, 0.0), drawing.mm(-half, -piping.depth_m)
    drawing.deep(bottom[0] - 3.0, (edge[1], bottom[1]), deep)
    drawing.wide(edge[1] + 3.0, (bottom[0], edge[0]), detail_mark(width_m, unit))
    named = [
        (f"TAPE {detail_mark(TAPE_M, unit)} BELOW GRADE", drawing.mm(0.0, -TAPE_M)),
        (f"{detail_mark(SAND_ABOVE_M, unit)} SAND COVER", drawing.mm(half * 0.9, top)),
        ("TRACER WIRE", drawing.mm(0.0, top - SAND_ABOVE_M + WIRE_M)),
        (_pipes_words(piece, wells=_has_wells(content)), drawing.mm(*laid[-1][0])),
    ]
    lowest = drawing.labels(edge[0] + 5.0, edge[1] - 4.0, named)
    flow.depth = max(-bottom[1], -lowest) + 2.0
    flow.paragraph(_filling(content, piping, piece.count))
    return flow.block()


@kept
def _fullest(content: PlanContent) -> HeaderPiece | None:
    """The piece of header trench in which most pipes lie, the highest of them.

    What lies on the bottom of a pond alone is in no trench.
    """
    piping, header = piping_of(content), content.layout.header if content.layout else None
    if piping is None or header is None:
        return None
    dug = [
        piece
        for piece, line in zip(piping.pieces, piece_lines(piping.pieces, header), strict=True)
        if dry_length(line, content.site) > LAID_M
    ]
    if not dug:
        return None
    most = max(piece.count for piece in dug)
    among = [piece for piece in dug if piece.count == most]
    return max(among, key=lambda piece: sand_height(piece, piping))


def piping_of(content: PlanContent) -> Piping | None:
    """Pipes of a header that has some, else None."""
    layout = content.layout
    piping = layout.piping if layout is not None and layout.header is not None else None
    return piping if piping is not None and piping.pieces else None


def _draw_trench(
    drawing: Drafting, section: tuple[float, float], laid: Sequence[Laid], *, top: float
) -> None:
    """Draw ground, trench, sand up to a height [m], tape, wire and pipes."""
    half, depth = section[0] / 2, section[1]
    drawing.line([(-half, 0.0), (-half, -depth), (half, -depth), (half, 0.0)], "section-hole")
    for side in (-1.0, 1.0):
        x, y = drawing.mm(side * half, 0.0)
        drawing.stroke([(x, y), (x + side * 3.0, y)], "section-ground")
    high = max(at[1] + size / 2 for at, size in laid)
    drawing.hatch([(-half, -depth), (half, -depth), (half, top), (-half, top)])
    drawing.line([(-half, top), (half, top)], "hair")
    if top < -TAPE_M:
        drawing.line([(-3 * INCH, -TAPE_M), (3 * INCH, -TAPE_M)], "crossing")
    drawing.pipe((0.0, high + WIRE_M), 0.0)
    for at, size in laid:
        drawing.pipe(at, size)


def _pipes_words(piece: HeaderPiece, *, wells: bool) -> str:
    count = piece.count
    text = piece_words(piece)
    if wells:
        text = text.replace("circuit", "well water").removeprefix(f"{count} × ")
    return f"{count} {'PIPE' if count == 1 else 'PIPES'}: {text}"


def _filling(content: PlanContent, piping: Piping, count: int) -> str:
    unit = content.site.unit
    below, above = detail_mark(SAND_BELOW_M, unit), detail_mark(SAND_ABOVE_M, unit)
    apart = detail_mark(piping.width_m - 12 * INCH, unit)
    wide = any(piece.width_m for piece in piping.pieces)
    sides = f"Supply and return {apart} apart. " if count > 1 and not wide else ""
    if wide:
        usual = detail_mark(piping.width_m, unit)
        sides = f"Its width by piece: HEADER PIPES; {usual} where fewer pipes lie. "
    return (
        f"Drawn where most pipes lie. {sides}Backfill: sand, {below} below to {above} above the "
        "pipe; rock-free native soil in lifts, warning tape, topsoil. Tracer wire along the whole "
        "trench. Pressure-test before backfill."
    )


def _has_wells(content: PlanContent) -> bool:
    return content.layout is not None and content.layout.loop.flow
