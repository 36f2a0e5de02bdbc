"""Where texts of a drawing hang from, however they are turned."""

from __future__ import annotations

import math
from types import SimpleNamespace

import ezdxf
import pytest
from shapely import affinity, box

from siteplan.export.drawing.paragraphs import Paragraph
from siteplan.export.drawing.scales import scale_of
from siteplan.export.drawing.texts import add_line, add_paragraph
from siteplan.sheet.model import Polygon, Text
from siteplan.units.systems import METRIC

SCALE = scale_of(SimpleNamespace(unit=METRIC, view=SimpleNamespace(ratio=200.0)))


def text(turn_deg, at=(40.0, 30.0), anchor="left", space="paper"):
    return Text("word", at, 2.5, "text", "0", space, turn_deg, anchor)


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 90.0, -60.0, 180.0])
@pytest.mark.parametrize(("space", "larger"), [("paper", 1.0), ("model", 0.2)])
def test_a_paragraph_hangs_by_the_height_of_its_letters_above_its_base_line(
    turn_deg, space, larger
):
    target = ezdxf.new("R2010").modelspace()
    made = add_paragraph(target, Paragraph((text(turn_deg, space=space),)), {}, SCALE)
    x, y, _ = made.dxf.insert
    high = 2.5 * larger
    turn = math.radians(turn_deg)
    # the way up from a base line that is turned to the left
    assert (x - 40, y - 30) == pytest.approx((-high * math.sin(turn), high * math.cos(turn)))
    assert made.dxf.char_height == pytest.approx(high)
    assert made.dxf.rotation == turn_deg


def test_the_pitch_of_lines_is_told_in_heights_of_five_thirds():
    # DXF Reference, MTEXT, group code 44: a share of the usual spacing, which is 5/3 of the height
    target = ezdxf.new("R2010").modelspace()
    lines = tuple(text(0.0, (40.0, 30.0 - 4.0 * k)) for k in range(3))
    made = add_paragraph(target, Paragraph(lines, 4.0), {}, SCALE)
    assert made.dxf.line_spacing_style == 2
    assert made.dxf.line_spacing_factor * 2.5 * 5 / 3 == pytest.approx(4.0)
    assert made.plain_text(split=True) == ["word"] * 3


@pytest.mark.parametrize("turn_deg", [0.0, 45.0, -90.0])
def test_a_line_stands_on_its_place_and_a_percent_sign_stays_one(turn_deg):
    target = ezdxf.new("R2010").modelspace()
    item = Text("30 %%d", (12.0, 8.0), 3.0, "text", "0", "paper", turn_deg, "left")
    made = add_line(target, item, {}, SCALE)
    # DXF Reference, TEXT: %%% stands for a percent sign; older readers of ezdxf read it otherwise
    assert made.dxf.text.replace("%%%", "%") == "30 %%d"
    assert tuple(made.dxf.insert)[:2] == (12.0, 8.0)
    assert made.dxf.rotation == turn_deg
    assert made.dxf.height == pytest.approx(3.0)


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 90.0, -60.0, 135.0])
@pytest.mark.parametrize(("space", "larger"), [("paper", 1.0), ("model", 0.2)])
def test_a_background_is_as_long_as_its_mask_however_it_is_turned(turn_deg, space, larger):
    # DXF Reference, MTEXT, group code 45: the border around the text, by the height of its letters
    target = ezdxf.new("R2010").modelspace()
    ring = affinity.rotate(box(30, 28, 30 + 24 * larger, 28 + 5 * larger), turn_deg, origin=(0, 0))
    mask = Polygon((tuple(ring.exterior.coords[:-1]),), "mask", "0", space)
    paragraph = Paragraph((text(turn_deg, space=space),), mask=mask)
    made = add_paragraph(target, paragraph, {}, SCALE)
    border = (made.dxf.box_fill_scale - 1) * made.dxf.char_height
    assert made.dxf.width + 2 * border == pytest.approx(24 * larger)
