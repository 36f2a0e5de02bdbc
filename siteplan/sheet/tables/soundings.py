"""Table of the soundings of ponds: where, how deep, and how deep at the lowest level."""

from __future__ import annotations

from siteplan.layout.elements import Coil
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.style.formats import short_mark
from siteplan.sheet.tables.elements import place_cells, place_columns
from siteplan.units.lengths import format_length

SOUNDINGS = "soundings"


def soundings_block(content: PlanContent, width: float) -> Block | None:
    """Every sounding of the ponds with coils; None where there is none."""
    layout, unit = content.layout, content.site.unit
    used = {coil.pond for coil in layout.of(Coil)} if layout is not None else set()
    ponds = [pond for pond in content.site.of_kind("pond") if pond.id in used]
    rows = tuple(
        (
            each.id, *place_cells((each.at.x, each.at.y), unit),
            short_mark(each.depth_m, unit, rounding="down"),
            short_mark(max(each.depth_m - pond.survey.drawdown_m, 0.0), unit, rounding="down"),
        )
        for pond in ponds
        for each in pond.survey.soundings
    )  # fmt: skip
    if not rows:
        return None
    columns = (
        *place_columns(unit), Column("depth", "DEPTH", "right"),
        Column("low", "AT LOW WATER", "right"),
    )  # fmt: skip
    flow = Flow(width, SOUNDINGS)
    flow.heading("SOUNDINGS")
    flow.table(Table(SOUNDINGS, columns, rows))
    flow.gap(0.4)
    drawdown = max(pond.survey.drawdown_m for pond in ponds)
    low = f" Low water lies {format_length(drawdown, unit)} lower." if drawdown > 0 else ""
    flow.paragraph(
        f"Crosses on the plan. Depth below the level at which the pond was sounded.{low}"
    )
    return flow.block()
