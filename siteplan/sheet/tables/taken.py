"""What takes the ground of a lot, where no field is drawn in what is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from siteplan.available.area import KeepOut
from siteplan.geometry.lines.sweep import joined_polygons
from siteplan.rule_books.model import Rule
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.content.ground_left import ground_left, lies_in_ponds, whole_ground
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.tables.source_words import source_words
from siteplan.units.model import UnitSystem

LEAST_M2 = 0.5
"""Ground that is not worth a row [m2]."""
TAKEN = "taken"
"""Name of the table, for programs."""


@dataclass(frozen=True, slots=True)
class Taken:
    """Ground of the parcel that one rule takes [m2], and what no other rule takes of it [m2]."""

    rule: Rule
    area_m2: float
    alone_m2: float


def taken_block(content: PlanContent, width: float) -> Block | None:
    """Table of the rules that take the ground, None where a field is drawn."""
    layout, unit = content.layout, content.site.unit
    if layout is None or layout.elements or not content.keep_outs:
        return None
    whole = whole_ground(content)
    rows = taken_ground(whole, content.keep_outs)
    flow = Flow(width, TAKEN)
    flow.heading("WHAT TAKES THE GROUND")
    if rows:
        flow.table(_table(rows, unit))
        flow.gap(0.4)
    of_pond = " of pond" if lies_in_ponds(layout) else ""
    flow.paragraph(
        f"Available area {unit.area.text(float(ground_left(content).area))} of "
        f"{unit.area.text(float(whole.area))}{of_pond}. "
        + ("Alone: what no other rule takes." if rows else "No rule takes any of it.")
    )
    return flow.block()


def _table(rows: Sequence[Taken], unit: UnitSystem) -> Table:
    columns = (
        Column("subject", "FROM", wrap=True),
        Column("distance", "KEEPS", "right"),
        Column("area", "TAKES", "right"),
        Column("alone", "ALONE", "right"),
        Column("source", "RULE", wrap=True),
    )
    cells = tuple(
        (
            row.rule.subject,
            row.rule.printed,
            unit.area.text(row.area_m2),
            unit.area.text(row.alone_m2),
            source_words(row.rule.book, row.rule.source, unit) + row.rule.standing.words,
        )
        for row in rows
    )
    names = tuple(str(number) for number in range(1, len(rows) + 1))
    return Table(TAKEN, columns, cells, names)


def taken_ground(parcel: BaseGeometry, keep_outs: tuple[KeepOut, ...]) -> tuple[Taken, ...]:
    """Ground that each rule takes of a parcel, the rules first that take most."""
    shapes: dict[Rule, list[BaseGeometry]] = {}
    for keep_out in keep_outs:
        shapes.setdefault(keep_out.rule, []).append(keep_out.shape)
    # a line without a width is a keep-out too, and takes no ground
    whole = {
        rule: joined_polygons(shapely.union_all(parts).intersection(parcel))
        for rule, parts in shapes.items()
    }
    rows = []
    for rule, shape in whole.items():
        others = shapely.union_all([other for name, other in whole.items() if name != rule])
        rows.append(Taken(rule, float(shape.area), float(shape.difference(others).area)))
    # a rule that takes nothing of this lot is no reason
    told = [row for row in rows if row.area_m2 >= LEAST_M2]
    return tuple(sorted(told, key=lambda row: -row.area_m2))
