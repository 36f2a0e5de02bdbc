"""What flows which way in a piece of header, and its pipes in the short words of the plan."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Well
from siteplan.layout.header.section import pipes_in
from siteplan.layout.model import Layout
from siteplan.layout.outfall import Outfall
from siteplan.layout.piping_model import HeaderPiece, HeaderPipe, Piping
from siteplan.sheet.content.header_points import SAME_M
from siteplan.sheet.kept import kept

Letter = Literal["S", "R", "RR"]
"""What a pipe is called on the plan: supply, return, and the third pipe of a reverse return."""
LETTERS: Final[tuple[Letter, ...]] = ("S", "R", "RR")
HEADER_LETTERS: Final = "HDR"
SQUARE_M: Final = 0.1
"""Side of the squares of ground by which pieces of one rank are put in order [m]."""
NAMES: Final = {"S": "SUPPLY", "R": "RETURN", "RR": "REVERSE RETURN"}


@dataclass(frozen=True, slots=True)
class Stream:
    """What pipes of a piece of header do; ``out``: whether they lead away from the building."""

    letter: Letter
    out: bool


@dataclass(frozen=True, slots=True)
class FlowPipe:
    """One pipe of a piece of header: what it does, and its nominal size."""

    stream: Stream
    size: str


def streams_of(piece: HeaderPiece, layout: Layout) -> tuple[Stream, ...]:
    """What flows in a piece, each once: supply first, then what comes back, then the others."""
    streams = {pipe.stream for pipe in flow_pipes(piece, layout)}
    return tuple(
        stream
        for letter in LETTERS
        for out in (letter == "S", letter != "S")
        if (stream := Stream(letter, out)) in streams
    )


def flow_pipes(piece: HeaderPiece, layout: Layout) -> tuple[FlowPipe, ...]:
    """Header pipes of a piece with their directions; not those from element to element.

    Examples
    --------
    >>> three = [HeaderPipe(role, "1 in", 0.0) for role in ("supply", "return", "return home")]
    >>> piece = HeaderPiece((0, 0), (1, 0), 1.0, 0, tuple(three))
    >>> flows = flow_pipes(piece, Layout("vertical", (), None, 6.0, 0.0))
    >>> [(pipe.stream.letter, pipe.stream.out) for pipe in flows]
    [('S', True), ('R', True), ('RR', False)]
    """
    wells = _wells_beyond(piece, layout)
    collecting = {pipe.group for pipe in piece.pipes if pipe.role == "return home"}
    found: list[FlowPipe] = []
    pairs = 0
    for pipe in piece.pipes:
        if pipe.role == "pair":
            stream = _of_pair(pairs, wells)
            pairs += 1
        else:
            stream = _of_role(pipe, collecting=pipe.group in collecting)
        found.append(FlowPipe(stream, pipe.size))
    return tuple(found)


def _of_role(pipe: HeaderPipe, *, collecting: bool) -> Stream:
    """What a pipe does: the return of a reverse return collects on its way out."""
    if pipe.role == "supply":
        return Stream("S", True)
    if pipe.role == "return home":
        return Stream("RR", False)
    return Stream("R", collecting)


def _of_pair(number: int, wells: Sequence[Well | Outfall]) -> Stream:
    """Of the two pipes of a circuit one leads out and one back; of a well its one, by its role."""
    if wells:
        well = wells[min(number, len(wells) - 1)]
        supplies = isinstance(well, Well) and well.role == "supply"
        return Stream("S", False) if supplies else Stream("R", True)
    return Stream("R", False) if number % 2 else Stream("S", True)


def _wells_beyond(piece: HeaderPiece, layout: Layout) -> tuple[Well | Outfall, ...]:
    """Wells that hang on a piece of header, or on what follows it."""
    wells = _wells(layout)
    if not wells or layout.piping is None:
        return ()
    ends, grown = [piece.end], True
    while grown:
        after = [
            other.end
            for other in layout.piping.pieces
            if other.end not in ends and any(_same(other.start, end) for end in ends)
        ]
        ends, grown = [*ends, *after], bool(after)
    return tuple(
        well
        for well in wells
        if any(math.dist(end, (well.x_m, well.y_m)) <= well.reach_m + SAME_M for end in ends)
    )


@kept
def _wells(layout: Layout) -> tuple[Well | Outfall, ...]:
    return (*layout.of(Well), *layout.of(Outfall))


def _same(at: tuple[float, float], other: tuple[float, float]) -> bool:
    return math.dist(at, other) <= SAME_M


def pipes_text(piece: HeaderPiece, layout: Layout) -> list[str]:
    """Number of the pipes of each size in a piece, large ones first, with what they do.

    Examples
    --------
    >>> two = [HeaderPipe(role, "1-1/4 in", 0.0) for role in ("supply", "return")]
    >>> piece = HeaderPiece((0, 0), (1, 0), 1.0, 0, tuple(two))
    >>> empty = Layout("vertical", (), None, 6.0, 0.0)
    >>> pipes_text(piece, empty)
    ['2 × 1-1/4 in (S, R)']
    """
    counts: dict[str, Counter[str]] = {}
    for pipe in flow_pipes(piece, layout):
        counts.setdefault(pipe.size, Counter())[pipe.stream.letter] += 1
    for own in piece.own:
        counts.setdefault(own.size, Counter())[own.circuit] += own.count
    order = ["", *pipes()]
    told = sorted(counts, key=lambda size: -order.index(size) if size in order else 0)
    return [_size_text(size, counts[size]) for size in told]


def _size_text(size: str, letters: Counter[str]) -> str:
    count = sum(letters.values())
    text = f"{count} × {size}" if size else f"{count} {'PIPE' if count == 1 else 'PIPES'}"
    return f"{text} ({letters_text(letters)})"


def letters_text(letters: Mapping[str, int]) -> str:
    """What pipes do by the letters of the plan, each with its number where there are several.

    Examples
    --------
    >>> letters_text({"S": 2, "R": 2}), letters_text({"S": 1, "R": 1})
    ('2 S, 2 R', 'S, R')
    """
    return ", ".join(f"{count} {name}" if count > 1 else name for name, count in letters.items())


def piece_name(piece: HeaderPiece, layout: Layout) -> str:
    """What a piece is called on the plan and in the table of header pipes, from the entry on."""
    assert layout.piping is not None
    return f"{HEADER_LETTERS}-{_numbers_of_pieces(layout.piping)[piece]}"


@kept
def _numbers_of_pieces(piping: Piping) -> dict[HeaderPiece, int]:
    """Number of each piece, the first of those that are alike."""
    numbers: dict[HeaderPiece, int] = {}
    for number, piece in enumerate(_ordered(piping), 1):
        numbers.setdefault(piece, number)
    return numbers


def ordered_pieces(layout: Layout) -> tuple[HeaderPiece, ...]:
    """Pieces by how many lie before them on the way from the entry, then from west to east.

    Whatever differs by rounding alone, as in a drawing read back, leaves the order as it is.
    """
    return _ordered(layout.piping) if layout.piping is not None and layout.piping.pieces else ()


@kept
def _ordered(piping: Piping) -> tuple[HeaderPiece, ...]:
    before, left = {piping.pieces[0].start: 0}, list(piping.pieces)
    grown = True
    while left and grown:
        grown = False
        for piece in list(left):
            at = next((known for known in before if _same(known, piece.start)), None)
            if at is not None:
                before.setdefault(piece.end, before[at] + 1)
                left.remove(piece)
                grown = True
    return tuple(
        sorted(piping.pieces, key=lambda piece: (before.get(piece.end, 0), *_square(piece.end)))
    )


def _square(at: tuple[float, float]) -> tuple[int, int]:
    """Which square of ground a place lies in; edges where no round coordinate lies."""
    return math.floor(at[0] / SQUARE_M + 0.137), math.floor(at[1] / SQUARE_M + 0.137)


def count_of(piece: HeaderPiece) -> int:
    """Number of all pipes of a piece."""
    return len(pipes_in(piece))
