"""Blocks of the tables in the free columns of the details, where that saves a sheet.

What is built and how stands there too where the details leave much of their sheet empty.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.kept import kept
from siteplan.sheet.pages.detail_sheets import Details
from siteplan.sheet.pages.even import evenly_filled, foot
from siteplan.sheet.pages.pages import (
    COLUMN_MM,
    SLACK_MM,
    Form,
    Page,
    Writer,
    Written,
    area_filled,
    filled_with,
    right_end,
    share_filled,
    written,
)
from siteplan.sheet.pages.strip import PAD_MM
from siteplan.sheet.pages.table_sheets import (
    flow_block,
    header_stakes_block,
    stakes_block,
    table_writers,
    take_off_block,
)
from siteplan.sheet.place.blocks import Block
from siteplan.sheet.tables.checklist import checklist_block
from siteplan.sheet.tables.circuits import circuits_block
from siteplan.sheet.tables.conditions import conditions_block
from siteplan.sheet.tables.groups import groups_block
from siteplan.sheet.tables.header import header_pieces_block
from siteplan.sheet.tables.reasoning import reasoning_block
from siteplan.sheet.tables.separations import basis_block, separations_block
from siteplan.sheet.tables.sequence import sequence_block
from siteplan.sheet.tables.specification import specification_block
from siteplan.sheet.tables.wells import wells_block

SPARSE: Final = 0.5
"""A last sheet of tables filled less than this is saved if it can be."""
EMPTY: Final = 0.15
"""A last sheet of details of which more is empty takes what is built and how, beside its
sections."""
WIDEST_MM: Final = 150.0
"""Longer lines are read badly: a wider room is divided [mm]."""
BUILT: Final[tuple[Writer, ...]] = (specification_block, sequence_block, take_off_block)
"""What whoever builds reads beside the sections, first what belongs there most."""
WITH_DETAILS: Final[tuple[Writer, ...]] = (
    specification_block, take_off_block, sequence_block, reasoning_block, wells_block, basis_block,
    checklist_block, conditions_block, flow_block, separations_block,
)  # fmt: skip
"""What may stand beside details, what belongs there most first."""

LONG_TABLES: Final[tuple[Writer, ...]] = (
    stakes_block, header_stakes_block, circuits_block, groups_block, header_pieces_block,
    specification_block, sequence_block, take_off_block,
)  # fmt: skip
"""What speaks of no other sheet, so that it is written once, however many sheets there are."""


@dataclass(slots=True)
class _Room:
    """Free paper at the foot of a column [mm]."""

    left_mm: float
    width_mm: float
    top_mm: float
    bottom_mm: float

    @property
    def area_mm2(self) -> float:
        """Area that is free [mm2]."""
        return self.width_mm * (self.top_mm - self.bottom_mm)


@kept
def _once(writer: Writer, plain: PlanContent, width: float) -> Block | None:
    return writer(plain, width)


def _knowing(writer: Writer, plain: PlanContent) -> Writer:
    """The writer; of what speaks of no other sheet one that writes it once for each width."""
    return (lambda _, width: _once(writer, plain, width)) if writer in LONG_TABLES else writer


def tables_beside(
    content: PlanContent, plain: PlanContent, ways: Sequence[Details], form: Form
) -> tuple[Details, list[Page]]:
    """Details and pages of tables; ``ways``: to draw the details, the best first.

    ``plain``: the same content, of which nobody knows yet how many sheets it takes.

    Where the last sheet of tables would be nearly empty, blocks go to the last one of details, if
    that saves a sheet. No column is left empty that the others could share with.
    """
    writers = table_writers(content)
    blocks = [written(content, _knowing(writer, plain), form) for writer in writers]
    tables = filled_with(content, blocks, form)
    best = ways[0]
    if not best.pages or len(tables) < 2 or share_filled(tables[-1], form) >= SPARSE:
        return _beside_sections(content, plain, best, blocks, form)
    over = area_filled(tables[-1], form)
    for details in ways:
        if sum(room.area_mm2 for room in _rooms(details.pages[-1], details.form)) < over:
            continue
        last, left = _moved(content, plain, details, [*blocks], WITH_DETAILS)
        fewer = filled_with(content, left, form)
        if len(fewer) < len(tables):
            even = evenly_filled(content, left, form, len(fewer))
            return Details((*details.pages[:-1], last), details.form), even
    return _beside_sections(content, plain, best, blocks, form)


def _beside_sections(
    content: PlanContent, plain: PlanContent, details: Details, blocks: list[Written], form: Form
) -> tuple[Details, list[Page]]:  # fmt: skip
    """What is built and how beside the sections, where these leave much of their sheet empty."""
    count = len(filled_with(content, blocks, form))
    if details.pages and _share_empty(details.pages[-1], details.form) > EMPTY:
        last, left = _moved(content, plain, details, [*blocks], BUILT, whole=True)
        if left == blocks:
            # where none has room as a whole, better in parts than beside empty paper
            last, left = _moved(content, plain, details, [*blocks], BUILT)
        if any(block is not None for block, _ in left):
            even = evenly_filled(content, left, form, len(filled_with(content, left, form)))
            return Details((*details.pages[:-1], last), details.form), even
    return details, evenly_filled(content, blocks, form, count)


def _moved(
    content: PlanContent, plain: PlanContent, details: Details, blocks: list[Written],
    chosen: Sequence[Writer], *, whole: bool = False,
) -> tuple[Page, list[Written]]:  # fmt: skip
    """The last page of details with what of the chosen has room there, and what has not.

    ``whole``: no block is parted for that.
    """
    writers = table_writers(content)
    last = replace(details.pages[-1], blocks=[*details.pages[-1].blocks])
    rooms = _rooms(last, details.form)
    for writer in chosen:
        known = _knowing(writer, plain)
        if writer in writers and _put_in(content, known, last, rooms, whole=whole):
            blocks[writers.index(writer)] = (None, False)
    return last, blocks


def _rooms(page: Page, form: Form) -> list[_Room]:
    """What is free in the columns of a page."""
    rooms = []
    for column in page.columns:
        top = foot(page, column, form)
        parts = math.ceil(column.width_mm / WIDEST_MM - 1e-9)
        # a little too wide is read better than too narrow to be filled
        parts = max(1, min(parts, int(column.width_mm / (COLUMN_MM - PAD_MM))))
        width = column.width_mm / parts
        if top > column.bottom_mm:
            lefts = (column.left_mm + k * width for k in range(parts))
            rooms += [_Room(left, width, top, column.bottom_mm) for left in lefts]
    return rooms


def _share_empty(page: Page, form: Form) -> float:
    """How much of the columns of a page is free [-]."""
    whole = (column.width_mm * (form.top_mm - column.bottom_mm) for column in page.columns)
    return sum(room.area_mm2 for room in _rooms(page, form)) / sum(whole)


def _put_in(
    content: PlanContent, writer: Writer, page: Page, rooms: Sequence[_Room], *, whole: bool
) -> bool:
    """Put a block into the rooms, in parts where none holds it whole; False if all do not."""
    wide = [room for room in rooms if room.width_mm >= COLUMN_MM - PAD_MM]
    for among in (*([room] for room in wide), *([] if whole else [wide])):
        width = min((room.width_mm for room in among), default=0.0) - 2 * PAD_MM
        block = writer(content, width) if among else None
        if block is None:
            return False
        pieces = _pieces(block, among) if right_end(block) <= width + SLACK_MM else None
        for room, piece in pieces or ():
            page.put(piece, room.left_mm + PAD_MM, room.top_mm)
            room.top_mm -= piece.height_mm + piece.gap_mm
        if pieces:
            return True
    return False


def _pieces(block: Block, rooms: Sequence[_Room]) -> list[tuple[_Room, Block]] | None:
    """The block over the rooms, whole in the first that holds it, or parted; None: no room."""
    found: list[tuple[_Room, Block]] = []
    for room in rooms:
        high = room.top_mm - room.bottom_mm
        if block.height_mm <= high:
            return [*found, (room, block)]
        parted = block.parted(high)
        if parted is not None:
            upper, block = parted
            found.append((room, upper))
    return None
