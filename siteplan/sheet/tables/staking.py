"""Table of straight pieces and arcs by which bent trenches and rings are staked."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from siteplan.geometry.lines.arcs import Arc, Piece, arcs_of
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.ties import TAPE_M
from siteplan.sheet.marks import MORE, STAKING
from siteplan.sheet.place.blocks import STRONG, Block, Flow
from siteplan.sheet.place.table import Column, Row, Table
from siteplan.sheet.style.formats import coordinate, mark
from siteplan.units.model import UnitSystem

PIECE: Final = Column("piece", "PIECE")
LENGTH: Final = Column("length", "LENGTH", "right")
RADIUS: Final = Column("radius", "RADIUS", "right")
MOST_PIECES: Final = 400
"""Of more pieces than this the sheet lists none; they stand in elements.csv."""


def staking_block(content: PlanContent, width: float, most: int = MOST_PIECES) -> Block | None:
    """Table of the pieces of trenches that bend, None where all are straight."""
    layout, unit = content.layout, content.site.unit
    bent = bent_trenches(layout) if layout is not None else ()
    if not bent:
        return None
    flow = Flow(width, STAKING)
    flow.heading("STAKING OF BENT TRENCHES")
    pieces = [piece for trench in bent for piece in _named(trench)]
    table = _wide(pieces[:most], unit)
    if table.natural_width > width:
        table = _narrow(pieces[:most], unit)
    flow.table(table)
    flow.gap(0.4)
    if len(pieces) > most:
        flow.paragraph(f"{len(pieces) - most} more: see elements.csv.", STRONG, name=MORE)
    flow.paragraph(
        f"{unit.center.capitalize()} lines, {unit}. A piece with a radius is an arc: start and end "
        f"are its tangent points, its angle is measured at the {unit.center}, L turns to the left. "
        "The pieces depart from the line drawn by no more than "
        f"{mark(0.01, unit, rounding='up')}."
    )
    return flow.block()


def bent_trenches(layout: Layout) -> tuple[Trench, ...]:
    """Trenches that are more than one straight piece."""
    return tuple(trench for trench in layout.of(Trench) if len(trench.line.coords) > 2)


def staked_pieces(trench: Trench) -> tuple[Piece, ...]:
    """Pieces by which a trench is staked; an arc whose centre no tape reaches is chords."""
    return arcs_of(trench.line, most_radius_m=TAPE_M)


def staking_tables(trenches: Iterable[Trench], unit: UnitSystem) -> tuple[Table, Table]:
    """The pieces of trenches, in the wide form of the table and in the narrow one."""
    pieces = [piece for trench in trenches for piece in _named(trench)]
    return _wide(pieces, unit), _narrow(pieces, unit)


def _named(trench: Trench) -> list[tuple[str, Piece]]:
    return [
        (f"{trench.id}.{number}", piece) for number, piece in enumerate(staked_pieces(trench), 1)
    ]


def _wide(pieces: list[tuple[str, Piece]], unit: UnitSystem) -> Table:
    """One row for each piece."""
    middle = unit.center.upper()
    columns = (
        PIECE, Column("start-east", "START E", "right"), Column("start-north", "START N", "right"),
        Column("end-east", "END E", "right"), Column("end-north", "END N", "right"),
        LENGTH, RADIUS, Column("centre-east", f"{middle} E", "right"),
        Column("centre-north", f"{middle} N", "right"), Column("angle", "ANGLE", "right"),
    )  # fmt: skip
    rows = []
    for name, piece in pieces:
        ends = (*_place(piece.start, unit), *_place(piece.end, unit))
        curve: Row = ("", "", "", "")
        if isinstance(piece, Arc):
            centre = _place(piece.centre, unit)
            curve = (mark(piece.radius_m, unit), *centre, _angle(piece))
        rows.append((name, *ends, mark(piece.length_m, unit), *curve))
    return Table(STAKING, columns, tuple(rows))


def _narrow(pieces: list[tuple[str, Piece]], unit: UnitSystem) -> Table:
    """A row for each end and each centre, as every piece begins where the one before it ends."""
    columns = (
        PIECE, Column("east", f"EAST {unit}", "right"), Column("north", f"NORTH {unit}", "right"),
        LENGTH, RADIUS,
    )  # fmt: skip
    rows: dict[str, Row] = {}
    for name, piece in pieces:
        if name.endswith(".1"):
            start = f"{name.removesuffix('.1')} start"
            rows[start] = (start, *_place(piece.start, unit), "", "")
        radius = mark(piece.radius_m, unit) if isinstance(piece, Arc) else ""
        end = f"{name} end"
        rows[end] = (end, *_place(piece.end, unit), mark(piece.length_m, unit), radius)
        if isinstance(piece, Arc):
            rows[f"{name} centre"] = (unit.center, *_place(piece.centre, unit), _angle(piece), "")
    return Table(STAKING, columns, tuple(rows.values()), tuple(rows))


def _place(at: tuple[float, float], unit: UnitSystem) -> Row:
    return tuple(coordinate(value, unit) for value in at)


def _angle(piece: Arc) -> str:
    return f"{abs(piece.turn_deg):.1f}° {'L' if piece.turn_deg > 0 else 'R'}"
