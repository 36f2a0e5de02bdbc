"""Where a column of text and tables may be parted."""

from __future__ import annotations

from siteplan.sheet.model import Text
from siteplan.sheet.place.blocks import Flow


def test_what_stands_over_a_table_is_not_parted_from_it() -> None:
    flow = Flow(80.0, "elements")
    flow.paragraph("One line.")
    after_line = flow.depth
    flow.caption("BASE LINES", name="heading")
    flow.paragraph("What follows.")
    cuts = [round(cut.depth_mm, 6) for cut in flow.block().cuts]
    # one after the first line, none between heading and text, none after the last
    assert cuts == [round(after_line + 0.8, 6)]


def test_no_line_of_a_paragraph_stands_alone_at_the_head_of_a_column() -> None:
    flow = Flow(60.0, "notes")
    words = "Every pipe is tested before the trench is filled, and after that once more by all. "
    for _ in range(3):
        flow.paragraph(words * 3)
    block = flow.block()
    lines = [item for item in block.items if isinstance(item, Text)]
    for depth in (block.height_mm * part / 40 for part in range(12, 40)):
        parted = block.parted(depth)
        assert parted is not None
        upper, below = (
            [item.text for item in part.items if isinstance(item, Text)] for part in parted
        )
        assert [*upper, *below] == [line.text for line in lines]
        # three paragraphs alike: what stands above and below is whole, or two lines of one or more
        many = len(lines) // 3
        assert len(upper) % many != 1
        assert len(below) % many != 1
