"""Notes, tables, labels and the title block of the drawing, as a drafter edits them.

Group codes are those of the DXF reference of the format's publisher (R2013, from memory).
"""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import ezdxf
import pytest
from drawings import drawing_of
from drawn_texts import texts_in
from ezdxf.math import Vec2
from hypothesis import given
from hypothesis import strategies as st
from sheet_lots import composed, pond_farm, rural, suburban, well_pair

from siteplan.export.drawing.boxes import Boxed, boxed
from siteplan.export.drawing.paragraphs import Led, Paragraph, gathered
from siteplan.export.drawing.written import written
from siteplan.export.dxf import write_dxf
from siteplan.sheet.model import Polygon, Polyline, Sheet, Text
from siteplan.sheet.style.text import text_width

LOTS = [suburban, rural, pond_farm, well_pair]


@pytest.fixture(scope="module", params=LOTS, ids=lambda lot: lot.__name__)
def drawing(request: Any) -> tuple[Sheet, Any]:
    return drawing_of(request.param)


# --- paragraphs


def test_a_note_of_several_lines_is_one_paragraph(drawing):
    sheet, doc = drawing
    lines = [one.text for one in sheet.of_type(Text) if one.mark and one.mark.column == "note-1"]
    assert len(lines) > 1
    found = [one for one in doc.layout("PLAN").query("MTEXT") if lines[0] in one.plain_text()]
    assert [one.plain_text(split=True) for one in found] == [lines]


def test_lines_of_a_paragraph_stand_where_the_sheet_has_them(drawing):
    sheet, doc = drawing
    unit = sheet.unit.drawing.paper_unit_mm
    wanted = {
        (one.text, round(one.at[0], 2), round(one.at[1], 2))
        for one in sheet.of_type(Text)
        if one.space == "paper" and one.mark is not None and one.mark.block == "notes"
    }
    found = set()
    for one in doc.layout("PLAN").query("MTEXT"):
        height = one.dxf.char_height * unit
        # 44: distance of base lines in 5/3 of the height; 73 = 2: exactly so
        pitch = height * 5 / 3 * one.dxf.line_spacing_factor
        lines = one.plain_text(split=True)
        assert one.dxf.line_spacing_style == 2 or len(lines) == 1
        # 71 = 1, 2, 3: hangs from the top of the first line
        assert one.dxf.attachment_point in (1, 2, 3)
        x, top = one.dxf.insert.x * unit, one.dxf.insert.y * unit
        for number, text in enumerate(lines):
            found.add((text, round(x, 2), round(top - height - number * pitch, 2)))
    assert wanted <= found


def test_no_program_has_reason_to_break_a_line_once_more(drawing):
    sheet, doc = drawing
    for space in (doc.modelspace(), doc.layout("PLAN")):
        for text in texts_in(space):
            if text.dxftype() != "MTEXT":
                continue
            bold = text.dxf.style == "PLAN-BOLD"
            for line in text.plain_text(split=True):
                # 41: the width that the text is broken to
                assert text_width(line, text.dxf.height, bold=bold) < text.dxf.width
    assert sheet.primitives


@cache
def empty():
    """A drawing, to which paragraphs are added."""
    return ezdxf.new()


@given(st.lists(st.text(st.characters(codec="utf-8", exclude_categories=["C", "Z"]), min_size=1)))
def test_any_signs_are_read_as_they_were_written(lines):
    text = empty().modelspace().add_mtext(written([line.replace("%%", "%") for line in lines]))
    assert text.plain_text() == "\n".join(line.replace("%%", "%") for line in lines)


def test_an_empty_line_keeps_its_place_within_a_paragraph(tmp_path):
    sheet = composed(suburban)
    like = next(one for one in sheet.of_type(Text) if one.mark and one.mark.column == "note-1")
    pitch = 1.6 * like.height_mm
    more = tuple(
        replace(like, text=text, at=(3.0, 40.0 - k * pitch), mark=None)
        for k, text in enumerate(["above", "", "below"])
    )
    nothing = replace(like, text="", at=(3.0, 90.0), mark=None)
    whole = replace(sheet, primitives=(*sheet.primitives, *more, nothing))
    write_dxf(whole, tmp_path / "plan.dxf")
    notes = ezdxf.readfile(tmp_path / "plan.dxf").layout("PLAN").query("MTEXT")
    said = [one.plain_text(split=True) for one in notes]
    assert ["above", "", "below"] in said
    # a cell without a figure is no text
    assert not [lines for lines in said if not any(lines)]


# --- labels with masks and leaders


def test_a_mask_is_the_background_of_its_text_and_no_wider_than_the_sheets(drawing):
    sheet, _ = drawing
    masks = [one for one in sheet.of_type(Polygon) if "mask" in one.style]
    found = gathered(sheet)
    own = [one for one in found.things if isinstance(one, Paragraph) and one.mask is not None]
    # every mask belongs to one text
    assert len(own) + len(found.masked) == len(masks)
    assert not [one for one in found.things if isinstance(one, Polygon) and "mask" in one.style]


def test_the_background_reaches_as_far_as_the_mask_of_the_sheet(drawing):
    sheet, doc = drawing
    metres = sheet.unit.metres
    wide = {}
    for one in gathered(sheet).things:
        if isinstance(one, Paragraph) and one.mask and one.lines[0].space == "model":
            angle = math.radians(one.lines[0].angle_deg)
            along = [x * math.cos(angle) + y * math.sin(angle) for x, y in one.mask.rings[0]]
            text = " ".join(line.text for line in one.lines)
            wide.setdefault(text, []).append((max(along) - min(along)) / metres)
    for text in texts_in(doc.modelspace()):
        if text.dxftype() == "MTEXT" and text.dxf.get("bg_fill", 0):
            # 45: the border is so many heights less one wide, on every side
            border = (text.dxf.box_fill_scale - 1.0) * text.dxf.height
            reach = text.dxf.width + 2 * border
            assert any(reach == pytest.approx(one) for one in wide[text.text])


def test_the_figure_of_a_dimension_has_a_background_where_the_sheet_has_a_mask(drawing):
    sheet, doc = drawing
    # DIMTFILL = 1: filled in the colour of the screen
    filled = [one.override().get("dimtfill", 0) for one in doc.modelspace().query("DIMENSION")]
    assert filled.count(1) == len(gathered(sheet).masked)
    assert set(filled) <= {0, 1}


def test_nothing_of_what_is_named_lies_under_a_background(drawing):
    _, doc = drawing
    # in drawing order: leaders, symbols and dimensions come after what is wiped
    kinds = [one.dxftype() for one in doc.modelspace()]
    wiped = [
        number
        for number, one in enumerate(doc.modelspace())
        if one.dxftype() == "MTEXT" and one.dxf.get("bg_fill", 0)
    ]
    assert wiped
    for kind in ("LEADER",):
        assert not [n for n, one in enumerate(kinds) if one == kind and n < max(wiped)]


def test_a_leader_goes_with_its_text(drawing):
    sheet, doc = drawing
    leaders = list(doc.modelspace().query("LEADER"))
    drawn = [one for one in sheet.of_type(Polyline) if one.style == "leader"]
    assert len(leaders) == len(drawn) > 0
    labels = {id(one.path): one.label for one in gathered(sheet).things if isinstance(one, Led)}
    for leader, path in zip(leaders, drawn, strict=True):
        # the first vertex is the tip of the arrow
        tip = Vec2(leader.vertices[0]) * sheet.unit.metres
        assert math.dist(tip, path.points[-1]) < 1e-6
        label = labels[id(path)]
        if label is None:
            # the figure of a dimension is no text of its own: 73 = 3, without annotation
            assert leader.dxf.layer == "M-GHEX-DIMS-N"
            assert leader.dxf.annotation_type == 3
            continue
        # 73 = 0: with text; 340: which
        assert leader.dxf.annotation_type == 0
        text = doc.entitydb[leader.dxf.annotation_handle]
        assert text.plain_text(split=True) == [line.text for line in label.lines]
        assert leader.dxf.handle in text.reactors
        assert text.dxf.layer == leader.dxf.layer


def test_what_a_leader_leads_from_is_the_text_next_to_it(drawing):
    sheet, doc = drawing
    for leader in doc.modelspace().query("LEADER"):
        if leader.dxf.annotation_type == 0:
            own = doc.entitydb[leader.dxf.annotation_handle]
            foot = Vec2(leader.vertices[-1])
            others = [
                one
                for one in doc.modelspace().query("MTEXT")
                if one is not own and one.dxf.layer == own.dxf.layer
            ]
            nearest = min(middle_of(one).distance(foot) for one in [own, *others])
            near_mm = nearest * sheet.unit.metres * 1000 / sheet.view.ratio
            own_mm = middle_of(own).distance(foot) * sheet.unit.metres * 1000 / sheet.view.ratio
            # a long label has its middle farther off than a short neighbour
            assert own_mm <= near_mm + own.dxf.width * sheet.unit.metres * 500 / sheet.view.ratio


def middle_of(text: Any) -> Any:
    down = Vec2.from_deg_angle(text.get_rotation() - 90.0)
    return text.dxf.insert.vec2 + down * text.dxf.char_height / 2


# --- tables and title block


def test_a_table_is_one_block_with_all_its_cells_and_rules(drawing):
    sheet, doc = drawing
    tables = [i for i in doc.layout("PLAN").query("INSERT") if i.dxf.name.startswith("TABLE-")]
    assert tables
    cells = [
        one
        for one in sheet.of_type(Text)
        if one.space == "paper" and one.mark and one.mark.row and one.mark.block == "separations"
    ]
    own = [i for i in tables if i.dxf.name.startswith("TABLE-L1-SEPARATIONS-")]
    said = [
        line for i in own for t in i.block().query("MTEXT") for line in t.plain_text(split=True)
    ]
    for one in cells:
        assert one.text in said
    rows = len({one.mark.row for one in cells if one.mark})
    rules = [line for i in own for line in i.block().query("LWPOLYLINE")]
    # one under each row and one under the head of each part
    assert len(rules) == rows + len(own)
    for i in own:
        # it hangs where it was drawn, from its upper left corner
        assert i.dxf.insert.isclose(i.block().block.dxf.base_point)
        assert i.get_attrib_text("ELEMENT") == ""


def test_cells_are_in_no_table_twice_and_none_is_lost():
    sheet = composed(rural)
    things = gathered(sheet).things
    found = boxed(things, "L1")
    inside = [one for box in found if isinstance(box, Boxed) for one in box.things]
    outside = [one for one in found if not isinstance(one, Boxed)]
    assert sorted(map(id, [*inside, *outside])) == sorted(map(id, things))
    names = [one.name for one in found if isinstance(one, Boxed)]
    assert len(names) == len(set(names))
    # pieces of a table are counted from 1
    tables = [name.rpartition("-") for name in names if name.startswith("TABLE")]
    for stem in {stem for stem, *_ in tables}:
        assert not stem.endswith("-")
        numbers = [int(number) for one, _, number in tables if one == stem]
        assert numbers == list(range(1, len(numbers) + 1))


def test_the_title_block_is_filled_in_by_its_attributes(drawing):
    sheet, doc = drawing
    (title,) = (i for i in doc.layout("PLAN").query("INSERT") if i.dxf.name == "TITLE-L1")
    said = {one.dxf.tag: one.dxf.text for one in title.attribs}
    asked = {one.dxf.tag: one for one in title.block().query("ATTDEF")}
    # 2: the tag, alike in definition and reference
    assert set(said) == set(asked)
    assert {"TITLE", "OWNER", "ADDRESS", "SCALE", "DATE", "SHEET", "DRAWN", "CHECKED"} <= set(said)
    assert said["TITLE"] in sheet.title
    assert said["SCALE"] == sheet.view.label
    # 7: a style of the drawing's own table, bold where the sheet has such a text in bold
    faces = {(one.text, one.bold) for one in sheet.of_type(Text) if one.space == "paper"}
    for one in title.attribs:
        font = doc.styles.get(one.dxf.style).dxf.font
        assert (one.dxf.text, "bold" in font.lower()) in faces
    assert all(not one.is_invisible for one in title.attribs)
    assert all(one.dxf.prompt for one in asked.values())
