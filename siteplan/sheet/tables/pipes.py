"""Circuits, flow and take-off in the strip, as far as there is room."""

from __future__ import annotations

from siteplan.quantities.take_off import Item, amount_of, take_off
from siteplan.report.pipe_words import circuit_words, flow_words
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.place.blocks import STRONG, Block, Flow, side_by_side
from siteplan.sheet.place.table import Column
from siteplan.site.model import DisplayUnit

TAKE_OFF, CIRCUITS, NOTHING = 2, 1, 0
"""How much the strip tells of the pipes: all, circuits and flow, nothing."""


def has_pipes(content: PlanContent) -> bool:
    """Whether there is anything to tell of pipes."""
    return content.layout is not None and content.layout.piping is not None


def pipes_blocks(content: PlanContent, width: float, told: int) -> list[Block]:
    """Circuits and flow in words, and the table of what is to be bought and dug."""
    if told == NOTHING or not has_pipes(content):
        return []
    blocks = [_circuits(content, width)]
    if told == TAKE_OFF:
        blocks.append(_take_off(content, width))
    return [block for block in blocks if block is not None]


def _circuits(content: PlanContent, width: float) -> Block | None:
    layout, unit = content.layout, content.site.unit
    if layout is None or not layout.circuits:
        return None
    flow = Flow(width)
    flow.heading("CIRCUITS")
    flow.paragraph(f"{circuit_words(layout, unit)}.", STRONG)
    joined = [one for one in layout.circuits if len(set(one.elements)) > 1]
    if joined:
        rows = (f"{one.id}: {', '.join(dict.fromkeys(one.elements))}" for one in joined)
        flow.paragraph(f"In one circuit {'; '.join(rows)}.")
    words = flow_words(layout, unit)
    flow.paragraph(f"{words}." if words else "Flow not stated.")
    return flow.block()


def _take_off(content: PlanContent, width: float) -> Block | None:
    items = take_off(content.site, content.layout) if content.layout is not None else ()
    if not items:
        return None
    flow = Flow(width)
    flow.heading("TAKE-OFF")
    columns = [Column("ITEM"), Column("SIZE", wrap=True), Column("QUANTITY", "right")]
    side_by_side(flow, columns, [_row(item, content.site.unit) for item in items])
    flow.paragraph("Rounded up, without waste; what each figure rests on: takeoff.csv.")
    return flow.block()


def _row(item: Item, unit: DisplayUnit) -> tuple[str, ...]:
    amount, name = amount_of(item, unit)
    number = f"{amount:,.1f}".removesuffix(".0")
    return (item.what.upper(), item.size, f"{number} {name}")
