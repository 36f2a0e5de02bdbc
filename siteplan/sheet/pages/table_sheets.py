"""Tables of the set: everything by number, whole, in as many columns and sheets as it takes."""

from __future__ import annotations

from collections.abc import Sequence

from siteplan.quantities.take_off import Item, amount_of, dug_length
from siteplan.sheet.content.content import Deviations, PlanContent
from siteplan.sheet.content.facts import crossover_words, groups_words
from siteplan.sheet.content.header_points import header_points, points_note
from siteplan.sheet.content.sides import sides_of
from siteplan.sheet.marks import CORNERS, ELEMENTS, FLOW_WORDS, HEADER, PIPES, TAKE_OFF
from siteplan.sheet.pages.key_plan import location_block
from siteplan.sheet.pages.pages import Writer
from siteplan.sheet.place.blocks import STRONG, Block, Flow
from siteplan.sheet.place.table import Column, Row, Table
from siteplan.sheet.plan_view.parcel import side_text
from siteplan.sheet.style.text import NO_BREAK
from siteplan.sheet.tables.before_and_after import before_and_after_block
from siteplan.sheet.tables.checklist import checklist_block
from siteplan.sheet.tables.circuits import circuits_block
from siteplan.sheet.tables.comparison import comparison_block
from siteplan.sheet.tables.conditions import conditions_block
from siteplan.sheet.tables.elements import (
    base_lines,
    element_table,
    elements_title,
    header_table,
    header_title,
    place_cells,
    place_columns,
)
from siteplan.sheet.tables.frame_words import coordinate_note, frame_note
from siteplan.sheet.tables.groups import groups_block
from siteplan.sheet.tables.header import header_pieces_block
from siteplan.sheet.tables.notes import notes_blocks
from siteplan.sheet.tables.pipes import flow_sentence, item_mark, items_of, rounded_words
from siteplan.sheet.tables.reasoning import reasoning_block
from siteplan.sheet.tables.rule_books import rule_books_block
from siteplan.sheet.tables.separations import basis_block, separations_block
from siteplan.sheet.tables.sequence import sequence_block
from siteplan.sheet.tables.setting_out import fitted
from siteplan.sheet.tables.soundings import soundings_block
from siteplan.sheet.tables.specification import specification_block
from siteplan.sheet.tables.staking import staking_block
from siteplan.sheet.tables.taken import taken_block
from siteplan.sheet.tables.wells import wells_block
from siteplan.site.model import Site
from siteplan.units.model import UnitSystem

DEVIATIONS = "DEVIATIONS FROM THE PLAN"
"""Heading of the table of what was built."""


def table_writers(content: PlanContent) -> list[Writer]:
    """What writes each table, in the order of the sheets."""
    # what the plan has room for stands there alone
    first = content.notes_on_plan
    count = len(notes_blocks(content, 100.0)) if first is not None else 0
    return [
        comparison_block, deviations_block, stakes_block, header_stakes_block,
        staking_block, soundings_block,
        corners_block, circuits_block, groups_block, header_pieces_block, flow_block,
        separations_block, taken_block, conditions_block, specification_block, sequence_block,
        basis_block, reasoning_block, wells_block,
        take_off_block, *_located(content),
        checklist_block, before_and_after_block, rule_books_block,
        *(_note(number, first=first or 0) for number in range(first or 0, count)),
    ]  # fmt: skip


def _located(content: PlanContent) -> list[Writer]:
    """Where the lot lies, which stands beside the details where there are any."""
    if content.layout is not None and content.layout.elements and content.built is None:
        return []
    return [location_block]


def _note(number: int, *, first: int) -> Writer:
    """Writes a note; ``first`` is the first one on the sheets of tables."""
    return lambda content, width: notes_blocks(content, width, first=first)[number - first]


def deviations_block(content: PlanContent, width: float) -> Block | None:
    """How far everything built lies from its plan, None where the sheets show a plan."""
    built = content.built
    if built is None:
        return None
    flow = Flow(width, "deviations")
    flow.heading(DEVIATIONS)
    flow.table(deviation_table(built))
    if built.note:
        flow.gap(0.4)
        flow.paragraph(built.note)
    return flow.block()


def deviation_table(built: Deviations) -> Table:
    """How far everything built lies from its plan."""
    columns = tuple(
        Column(name, title, "right" if number else "left")
        for number, (name, title) in enumerate(zip(built.names, built.titles, strict=True))
    )
    return Table("deviations", columns, built.rows)


def stakes_block(content: PlanContent, width: float) -> Block | None:
    """Every element with coordinates and tapes, None where nothing goes in the ground."""
    layout, unit = content.layout, content.site.unit
    if layout is None or not layout.elements:
        return None
    flow = Flow(width, ELEMENTS)
    flow.heading(elements_title(layout, unit))
    out = content.setting_out
    _parts(flow, element_table(layout, unit, out))
    base_lines(flow, out, unit)
    flow.gap(0.4)
    flow.paragraph(coordinate_note(layout, unit, bends="in a table of their own"))
    if layout.piping is not None and layout.piping.groups:
        flow.paragraph(groups_words(layout))
    flow.paragraph(frame_note(content, out, all_corners=False))
    if layout.crossovers:
        flow.paragraph(crossover_words(layout, unit))
    return flow.block()


def _parts(flow: Flow, table: Table) -> None:
    """A table in one part or, where it is too wide, in two below each other."""
    for number, part in enumerate(fitted(table, flow.width)):
        flow.gap(0.6 if number else 0.0)
        flow.table(part)


def header_stakes_block(content: PlanContent, width: float) -> Block | None:
    """Every point the header trench is staked by, None where there is no header."""
    layout, unit = content.layout, content.site.unit
    if layout is None or layout.header is None:
        return None
    flow = Flow(width, HEADER)
    dug = dug_length(content.site, layout.header)
    flow.heading(header_title(layout.header, unit, dug_m=dug))
    points = header_points(layout)
    _parts(flow, header_table(points, unit, content.setting_out))
    flow.gap(0.4)
    flow.paragraph(points_note(points))
    return flow.block()


def corners_block(content: PlanContent, width: float) -> Block:
    """Every corner of the parcel, and the side that leaves it."""
    flow = Flow(width, CORNERS)
    flow.heading("PROPERTY CORNERS AND SIDES")
    flow.table(corner_table(content.site))
    flow.gap(0.4)
    flow.paragraph(
        "In order along the boundary. L or C and a number on the plan: the side from the corner of "
        "that number to the next. Not a boundary survey."
    )
    return flow.block()


def corner_table(site: Site) -> Table:
    """The parcel's corners and sides."""
    unit = site.unit
    columns = (*place_columns(unit), Column("side", "SIDE FROM HERE TO THE NEXT", wrap=True))
    rows = tuple(
        (
            f"P{number}", *place_cells(side.start, unit),
            " ".join(part.strip().replace(" ", NO_BREAK) for part in side_text("", side, unit)),
        )
        for number, side in enumerate(sides_of(site.parcel), 1)
    )  # fmt: skip
    return Table(CORNERS, columns, rows)


def flow_block(content: PlanContent, width: float) -> Block | None:
    """Flow and head in words, None where no pipes are laid."""
    layout = content.layout
    if layout is None or not layout.circuits:
        return None
    flow = Flow(width, PIPES)
    flow.heading("FLOW")
    flow.paragraph(flow_sentence(layout, content.site.unit), name=FLOW_WORDS)
    return flow.block()


def take_off_block(content: PlanContent, width: float) -> Block | None:
    """What has to be bought and dug, with what each figure rests on; None where there is none."""
    items = items_of(content.site, content.layout) if content.layout is not None else ()
    if not items:
        return None
    flow = Flow(width, TAKE_OFF)
    flow.heading("TAKE-OFF")
    flow.table(take_off_table(items, content.site.unit))
    flow.gap(0.4)
    flow.paragraph(f"{rounded_words(items)}.", STRONG)
    return flow.block()


def take_off_table(items: Sequence[Item], unit: UnitSystem) -> Table:
    """What has to be bought and dug, with what each figure rests on."""
    columns = (
        Column("item", "ITEM", wrap=True), Column("quantity", "QUANTITY", "right"),
        Column("basis", "BASIS", wrap=True),
    )  # fmt: skip
    rows: list[Row] = []
    before = ""
    for item in items:
        amount, name = amount_of(item, unit)
        number = f"{amount:,.1f}".removesuffix(".0")
        basis = "the same" if item.basis == before else item.basis
        rows.append((f"{item.what.upper()} {item.size}".strip(), f"{number} {name}", basis))
        before = item.basis
    return Table(TAKE_OFF, columns, tuple(rows), tuple(map(item_mark, items)))
