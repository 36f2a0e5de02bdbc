"""Where a column of text and tables may be parted."""

from __future__ import annotations

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
