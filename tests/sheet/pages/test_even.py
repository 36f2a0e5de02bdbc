"""Tables of a set filled into columns: whole where that takes no more sheets."""

from __future__ import annotations

from itertools import pairwise

import sheet_lots

from siteplan.sheet.model import Text
from siteplan.sheet.pages.even import evenly_filled
from siteplan.sheet.pages.pages import Page, Written, filled_with, table_form, written
from siteplan.sheet.place.blocks import Block, Flow
from siteplan.sheet.place.table import Column, Table
from siteplan.sheet.style.paper import paper

COLUMNS = (Column("id", "ID"), Column("place", "PLACE"))
FORM = table_form(paper("ANSI B"))


def blocks_of(*rows: int) -> list[Written]:
    """Tables of so many rows each."""

    def writer(number: int, count: int):
        def write(_, width: float) -> Block:
            flow = Flow(width, f"table {number}")
            flow.heading(f"TABLE {number}")
            cells = tuple((f"B{k}", f"{k}.00") for k in range(count))
            flow.table(Table(f"table {number}", COLUMNS, cells))
            return flow.block()

        return write

    content = sheet_lots.suburban()
    return [written(content, writer(*told), FORM) for told in enumerate(rows)]


def parted(pages: list[Page], blocks: list[Written]) -> int:
    whole = {id(block) for block, _ in blocks}
    return sum(id(block) not in whole for page in pages for block, _ in page.blocks)


def test_a_short_table_stands_below_another_where_all_are_whole_then():
    # in their order the last one would need a sheet of its own, or others would be parted
    blocks = blocks_of(40, 40, 60, 40, 3)
    content = sheet_lots.suburban()
    count = len(filled_with(content, blocks, FORM))
    pages = evenly_filled(content, blocks, FORM, count)
    assert len(pages) == count
    assert parted(filled_with(content, blocks, FORM), blocks)
    assert not parted(pages, blocks)
    (page,) = pages
    boxes = sorted((left, top - block.height_mm, top) for block, (left, top) in page.blocks)
    for (left, _, top), (other, low, _) in pairwise(boxes):
        assert left < other or top <= low
    # each within its column
    assert min(low for _, low, _ in boxes) >= FORM.paper.margin_mm


def test_few_tables_go_on_to_another_sheet():
    content = sheet_lots.suburban()
    for rows in ((52, 44, 50, 40, 30, 30), (70, 70, 30, 30, 20, 20, 20), (40, 40, 40, 40, 40, 40)):
        blocks = blocks_of(*rows)
        usual = filled_with(content, blocks, FORM)
        pages = evenly_filled(content, blocks, FORM, len(usual))
        assert len(pages) == len(usual)
        first = {id(block) for block, _ in blocks}
        assert sum(id(page.blocks[0][0]) not in first for page in pages[1:]) <= sum(
            id(page.blocks[0][0]) not in first for page in usual[1:]
        )
        assert parted(pages, blocks) <= parted(usual, blocks)


def test_what_goes_on_never_stands_before_its_beginning():
    content = sheet_lots.suburban()
    for rows in ((15, 66, 50, 50, 30), (50, 40, 30, 50), (60, 24, 15, 30, 66)):
        blocks = blocks_of(*rows)
        (page,) = evenly_filled(content, blocks, FORM, 1)
        began = {}
        for block, (left, top) in page.blocks:
            heading = next(item.text for item in block.items if isinstance(item, Text))
            name, _, goes_on = heading.partition(",")
            place = (left, -top)
            assert not goes_on or began[name] < place
            began.setdefault(name, place)


def notes_of(lines: int, count: int) -> list[Written]:
    """Notes below one heading, each a block, so many lines each."""

    def writer(number: int):
        def write(_, width: float) -> Block:
            flow = Flow(width, "notes")
            if not number:
                flow.heading("NOTES")
            for line in range(lines):
                flow.paragraph(f"note {number}, line {line}")
            return flow.block(gap_mm=0.0 if number < count - 1 else 4.0)

        return write

    content = sheet_lots.suburban()
    return [written(content, writer(number), FORM) for number in range(count)]


def test_notes_stand_below_their_heading_in_their_order():
    # below other tables as a whole, not each where it has room: read there as a note of the table
    content = sheet_lots.suburban()
    notes = notes_of(4, 5)
    own = [id(block) for block, _ in notes]
    blocks = [*blocks_of(60, 60, 50, 40), *notes]
    (page,) = evenly_filled(content, blocks, FORM, len(filled_with(content, blocks, FORM)))
    places = [at for block, at in page.blocks if id(block) in own]
    assert len(places) == len(own)
    for (left, top), (next_left, next_top) in pairwise(places):
        assert next_left > left or (next_left == left and next_top < top)
        # where they go on in another column, at its top
        assert next_left == left or next_top == FORM.top_mm
