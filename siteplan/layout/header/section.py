"""Where pipes lie in a header trench, and how high its sand goes: for section and take-off."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Sequence
from typing import Final

import numpy as np
import shapely
from shapely import LineString, STRtree
from shapely.ops import substring

from siteplan.earthwork.bedding import SAND_ABOVE_M, SAND_BELOW_M
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.header.tree import SAME_M
from siteplan.layout.model import Header
from siteplan.layout.piping_model import HeaderPiece, HeaderPipe, Piping
from siteplan.site.piping import HeaderOptions
from siteplan.units.lengths import INCH

LAYERS: Final = 3
"""Layers in which the pipes of several groups lie at most; common practice, no source."""
WIDTH_STEP_M: Final = 6 * INCH
"""Step in which a header trench is dug wider [m]."""
MIDDLE_M: Final = 6 * INCH
"""What pipes in further columns keep from the middle of a trench, so that what goes out stays 12 in
from what comes back; common practice, no source [m]."""
LEAST_M: Final = 0.03
"""Diameter that a pipe of unknown size is taken to have [m]."""

XY = tuple[float, float]
Laid = tuple[XY, float]
"""Middle of a pipe, from the middle of a trench and up, and its outer diameter [m]."""


def outer(size: str) -> float:
    """Outer diameter of a pipe size [m], that of a small one where it is not known."""
    return pipes()[size].outer_m if size in pipes() else LEAST_M


def pipes_in(piece: HeaderPiece) -> tuple[HeaderPipe, ...]:
    """All pipes of a piece, those of circuits as pipes that go out and come back.

    Examples
    --------
    >>> from siteplan.layout.piping_model import OwnPipes
    >>> own = (OwnPipes("CIR-5", "3/4 in", 2),)
    >>> [pipe.size for pipe in pipes_in(HeaderPiece((0, 0), (1, 0), 1.0, 0, (), own))]
    ['3/4 in', '3/4 in']
    """
    own = [
        HeaderPipe("pair", circuit_pipe.size, 0.0)
        for circuit_pipe in piece.own
        for _ in range(circuit_pipe.count)
    ]
    return (*piece.pipes, *own)


def pipe_places(laid_pipes: Sequence[HeaderPipe], width_m: float, low_m: float) -> list[Laid]:
    """Middle and diameter of the pipes [m]: those that go out left, those that come back right.

    They lie beside each other where the trench is wide enough, else one above another.

    Parameters
    ----------
    pipes
        The pipes.
    width_m
        Of the trench [m].
    low_m
        Height of the underside of the lowest pipes [m].

    Examples
    --------
    Two pipes of 3/4 in, 1.05 in across, 6 in from the sides of a trench 24 in wide:

    >>> two = (HeaderPipe("supply", "3/4 in", 0.0), HeaderPipe("return", "3/4 in", 0.0))
    >>> [(round(x, 4), round(y, 4)) for (x, y), _ in pipe_places(two, 0.6096, -1.0)]
    [(-0.1524, -0.9867), (0.1524, -0.9867)]
    """
    columns, pitch = _columns(laid_pipes, width_m)
    count = {-1.0: 0, 1.0: 0}
    pairs = 0
    places: list[Laid] = []
    for pipe in laid_pipes:
        out = pipe.role == "supply" or (pipe.role == "pair" and pairs % 2 == 0)
        pairs += pipe.role == "pair"
        side = -1.0 if out else 1.0
        row, step = divmod(count[side], len(columns))
        count[side] += 1
        x = side * columns[step]
        places.append(((x, low_m + outer(pipe.size) / 2 + row * pitch), outer(pipe.size)))
    return places


def _columns(laid_pipes: Sequence[HeaderPipe], width_m: float) -> tuple[list[float], float]:
    """Where pipes of one side lie beside each other, from the middle, and their pitch [m]."""
    aside = width_m / 2 - 6 * INCH
    # half a diameter between pipes, so that sand gets round each of them
    pitch = max((1.5 * outer(pipe.size) for pipe in laid_pipes), default=0.0)
    columns = [aside]
    if 0.0 < pitch * 1.4 < min(aside, 6 * INCH):
        columns += [aside + pitch, aside - pitch]
    while pitch > 0.0 and columns[-1] - pitch >= MIDDLE_M - TOLERANCE:
        columns.append(min(columns) - pitch)
    return columns, pitch


def width_for(piece: HeaderPiece, least_m: float) -> float:
    """Width of trench in which the pipes of a piece lie in no more than so many layers [m].

    Examples
    --------
    Eight pipes of 3 in, four on each side, pitch 1.5 x 3.5 = 5.25 in: in 24 in one column a side,
    four layers; two columns take 6 in to the wall, 5.25 in and 6 in to the middle, so 36 in.

    >>> pairs = [HeaderPipe(role, "3 in", 0.0) for role in ("supply", "return") for _ in range(4)]
    >>> round(width_for(HeaderPiece((0, 0), (1, 0), 1.0, 0, tuple(pairs)), 24 * INCH) / INCH)
    36
    """
    width = least_m
    laid = pipes_in(piece)
    while _layers(laid, width) > LAYERS:
        width += WIDTH_STEP_M
    return width


def _layers(laid_pipes: Sequence[HeaderPipe], width_m: float) -> int:
    """Layers on the side where more pipes lie."""
    columns, _ = _columns(laid_pipes, width_m)
    sides = Counter(at[0] > 0.0 for at, _ in pipe_places(laid_pipes, width_m, 0.0))
    return math.ceil(max(sides.values(), default=0) / len(columns))


def piece_width(piece: HeaderPiece, piping: Piping) -> float:
    """Width of the trench of a piece: its own where it is dug wider [m]."""
    return piece.width_m or piping.width_m


def pipes_top(piece: HeaderPiece, width_m: float) -> float:
    """Height of the top of the uppermost pipe above the bottom of a trench [m]; 0 without one.

    Examples
    --------
    6 in pipe, 6.625 in across, lies singly on each side of a trench 24 in wide; of two on one
    side the upper one lies 1.5 diameters higher: 3 + 1.5 x 6.625 + 6.625 = 19.56 in.

    >>> three = [HeaderPipe(role, "6 in", 0.0) for role in ("supply", "return", "return home")]
    >>> piece = HeaderPiece((0, 0), (1, 0), 1.0, 0, tuple(three))
    >>> round(pipes_top(piece, 24 * INCH) / INCH, 2)
    19.56
    """
    laid = pipe_places(pipes_in(piece), width_m, SAND_BELOW_M)
    return max((at[1] + size / 2 for at, size in laid), default=0.0)


def sand_height(piece: HeaderPiece, piping: Piping) -> float:
    """Height of the sand in a piece of header trench, no more than its depth [m].

    From below the pipes to 6 in above the uppermost one.
    """
    top = max(pipes_top(piece, piece_width(piece, piping)), SAND_BELOW_M)
    return min(top + SAND_ABOVE_M, piping.depth_m)


def piece_line(piece: HeaderPiece, header: Header) -> LineString:
    """Centre line of a piece: the part of a run between its ends."""
    return piece_lines([piece], header)[0]


def piece_lines(pieces: Sequence[HeaderPiece], header: Header) -> list[LineString]:
    """Centre lines of pieces, of which each looks at the runs near its start alone."""
    spots = np.array([[piece.start, piece.end] for piece in pieces]).reshape(-1, 2, 2)
    ends = np.asarray(shapely.points(spots))
    near = STRtree(header.runs).query(ends[:, 0], predicate="dwithin", distance=SAME_M)
    # of each piece the first runs go first
    numbers, found = near[:, np.lexsort(near[::-1])]
    runs = np.array(header.runs, dtype=object)[found]
    both = (shapely.distance(ends[numbers], runs[:, None]) < SAME_M).all(axis=1)
    numbers, runs = numbers[both], runs[both]
    along = np.asarray(shapely.line_locate_point(runs[:, None], ends[numbers]))
    lines: list[LineString | None] = [None] * len(pieces)
    for number, run, (start, end) in zip(numbers.tolist(), runs, along.tolist(), strict=True):
        lines[number] = lines[number] or _part(run, start, end, pieces[number].length_m)
    return [line or LineString(pair) for line, pair in zip(lines, spots, strict=True)]


def _part(run: LineString, start: float, end: float, length_m: float) -> LineString | None:
    """The part of a run between two places along it; None where it is not so long."""
    line = substring(run, start, end)
    return LineString(line.coords) if abs(line.length - length_m) < 2 * SAME_M else None


def highest_pipe(piping: Piping) -> float:
    """Height of the top of the uppermost pipe anywhere above the bottom of the trench [m]."""
    return _highest(piping.pieces, piping.width_m)


def _highest(pieces: Sequence[HeaderPiece], width_m: float) -> float:
    tops = (pipes_top(piece, piece.width_m or width_m) for piece in pieces)
    return max(tops, default=0.0)


def dug_depth(pieces: Sequence[HeaderPiece], wanted: HeaderOptions) -> float:
    """Depth of a header trench: as stated, or so deep that all its pipe lies below frost [m].

    Examples
    --------
    Frost to 4.5 ft, eight pipes of 3 in in two layers: 4.5 ft + 3 in + 2.5 x 3.5 in = 5.48 ft, dug
    by tenths.

    >>> eight = [HeaderPipe(role, "3 in", 0.0) for role in ("supply", "return") for _ in range(4)]
    >>> pieces = (HeaderPiece((0, 0), (1, 0), 1.0, 0, tuple(eight), width_m=36 * INCH),)
    >>> silent = HeaderOptions(depth_m=60 * INCH, below_m=54 * INCH, step_m=1.2 * INCH)
    >>> round(dug_depth(pieces, silent) / INCH / 12, 2)
    5.5
    """
    needed_m = wanted.below_m + _highest(pieces, wanted.width_m)
    if wanted.below_m == 0.0 or needed_m <= wanted.depth_m + TOLERANCE:
        return wanted.depth_m
    return math.ceil(needed_m / wanted.step_m - TOLERANCE) * wanted.step_m


def header_depth(piping: Piping | None, wanted: HeaderOptions) -> float:
    """Depth of the header trench as it is dug; as stated where no pipes are known [m]."""
    return wanted.depth_m if piping is None else piping.depth_m
