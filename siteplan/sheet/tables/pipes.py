"""Circuits, flow and take-off in the strip, as far as there is room."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.layout.model import Layout
from siteplan.quantities.take_off import Item, amount_of, take_off
from siteplan.report.pipe_words import circuit_words, flow_words
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.kept import kept
from siteplan.sheet.marks import CIRCUIT_WORDS, FLOW_WORDS, GROUPS, PIPES
from siteplan.sheet.marks import TAKE_OFF as TAKE_OFF_MARK
from siteplan.sheet.place.blocks import STRONG, Block, Flow, side_by_side
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.tables.groups import short_group_table
from siteplan.units.model import UnitSystem

TAKE_OFF, CIRCUITS, NOTHING = 2, 1, 0
"""How much the strip tells of the pipes: all, circuits and flow, nothing."""


items_of = kept(take_off)
"""Take-off of a site and its layout, kept while sheets are composed."""


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
    flow = Flow(width, PIPES)
    flow.heading("CIRCUITS")
    flow.paragraph(circuit_sentence(layout, unit), STRONG, name=CIRCUIT_WORDS)
    joined = [circuit for circuit in layout.circuits if len(set(circuit.elements)) > 1]
    if joined:
        rows = (f"{circuit.id}: {', '.join(dict.fromkeys(circuit.elements))}" for circuit in joined)
        flow.paragraph(f"In one circuit {'; '.join(rows)}.")
    flow.paragraph(flow_sentence(layout, unit), name=FLOW_WORDS)
    if layout.piping is not None and layout.piping.groups:
        flow.gap(1.2)
        flow.about = GROUPS
        flow.table(short_group_table(layout, unit))
    return flow.block()


def circuit_sentence(layout: Layout, unit: UnitSystem) -> str:
    """How many circuits of what pipe and length."""
    return f"{circuit_words(layout, unit)}."


def flow_sentence(layout: Layout, unit: UnitSystem) -> str:
    """Flow and head, or that nobody stated them."""
    flow = flow_words(layout, unit)
    return f"{flow}." if flow else "Flow not stated."


def _take_off(content: PlanContent, width: float) -> Block | None:
    items = items_of(content.site, content.layout) if content.layout is not None else ()
    if not items:
        return None
    flow = Flow(width, TAKE_OFF_MARK)
    flow.heading("TAKE-OFF")
    side_by_side(flow, short_take_off(items, content.site.unit))
    flow.paragraph(f"{rounded_words(items)}; basis of each figure: takeoff.csv.")
    return flow.block()


def short_take_off(items: Sequence[Item], unit: UnitSystem) -> Table:
    """What has to be bought and dug, without what the figures rest on."""
    columns = (
        Column("what", "ITEM"), Column("size", "SIZE", wrap=True),
        Column("quantity", "QUANTITY", "right"),
    )  # fmt: skip
    rows = tuple(_row(item, unit) for item in items)
    return Table(TAKE_OFF_MARK, columns, rows, tuple(map(item_mark, items)))


def rounded_words(items: Sequence[Item]) -> str:
    """How the figures of a take-off are rounded, and for what an allowance is in them."""
    grout = any(item.what.startswith("grout") for item in items)
    return f"Rounded up, no waste allowance{' but that of grout' if grout else ''}"


def item_mark(item: Item) -> str:
    """What programs call the row of an item."""
    return f"{item.what} {item.size}".strip()


def _row(item: Item, unit: UnitSystem) -> tuple[str, ...]:
    amount, name = amount_of(item, unit)
    number = f"{amount:,.1f}".removesuffix(".0")
    return (item.what.upper(), item.size, f"{number} {name}")
