"""Names of pegs: a base line is staked by, so that none stands on it."""

from __future__ import annotations

import pytest
import shapely
from legible import text_box
from shapely import LineString, box

from siteplan.sheet.content.stakes import BaseLine, SettingOut, Stake
from siteplan.sheet.model import Sheet, Text, View
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.placer import HARD
from siteplan.sheet.plan_view.base_lines import draw_base_lines, label_pegs
from siteplan.sheet.style.paper import paper
from siteplan.units.systems import METRIC

VIEW = View(1000.0, "", 0.0, 0.0, 200.0, 100.0, (0.0, 0.0))


@pytest.mark.parametrize("apart_m", [3.0, 4.0, 5.0, 6.0, 8.0, 12.0])
def test_no_name_of_a_peg_stands_on_its_base_line_however_near_trenches_lie(apart_m):
    canvas = Canvas(VIEW, METRIC)
    for side in (1.0, -1.0):
        y = side * apart_m
        canvas.line([(-80.0, y), (80.0, y)], "trench", "trench", ink=HARD, leader=40.0)
        # the header beyond either end, which a mask must not hide either
        x = side * 43.0
        canvas.line([(x, -apart_m), (x, apart_m)], "header", "header", ink=250.0, leader=40.0)
    ends = (Stake("BL1", (-40.0, 0.0)), Stake("BL1 end", (40.0, 0.0)))
    draw_base_lines(canvas, SettingOut(lines=(BaseLine("BL1", *ends),)))
    label_pegs(canvas, ends, box(-95.0, -45.0, 95.0, 45.0))
    sheet = Sheet("", paper("A3"), VIEW, METRIC, tuple(canvas.primitives), ())
    boxes = {text.text: text_box(text, sheet) for text in sheet.of_type(Text)}
    assert boxes.keys() == {"BL1", "BL1 end"}
    line = LineString(VIEW.to_paper([ends[0].at, ends[1].at]))
    assert not any(box.intersects(line) for box in boxes.values())


def test_the_name_of_a_peg_between_trenches_stays_on_the_lot() -> None:
    canvas = Canvas(VIEW, METRIC)
    lot = box(-60.0, -30.0, 60.0, 30.0)
    canvas.outline(lot, "property", "property", ink=HARD, leader=60.0)
    # trenches to either side, and room for names at once beyond the line of the lot alone
    for y in (-4.0, 4.0):
        canvas.line([(-50.0, y), (50.0, y)], "trench", "trench", ink=HARD, leader=90.0)
    covered = shapely.transform(box(-59.5, -29.5, 59.5, 29.5), VIEW.to_paper)
    canvas.placer.add_area(covered, 150.0, leader_cost=0.0)
    pegs = (Stake("BL1", (-40.0, 0.0)), Stake("BL1 end", (40.0, 0.0)))
    draw_base_lines(canvas, SettingOut(lines=(BaseLine("BL1", *pegs),)))
    label_pegs(canvas, pegs, lot)
    sheet = Sheet("", paper("A3"), VIEW, METRIC, tuple(canvas.primitives), ())
    seen = shapely.transform(lot, VIEW.to_paper)
    boxes = [text_box(text, sheet) for text in sheet.of_type(Text)]
    assert len(boxes) == 2
    assert all(seen.contains(box) for box in boxes)
