from dataclasses import replace

import pytest
import shapely
from campaign import thorough
from drawn_once import compose_set
from legible import plot_faults
from sheet_lots import (
    FT,
    composed,
    crowded,
    failing,
    pond_farm,
    rural,
    suburban,
    thin_lot,
    well_pair,
)

from siteplan.sheet.model import Polygon as Fill
from siteplan.sheet.model import Polyline, Text
from siteplan.site.sheet_options import SheetOptions

SHEETS = {
    "suburban": suburban,
    "suburban on Arch D": lambda: suburban(sheet=SheetOptions("Arch D")),
    "suburban, 60 bores on Arch D": lambda: suburban(sheet=SheetOptions("Arch D"), bores=60),
    "rural": rural,
    "rural on ANSI D": lambda: rural(sheet=SheetOptions("ANSI D")),
    "rural on A1": lambda: rural(sheet=SheetOptions("A1")),
    "pond farm": pond_farm,
    "pond farm on ANSI D": lambda: pond_farm(sheet=SheetOptions("ANSI D")),
    "well pair": well_pair,
    "failing": failing,
    "thin lot with sixty trenches": thin_lot,
    "seventeen things close together": lambda: crowded(17),
    "twenty-six things close together": crowded,
}


@pytest.mark.thorough
def test_what_has_no_room_at_a_scale_that_is_asked_for_is_shown_larger():
    sheets = compose_set(suburban(sheet=SheetOptions("ANSI B", 720)))
    assert "PART OF PLAN" in [sheet.name for sheet in sheets]
    assert [plot_faults(sheet) for sheet in sheets] == [()] * len(sheets)


LONG = ("thin lot with sixty trenches", "twenty-six things close together")


@pytest.mark.parametrize("name", [thorough(name) if name in LONG else name for name in SHEETS])
def test_a_plotted_sheet_has_no_faults(name):
    found = plot_faults(composed(SHEETS[name]))
    if SHEETS[name] is crowded:
        # more names than room: rather than lose one, one leader runs along another
        assert sum(fault.code == "leaders side by side" for fault in found) <= 1
        found = tuple(fault for fault in found if fault.code != "leaders side by side")
    assert found == ()


def planted(text):
    sheet = composed(suburban)
    return replace(sheet, primitives=(*sheet.primitives, text))


def codes(sheet):
    return {fault.code for fault in plot_faults(sheet)}


def test_small_text_is_found():
    text = Text("TINY", (20.0, 255.0), 1.9, "text", "0", "paper")
    assert "text too small" in codes(planted(text))


def test_text_on_text_is_found():
    sheet = composed(suburban)
    first = next(item for item in sheet.of_type(Text) if item.space == "paper")
    assert "text on text" in codes(planted(replace(first, at=(first.at[0] + 1, first.at[1]))))


def test_text_that_runs_out_of_the_frame_is_found():
    text = Text("OUTSIDE OF EVERYTHING", (400.0, 20.0), 2.5, "text", "0", "paper")
    assert "text outside frame" in codes(planted(text))


def test_plan_text_that_runs_into_the_strip_is_found():
    sheet = composed(suburban)
    edge = sheet.view.left_mm + sheet.view.width_mm
    at = tuple(sheet.view.to_model([(edge - 5.0, 260.0)])[0])
    assert "text outside frame" in codes(planted(Text("RUNS OVER", at, 2.5, "text", "0")))


def test_a_line_through_text_of_the_plan_is_found_unless_a_mask_wipes_it():
    sheet = composed(suburban)
    bore = suburban().layout.elements[4]
    at = (bore.x_m, bore.y_m + 2.0)
    text = Text("B99", at, 2.5, "text", "0", anchor="center")
    line = Polyline(((at[0] - 3.0, at[1] + 0.3), (at[0] + 3.0, at[1] + 0.3)), "setback", "0")
    box = shapely.box(at[0] - 4.0, at[1] - 1.0, at[0] + 4.0, at[1] + 1.5)
    mask = Fill((tuple(box.exterior.coords[:-1]),), "mask", "0")
    for more, found in (((text, line), True), ((text, line, mask), False)):
        faults = plot_faults(replace(sheet, primitives=(*sheet.primitives, *more)))
        inked = {fault.text for fault in faults if fault.code == "ink through text"}
        assert ("B99" in inked) is found


def test_text_on_a_symbol_is_found():
    bore = suburban().layout.elements[4]
    text = Text("X", (bore.x_m, bore.y_m), 2.5, "text", "0", anchor="center")
    assert "text on symbol" in codes(planted(text))


def test_a_label_that_found_no_place_is_reported():
    sheet = replace(composed(suburban), unplaced=("B7",))
    assert [fault.text for fault in plot_faults(sheet)] == ["B7"]


@pytest.mark.parametrize("corner", [(0.0, 160.0), (45.0, 55.0)])
def test_a_label_on_a_property_line_or_on_the_edge_of_a_building_is_found(corner):
    at = (corner[0] * FT, corner[1] * FT)
    text = Text("X", at, 2.5, "text", "0", anchor="center")
    assert "label over property line or building edge" in codes(planted(text))
