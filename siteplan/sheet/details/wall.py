"""Detail of the header's way through the wall."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from siteplan.earthwork.bedding import SAND_BELOW_M
from siteplan.layout.header.section import Laid, piece_width, pipe_places
from siteplan.layout.piping_model import HeaderPiece, HeaderPipe, Piping
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.header_points import SAME_M
from siteplan.sheet.details.drafting import WAVE_MM, Drafting, largest_scale, room_beside, widest
from siteplan.sheet.details.header import piping_of
from siteplan.sheet.details.trench import DIMENSION_MM, scale_words, scaled_heading
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.style.formats import detail_mark
from siteplan.units.lengths import INCH

WALL_M: Final = 10 * INCH
"""Wall as drawn; its true thickness is the building's [m]."""
ABOVE_M: Final = 0.15
"""Wall drawn above the ground [m]."""
BELOW_M: Final = 0.25
"""Wall drawn below the lowest sleeve [m]."""
SLEEVE_M: Final = 1 * INCH
"""Between a pipe and its sleeve as drawn; the true one is the building's [m]."""
OUT_M: Final = 0.9
"""Ground drawn outside the wall [m]."""
FROM_M: Final = 0.15
"""Where ground and pipe begin [m]."""
INSIDE_M: Final = 0.35
"""Pipe drawn inside the wall [m]."""
EDGES_MM: Final = 3.0
"""A pipe thicker than this on paper is drawn with both of its edges; those of a thinner one would
look like two pipes [mm]."""
WALL_WORDS: Final = (
    "Depth: to the middle of the {which}. Wall thickness, sleeve and seal as the building asks: "
    "the wall is drawn without its size. Bed the pipes on firm ground up to the wall, so that they "
    "do not shear where the trench settles; slope the sleeve down to the outside."
)


@dataclass(frozen=True, slots=True)
class Entering:
    """Pipes that come through the wall.

    Parameters
    ----------
    count
        Of all of them.
    levels
        Height of the middle from the ground, and outer diameter, of the largest pipe of each row,
        the lowest row first [m].
    """

    count: int
    levels: tuple[tuple[float, float], ...]

    @property
    def lowest_m(self) -> float:
        """Height of the middle of the lowest row from the ground [m]."""
        return self.levels[0][0]

    @property
    def opening_m(self) -> tuple[float, float]:
        """Lower and upper edge of what is open in the wall, as drawn [m]."""
        low, high = self.levels[0], self.levels[-1]
        return low[0] - low[1] / 2 - SLEEVE_M, high[0] + high[1] / 2 + SLEEVE_M


def entering(content: PlanContent, piping: Piping) -> Entering:
    """Pipes that come through the wall, as they lie in the header trench at the entry."""
    assert content.layout is not None
    assert content.layout.header is not None
    point = content.layout.header.entry.point
    at = (float(point.x), float(point.y))
    pieces = [piece for piece in piping.pieces if math.dist(piece.start, at) <= SAME_M]
    low = SAND_BELOW_M - piping.depth_m
    laid = [
        place
        for piece, pipes in zip(pieces, through(pieces), strict=True)
        for place in pipe_places(pipes, piece_width(piece, piping), low)
    ]
    return Entering(len(laid), _levels(laid or pipe_places(UNKNOWN, piping.width_m, low)))


UNKNOWN: Final = (HeaderPipe("supply", "", 0.0),)
"""What is drawn where no pipe is known."""


def through(pieces: Sequence[HeaderPiece]) -> list[list[HeaderPipe]]:
    """Pipes of each piece at the entry that come in; of a circuit that begins there two in all."""
    runs: list[list[HeaderPipe]] = []
    taken: Counter[str] = Counter()
    for piece in pieces:
        runs.append(list(piece.pipes))
        for own in piece.own:
            count = min(own.count, 2 - taken[own.circuit])
            taken[own.circuit] += count
            runs[-1] += [HeaderPipe("pair", own.size, 0.0)] * count
    return runs


def _levels(laid: list[Laid]) -> tuple[tuple[float, float], ...]:
    """Middle and diameter of the largest pipe of each row, from the lowest up [m]."""
    rows: list[tuple[float, float]] = []
    for y, size in sorted((at[1] - size / 2, size) for at, size in laid):
        if rows and y < rows[-1][0] + rows[-1][1]:
            rows[-1] = (rows[-1][0], max(rows[-1][1], size))
        else:
            rows.append((y, size))
    return tuple((y + size / 2, size) for y, size in rows)


def wall_block(content: PlanContent, width: float, *, room_mm: float) -> Block | None:
    """Section through the wall at the entry, up to a height [mm]; None where there is no header."""
    piping, layout, unit = piping_of(content), content.layout, content.site.unit
    if piping is None or layout is None or layout.header is None:
        return None
    pipes = entering(content, piping)
    deep = detail_mark(-pipes.lowest_m, unit, rounding="down")
    left = DIMENSION_MM + widest([deep]) + 6.0
    scale = largest_scale(content, (1.5, piping.depth_m), (room_beside(width, 0.5), room_mm))
    flow = Flow(width, "wall-entry")
    scale_text = scale_words(scale.nominal, unit)
    scaled_heading(flow, "WALL ENTRY", f"{scale_text}, DEPTH")
    above = max(9.0, ABOVE_M * 1000.0 / scale.ratio + 2 * WAVE_MM)
    drawing = Drafting(flow, scale.ratio, (left, -flow.depth - above))
    _draw_wall(drawing, pipes)
    x, ground = drawing.mm(FROM_M, 0.0)
    drawing.deep(x - 8.0, (ground, drawing.mm(0.0, pipes.lowest_m)[1]), deep)
    end = drawing.mm(OUT_M + WALL_M + INSIDE_M, 0.0)[0]
    where = layout.header.entry
    sleeve = (OUT_M + WALL_M * 0.8, pipes.opening_m[1])
    named = [
        (f"WALL AT {where.called.upper()}", drawing.mm(OUT_M + WALL_M, 0.05)),
        (sleeve_words(pipes.count), drawing.mm(*sleeve)),
        (through_words(pipes), drawing.mm(OUT_M + WALL_M + 0.3, pipes.lowest_m)),
    ]
    lowest = drawing.labels(end + 3.0, ground + 4.0, named)
    flow.depth = max(-drawing.mm(0.0, pipes.opening_m[0] - BELOW_M)[1], -lowest) + 2.0
    rows = len(pipes.levels) > 1
    flow.paragraph(WALL_WORDS.format(which="lowest row" if rows else "pipe"))
    return flow.block()


def sleeve_words(count: int) -> str:
    """Sleeves for a number of pipes, in words.

    Examples
    --------
    >>> sleeve_words(1), sleeve_words(2)
    ('SLEEVE, SEALED BOTH SIDES', '2 SLEEVES, ONE FOR EACH PIPE, SEALED BOTH SIDES')
    """
    if count > 1:
        return f"{count} SLEEVES, ONE FOR EACH PIPE, SEALED BOTH SIDES"
    return "SLEEVE, SEALED BOTH SIDES"


def through_words(pipes: Entering) -> str:
    """Pipes in the sleeves, in words.

    Examples
    --------
    >>> row = (-1.1, 0.03)
    >>> through_words(Entering(2, (row,))), through_words(Entering(8, (row, (-1.05, 0.03))))
    ('2 HEADER PIPES BESIDE EACH OTHER', '8 HEADER PIPES IN 2 ROWS')
    """
    if pipes.count < 2:
        return "1 HEADER PIPE" if pipes.count else "HEADER PIPES"
    if len(pipes.levels) > 1:
        return f"{pipes.count} HEADER PIPES IN {len(pipes.levels)} ROWS"
    return f"{pipes.count} HEADER PIPES BESIDE EACH OTHER"


def _draw_wall(drawing: Drafting, pipes: Entering) -> None:
    """Draw ground, wall, sleeves and pipes [m]."""
    inner = OUT_M + WALL_M
    low, high = pipes.opening_m
    drawing.line([(FROM_M, 0.0), (OUT_M, 0.0)], "section-ground")
    for bottom, top in ((low - BELOW_M, low), (high, ABOVE_M)):
        drawing.hatch([(OUT_M, bottom), (inner, bottom), (inner, top), (OUT_M, top)])
        drawing.line([(OUT_M, bottom), (OUT_M, top)], "section-hole")
        drawing.line([(inner, bottom), (inner, top)], "section-hole")
    for y in (low, high):
        drawing.line([(OUT_M - 0.08, y), (inner + 0.08, y)], "section-hole")
    for y in (low - BELOW_M, ABOVE_M):
        drawing.break_line(
            drawing.mm(OUT_M, 0.0)[0], drawing.mm(inner, 0.0)[0], drawing.mm(0.0, y)[1]
        )
    for middle, size in pipes.levels:
        thick = size * 1000.0 / drawing.ratio > EDGES_MM
        for y in (middle - size / 2, middle + size / 2) if thick else (middle,):
            drawing.line([(FROM_M, y), (inner + INSIDE_M, y)], "header")
