"""Table of straight pieces and arcs by which bent trenches and rings are staked."""

from __future__ import annotations

from typing import Final

from siteplan.geometry.arcs import Arc, Piece, arcs_of
from siteplan.layout.model import Layout, Trench
from siteplan.sheet.content import PlanContent
from siteplan.sheet.flow import STRONG, Block, Column, Flow
from siteplan.sheet.formats import coordinate, mark
from siteplan.sheet.ties import TAPE_M
from siteplan.site.model import DisplayUnit

MOST_PIECES: Final = 400
"""Of more pieces than this the sheet lists none; they stand in elements.csv."""

Row = tuple[str, ...]


def staking_block(content: PlanContent, width: float, most: int = MOST_PIECES) -> Block | None:
    """Table of the pieces of trenches that bend, None where all are straight."""
    layout, unit = content.layout, content.site.unit
    bent = bent_trenches(layout) if layout is not None else ()
    if not bent:
        return None
    flow = Flow(width)
    flow.heading("STAKING OF BENT TRENCHES")
    rows = [row for trench in bent for row in piece_rows(trench, unit)]
    columns = [
        Column("PIECE"), Column("START E", "right"), Column("START N", "right"),
        Column("END E", "right"), Column("END N", "right"), Column("LENGTH", "right"),
        Column("RADIUS", "right"), Column("CENTRE E", "right"), Column("CENTRE N", "right"),
        Column("ANGLE", "right"),
    ]  # fmt: skip
    flow.table(columns, rows[:most])
    flow.gap(0.4)
    if len(rows) > most:
        flow.paragraph(f"{len(rows) - most} more: see elements.csv.", STRONG)
    flow.paragraph(
        f"Centre lines, {unit}. A piece with a radius is an arc: start and end are its tangent "
        "points, its angle is measured at the centre, L turns to the left. The pieces depart from "
        f"the line drawn by no more than {mark(0.01, unit, rounding='up')}."
    )
    return flow.block()


def bent_trenches(layout: Layout) -> tuple[Trench, ...]:
    """Trenches that are more than one straight piece."""
    found = (one for one in layout.elements if isinstance(one, Trench))
    return tuple(one for one in found if len(one.line.coords) > 2)


def staked_pieces(trench: Trench) -> tuple[Piece, ...]:
    """Pieces by which a trench is staked; an arc whose centre no tape reaches is chords."""
    return arcs_of(trench.line, most_radius_m=TAPE_M)


def piece_rows(trench: Trench, unit: DisplayUnit) -> list[Row]:
    """One row for each piece of a trench, numbered from its start."""
    return [
        _row(f"{trench.id}.{number}", piece, unit)
        for number, piece in enumerate(staked_pieces(trench), 1)
    ]


def _row(name: str, piece: Piece, unit: DisplayUnit) -> Row:
    ends = tuple(coordinate(value, unit) for at in (piece.start, piece.end) for value in at)
    curve: Row = ("", "", "", "")
    if isinstance(piece, Arc):
        side = "L" if piece.turn_deg > 0 else "R"
        curve = (
            mark(piece.radius_m, unit),
            *(coordinate(value, unit) for value in piece.centre),
            f"{abs(piece.turn_deg):.1f}° {side}",
        )
    return (name, *ends, mark(piece.length_m, unit), *curve)
