"""Table of the header trench, piece by piece, with the pipes lying in each."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence

from scipy.spatial import cKDTree

from siteplan.hydraulics.pipes import pipes
from siteplan.layout.header.section import piece_width
from siteplan.layout.model import Layout
from siteplan.layout.piping_model import HeaderPiece, HeaderPipe, Piping
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.header_flow import flow_pipes, letters_text, ordered_pieces, piece_name
from siteplan.sheet.content.header_points import SAME_M, header_points
from siteplan.sheet.content.ties import tie_targets
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import PIECES
from siteplan.sheet.model import XY
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.style.formats import coordinate, detail_mark, mark
from siteplan.units.model import UnitSystem

ROLES = {
    "supply": "supply",
    "return": "return",
    "return home": "reverse return",
    "pair": "circuit",
}
"""What each pipe of the header is called where there is room for words."""
LETTERED = {**ROLES, "supply": "S", "return": "R", "return home": "RR"}
"""The same by the letters of the plan."""
LETTERS_NOTE = " S: supply. R: return."
REVERSE_NOTE = " RR: reverse return."

OWN_NOTE = " Of a circuit: its own pipe on the way from element to element, in the same trench."


def header_pieces_block(content: PlanContent, width: float) -> Block | None:
    """Table of header pieces with the pipes in each, None where there is no header."""
    layout, unit = content.layout, content.site.unit
    if layout is None or layout.piping is None or not layout.piping.pieces:
        return None
    flow = Flow(width, PIECES)
    flow.heading("HEADER PIPES")
    flow.table(piece_table(layout, unit))
    flow.gap(0.4)
    flow.paragraph(
        "From the entry outwards, from branch to branch; points H and elements as in their table. "
        "HDR and a number on the plan: the piece of that name here. "
        "Where a size changes from one piece to the next, a reducer stands between them."
        + _letters_note(layout.piping)
        + (OWN_NOTE if any(piece.own for piece in layout.piping.pieces) else "")
    )
    return flow.block()


def _letters_note(piping: Piping) -> str:
    """What the letters of pipes mean, of those in the table."""
    laid = {pipe.role for piece in piping.pieces for pipe in piece.pipes}
    note = LETTERS_NOTE if laid & {"supply", "return", "pair"} else ""
    return note + (REVERSE_NOTE if "return home" in laid else "")


@kept
def piece_table(layout: Layout, unit: UnitSystem) -> Table:
    """One row for every piece of the header trench; what programs call it are both its ends."""
    columns = (
        Column("piece", "PIECE"), Column("from", "FROM"), Column("to", "TO"),
        Column("trench", "TRENCH", "right"),
        *([Column("width", "WIDTH", "right")] if _widened(layout) else []),
        Column("pipes", "PIPES IN IT", wrap=True),
    )  # fmt: skip
    pieces = ordered_pieces(layout)
    rows = tuple(piece_row(piece, layout, unit) for piece in pieces)
    return Table(PIECES, columns, rows, tuple(f"{start}/{end}" for _, start, end, *_ in rows))


def piece_row(piece: HeaderPiece, layout: Layout, unit: UnitSystem) -> tuple[str, ...]:
    """Its name, those of both ends, length of trench rounded up, and pipes."""
    return (
        piece_name(piece, layout),
        point_name(piece.start, layout, unit),
        point_name(piece.end, layout, unit),
        mark(piece.length_m, unit, rounding="up"),
        *((detail_mark(_width(piece, layout), unit, rounding="up"),) if _widened(layout) else ()),
        piece_words(piece, _roles(piece, layout)),
    )


def _roles(piece: HeaderPiece, layout: Layout) -> Mapping[str, str]:
    """What each pipe is called in the row of a piece; of pairs, how many lead out and home.

    Examples
    --------
    >>> pairs = tuple(HeaderPipe("pair", "1 in", 0.0) for _ in range(4))
    >>> piece = HeaderPiece((0, 0), (1, 0), 1.0, 0, pairs)
    >>> piece_words(piece, _roles(piece, Layout("vertical", (), None, 6.0, 0.0)))
    '4 × circuit (2 S, 2 R) 1 in'
    """
    flows = zip(piece.pipes, flow_pipes(piece, layout), strict=True)
    letters = Counter[str](known.stream.letter for pipe, known in flows if pipe.role == "pair")
    sizes = {pipe.size for pipe in piece.pipes if pipe.role == "pair"}
    if len(sizes) != 1:
        return LETTERED
    return {**LETTERED, "pair": f"{ROLES['pair']} ({letters_text(letters)})"}


def _widened(layout: Layout) -> bool:
    """Whether some pieces of the trench are dug wider than others."""
    return layout.piping is not None and any(piece.width_m for piece in layout.piping.pieces)


def _width(piece: HeaderPiece, layout: Layout) -> float:
    return piece_width(piece, layout.piping) if layout.piping is not None else 0.0


def point_name(at: XY, layout: Layout, unit: UnitSystem) -> str:
    """Name of the header's point or the element there, its coordinates where it has none."""
    stakes = _stakes(layout)
    if stakes:
        tree, farthest = _stakes_around(layout)
        for name, spot, reach in (stakes[k] for k in sorted(tree.query_ball_point(at, farthest))):
            if math.dist(spot, at) <= reach:
                return name
    return f"E {coordinate(at[0], unit)} N {coordinate(at[1], unit)}"


@kept
def _stakes(layout: Layout) -> list[tuple[str, XY, float]]:
    """Points of the header, then elements: name, place, and what lies so near is there [m]."""
    return [
        *((point.name, point.at, 2 * SAME_M) for point in header_points(layout)),
        *(
            (element.id, end, element.reach_m + SAME_M)
            for element in layout.elements
            for end in tie_targets(element)
        ),
    ]


@kept
def _stakes_around(layout: Layout) -> tuple[cKDTree, float]:
    """All of these, to be asked for those near a place, and the farthest that one reaches [m]."""
    stakes = _stakes(layout)
    # by so little farther that rounding leaves none out
    return cKDTree([at for _, at, _ in stakes]), max(reach for *_, reach in stakes) + 1e-9


def piece_words(piece: HeaderPiece, roles: Mapping[str, str] = ROLES) -> str:
    """All pipes of a piece: those of the header, then those of circuits by their names.

    ``roles``: what each pipe is called.

    Examples
    --------
    >>> from siteplan.layout.piping_model import OwnPipes
    >>> own = (OwnPipes("CIR-5", "3/4 in", 2), OwnPipes("CIR-7", "3/4 in", 2))
    >>> piece_words(HeaderPiece((0, 0), (1, 0), 1.0, 0, (HeaderPipe("supply", "1 in", 0.0),), own))
    'supply 1 in and 2 of CIR-5, 2 of CIR-7'
    >>> two = (HeaderPipe("supply", "2 in", 0.0, "G1"), HeaderPipe("supply", "3 in", 0.0, "G2"))
    >>> piece_words(HeaderPiece((0, 0), (1, 0), 1.0, 0, two))
    'G1 supply 2 in; G2 supply 3 in'
    >>> same = tuple(HeaderPipe("supply", "2 in", 0.0, f"G{k}") for k in (1, 2, 3, 5))
    >>> piece_words(HeaderPiece((0, 0), (1, 0), 1.0, 0, same))
    'G1 to G3, G5 each supply 2 in'
    """
    own = ", ".join(f"{own_pipes.count} of {own_pipes.circuit}" for own_pipes in piece.own)
    alike: dict[str, list[str]] = {}
    for group in dict.fromkeys(pipe.group for pipe in piece.pipes):
        laid = pipe_words(tuple(pipe for pipe in piece.pipes if pipe.group == group), roles)
        alike.setdefault(laid, []).append(group)
    words = "; ".join(f"{_each(groups)} {laid}".strip() for laid, groups in alike.items())
    return " and ".join(part for part in (words, own) if part) or "none"


def _each(groups: Sequence[str]) -> str:
    """Groups that have the same pipes: those that follow one another by the first and the last."""
    runs: list[list[str]] = []
    for group in groups:
        if runs and _number(group) == _number(runs[-1][-1]) + 1:
            runs[-1].append(group)
        else:
            runs.append([group])
    told = [run if len(run) < 3 else [f"{run[0]} to {run[-1]}"] for run in runs]
    return ", ".join(name for run in told for name in run) + (" each" if len(groups) > 1 else "")


def _number(group: str) -> int:
    return int(group.lstrip("G") or 0)


def pipe_words(laid: tuple[HeaderPipe, ...], roles: Mapping[str, str] = ROLES) -> str:
    """Pipes by role and size, large sizes first.

    Examples
    --------
    >>> two = (HeaderPipe("supply", "2 in", 1e-3), HeaderPipe("return", "1 in", 1e-3))
    >>> pipe_words(two)
    'supply 2 in, return 1 in'
    >>> pipe_words(two, LETTERED)
    'S 2 in, R 1 in'
    >>> pipe_words((HeaderPipe("pair", "1 in", 0.0), HeaderPipe("pair", "1 in", 0.0)))
    '2 × circuit 1 in'
    """
    sizes = ["", *pipes()]
    ranks = list(roles)
    counts = Counter((pipe.role, pipe.size) for pipe in laid)
    order = sorted(counts, key=lambda key: (ranks.index(key[0]), -sizes.index(key[1])))
    return ", ".join(
        f"{'' if counts[key] == 1 else f'{counts[key]} × '}{roles[key[0]]} "
        f"{key[1] or 'sized by flow'}"
        for key in order
    )
