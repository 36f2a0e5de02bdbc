"""Pipes of the header on the plan: supply and return told apart, their flow and their sizes."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from itertools import product
from typing import Final

import numpy as np
import shapely
from numpy.typing import NDArray
from shapely import LineString, get_parts
from shapely.geometry.base import BaseGeometry

from siteplan.layout.header.section import piece_lines
from siteplan.layout.model import Header, Layout
from siteplan.layout.piping_model import HeaderPiece, Piping
from siteplan.sheet.content.header_flow import (
    HEADER_LETTERS,
    Stream,
    piece_name,
    pipes_text,
    streams_of,
)
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import FLOW, LABEL, Mark
from siteplan.sheet.model import Symbol, View
from siteplan.sheet.place.candidates import REACHES_MM, Candidate, led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label, readable
from siteplan.sheet.place.placer import HARD
from siteplan.sheet.plan_view.features import beside_line, on_line
from siteplan.sheet.plan_view.ways_past import past
from siteplan.sheet.style.styles import layer
from siteplan.vocabulary.loop_types import made_of

LANE_MM: Final = 0.9
"""From one pipe to the next beside it on paper: farther apart than they lie in the trench [mm]."""
LANES: Final = (0.0, 1.0, -1.0, 2.0)
"""Where the streams of a piece are drawn, to the right of the way out: the supply in the middle of
the trench."""
ARROW_MM: Final = 1.0
LEAST_MM: Final = 7.0
"""A shorter piece of header has no arrows [mm]."""
NEAR_MM: Final = 10.0
"""No pipe or arrow beside a piece of header so far beyond the window is seen in it [mm]."""
ROUND: Final = 16
"""Pieces in which a quarter of a turn of a pipe is drawn."""
CLEAR_MM: Final = 0.4
"""Between a pipe beside the header and a symbol [mm]."""
INK: Final = 120.0
"""What a label pays for lying on a pipe beside the supply, which a mask would hide."""
LEADER_INK: Final = 20.0
SIZE_MM: Final = 2.05
ARROW_CROSSED: Final = 80.0
"""What a leader pays for crossing an arrow."""
MOST_SIZE, MOST_FEW = 60.0, 110.0
"""A size that disturbs more than this has but its name; of a header of few pieces: none that hides
an edge of the way in or of what is heaped."""
MOST_STRICT = 250.0
"""What a name may disturb that a larger scale could show: no leader across a symbol."""
SHORTER: Final = 0.6
"""A size stands beside a shorter piece of header where that is at least so much of it."""
MOST_LETTER: Final = 1000.0
"""Letters that disturb more than this are left out."""
MOST_NAME: Final = 400.0
"""The name of a piece of header disturbs at most so much."""
MOST_LED: Final = 12
"""Sizes of more pieces than this are not led away: the table has them all."""
STEPS_DEG, FEW_DEG = (10, 5), 20
"""From one direction to the next in which a size or a name is led away, the coarse first; of many
pieces [deg]."""
STYLES: Final = {"S": "header", "R": "header-return", "RR": "header-reverse"}


def draw_streams(canvas: Canvas, layout: Layout) -> None:
    """Draw what runs beside the supply in each piece of header, and which way all of it flows."""
    header = layout.header
    if header is None or layout.piping is None:
        return
    taken = _symbols(canvas, layout)
    told = courses(layout)
    paths = shapely.transform([course for _, course in told], canvas.view.to_paper)
    rows = [
        (path, lane, stream)
        for path in np.flatnonzero(_are_near(canvas.view, paths)).tolist()
        for lane, stream in zip(LANES, streams_of(told[path][0], layout), strict=False)
    ]
    lanes = np.array([lane for _, lane, _ in rows])
    lines = paths[[path for path, _, _ in rows]]
    lines[lanes != 0.0] = shapely.offset_curve(
        lines[lanes != 0.0], -lanes[lanes != 0.0] * LANE_MM, quad_segs=ROUND
    )
    free = lines.copy()
    under = shapely.intersects(taken, lines)
    free[under] = shapely.difference(lines[under], taken)
    long = shapely.length(paths)[[path for path, _, _ in rows]] >= LEAST_MM
    for (_, lane, stream), line, seen, has_arrow in zip(rows, lines, free, long, strict=True):
        if line.is_empty or not isinstance(line, LineString):
            continue
        if lane:
            _draw_beside(canvas, seen, STYLES[stream.letter])
        if has_arrow:
            _draw_arrow(canvas, line, stream, share=0.34 + 0.1 * abs(lane))


def _are_near(view: View, paths: NDArray[np.object_]) -> NDArray[np.bool_]:
    """Whether lines on paper come near the window, so that ink along them may be seen there."""
    left, low, right, high = shapely.bounds(paths).T
    across = (left - NEAR_MM <= view.left_mm + view.width_mm) & (right >= view.left_mm - NEAR_MM)
    up = (low - NEAR_MM <= view.bottom_mm + view.height_mm) & (high >= view.bottom_mm - NEAR_MM)
    return np.asarray(across & up)


def _symbols(canvas: Canvas, layout: Layout) -> BaseGeometry:
    """What symbols of elements and of the entry take on paper [mm]."""
    assert layout.header is not None
    entry = layout.header.entry.point
    places = [((float(entry.x), float(entry.y)), 1.9)]
    for element in layout.elements:
        loop = made_of(element.kind)
        size = loop.size_mm or element.reach_m * 1000.0 / canvas.view.ratio
        places += [((element.x_m, element.y_m), size)]
    spots = shapely.points(canvas.view.to_paper([at for at, _ in places]))
    sizes = np.array([size for _, size in places])
    taken = shapely.union_all(shapely.buffer(spots, sizes + CLEAR_MM, quad_segs=6))
    shapely.prepare(taken)
    return taken


def _draw_beside(canvas: Canvas, line: BaseGeometry, style: str) -> None:
    for part in get_parts(line):
        if isinstance(part, LineString) and part.length > 0.5:
            points = canvas.view.to_model(part.coords)
            canvas.line(
                [(float(x), float(y)) for x, y in points],
                style,
                layer(style),
                ink=INK,
                leader=LEADER_INK,
            )


def _draw_arrow(canvas: Canvas, line: LineString, stream: Stream, *, share: float) -> None:
    """Draw an arrow on the line of a stream; the line runs away from the building."""
    middle = share * line.length
    near, far = (line.interpolate(middle + step) for step in (-0.6, 0.6))
    turn = math.degrees(math.atan2(far.y - near.y, far.x - near.x)) + (0.0 if stream.out else 180.0)
    spot = line.interpolate(middle)
    known = Mark(FLOW, stream.letter, "out" if stream.out else "home")
    at = canvas.model((spot.x, spot.y))
    # turned on paper, where symbols else stand upright
    arrow = Symbol("flow", at, ARROW_MM, "flow", layer("flow"), angle_deg=turn, mark=known)
    canvas.symbol(arrow, keep_off=1.1, leader=ARROW_CROSSED)


def courses(layout: Layout) -> tuple[tuple[HeaderPiece, LineString], ...]:
    """Pieces of header with their centre lines, from the entry outwards."""
    header, piping = layout.header, layout.piping
    return () if header is None or piping is None else _courses(piping, header)


@kept
def _courses(piping: Piping, header: Header) -> tuple[tuple[HeaderPiece, LineString], ...]:
    return tuple(zip(piping.pieces, piece_lines(piping.pieces, header), strict=True))


def label_sizes(canvas: Canvas, layout: Layout, houses: BaseGeometry, *, strict: bool) -> None:
    """Write the letters of the header at each of its runs, with number and size of its pipes.

    Where a piece has no room for the sizes its name stands there, and a list on the same sheet has
    them; so has the table of header pipes. ``strict``: whether, of few pieces, a name counts as
    lost whose leader would cross a symbol or a house.
    """
    told = [
        (piece, LineString(canvas.view.to_paper(line.coords)))
        for piece, line in courses(layout)
        if canvas.own.contains(line.interpolate(0.5, normalized=True))
    ]
    away = len(told) <= MOST_LED
    # from the entry outwards: what most depends on goes first
    for piece, path in told:
        lanes = max(map(abs, LANES[: len(streams_of(piece, layout))]), default=0.0)
        gap = ARROW_MM + CLEAR_MM + lanes * LANE_MM
        if not layout.elements:
            # where parts of the plan name what is built, they have the sizes too
            label = _label_of(HEADER_LETTERS)
            canvas.put(label, on_line(path, 0.6, 0.4), most=MOST_LETTER)
            continue
        name = piece_name(piece, layout)
        labels = list(_size_labels(piece, layout))
        if _size_piece(canvas, path, gap, labels, houses, away=away):
            continue
        label = _label_of(name)
        # of many pieces few places are looked at
        step_deg = STEPS_DEG[0] if away else FEW_DEG
        led_away = _size_places(path, label, gap, away=True, step_deg=step_deg)
        places = past(led_away, label, canvas, houses), led_away
        if _name_piece(canvas, path, label, places, few=away, last=not (strict and away)):
            canvas.keyed.append((name, ", ".join(pipes_text(piece, layout))))


def _size_piece(
    canvas: Canvas, path: LineString, gap: float, labels: Sequence[Label], houses: BaseGeometry, *,
    away: bool,
) -> bool:  # fmt: skip
    """Write the sizes of a piece along it, or ``away`` from it; False: there is no room."""
    most = MOST_FEW if away else MOST_SIZE
    for label, step_deg in product(labels, STEPS_DEG if away else STEPS_DEG[:1]):
        places = _size_places(path, label, gap, away=away, step_deg=step_deg)
        if canvas.put(label, past(places, label, canvas, houses), most=most):
            return True
    return False


def _name_piece(
    canvas: Canvas, path: LineString, label: Label,
    led_away: tuple[Sequence[Candidate], Sequence[Candidate]], *, few: bool, last: bool,
) -> bool:  # fmt: skip
    """Write the name of a piece in its line or beside it, or led to it; False: there is no room.

    ``led_away``: places outside of houses, and all. ``few``: whether there are so few that
    others make room for it. ``last``: whether no larger scale shows it.
    """
    outside, anywhere = led_away
    ways = [(outside, MOST_NAME if last else MOST_STRICT)]
    if last:
        # across a symbol rather than through a house
        ways += [(anywhere, MOST_NAME)] if len(anywhere) > len(outside) else []
        ways += [(outside, HARD)] if few else []
    for some, most in ways:
        places = [*on_line(path, 0.6, 0.4), *some]
        if canvas.put(label, places, most=most, makes_way=few):
            return True
    if last:
        canvas.put(_label_of(HEADER_LETTERS), on_line(path, 0.6, 0.4), most=MOST_LETTER)
    else:
        canvas.lose(label)
    return False


def _size_labels(piece: HeaderPiece, layout: Layout) -> Iterator[Label]:
    """Words of a piece, the best first: in one line, in one for each size, or size and letters.

    None leaves out what each pipe does: beside sizes with S and R, one without them would be read
    as something else.
    """
    sizes = pipes_text(piece, layout)
    yield _label_of(f"{HEADER_LETTERS} {', '.join(sizes)}")
    if len(sizes) > 1:
        yield _label_of(f"{HEADER_LETTERS} {sizes[0]},", *_with_commas(sizes[1:]))
        return
    size, opening, letters = sizes[0].partition(" (")
    if opening:
        yield _label_of(f"{HEADER_LETTERS} {size}", f"({letters}")


def _with_commas(sizes: Sequence[str]) -> list[str]:
    return [*(f"{size}," for size in sizes[:-1]), sizes[-1]]


def _label_of(*lines: str) -> Label:
    mark = Mark(LABEL, lines[0], "header-size")
    return Label(lines, SIZE_MM, "text-header", layer("flow"), mark=mark)


def _size_places(
    path: LineString, label: Label, gap: float, *, away: bool, step_deg: int
) -> list[Candidate]:
    """Along a piece of header, beside the middle of one hardly shorter, or led to it."""
    places = beside_line(path, label, gap=gap)
    middle = path.interpolate(0.5, normalized=True)
    if not places and path.length > SHORTER * label.width:
        near, far = path.coords[0], path.coords[-1]
        turn = readable(math.degrees(math.atan2(far[1] - near[1], far[0] - near[0])))
        off, up = label.height / 2 + gap, math.radians(turn + 90.0)
        for side in (off, -off):
            spot = (middle.x + side * math.cos(up), middle.y + side * math.sin(up))
            places.append(Candidate(spot, turn, 3.0))
    if away:
        spot, size = (middle.x, middle.y), (label.width, label.height)
        places += led(spot, *size, reaches=REACHES_MM[:6], step_deg=step_deg)
    return places
