import re
from dataclasses import replace

import pytest
from drawn_once import compose
from legible import sheet_texts
from sheet_lots import FT, rural, suburban, thin_lot, well_pair

from siteplan.sheet.content.setting_out import setting_out
from siteplan.sheet.model import Symbol, Text
from siteplan.sheet.plan_view.exchanger import element_attributes
from siteplan.sheet.style.formats import hundredths
from siteplan.sheet.style.styles import layer
from siteplan.sheet.tables.elements import COORDINATES, EVERYTHING, elements_block, field_corners
from siteplan.units.systems import METRIC, US


def words(content, width=110.0, most=400, detail=EVERYTHING):
    block = elements_block(content, width, most, detail=detail)
    return [item.text for item in block.items if isinstance(item, Text)]


def test_the_header_has_its_length_and_its_points_on_the_sheet():
    found = words(suburban())
    # 9 + hypot(15, 5) = 15.81 + 45 + 6 x 30 = 249.81 ft
    assert "HEADER TRENCH 249.9 ft TO REAR WALL" in found
    row = found.index("H2")
    assert found[row : row + 4] == ["H2", "100.00", "100.00", "BL1"]
    assert re.fullmatch(r"\d\+\d\d\.\d", found[row + 4])


def test_header_points_that_have_room_are_named_on_the_plan():
    sheet = compose(suburban())
    named = {text.text for text in sheet_texts(sheet) if text.space == "model"}
    ticks = [item for item in sheet.of_type(Symbol) if item.layer == layer("header-point")]
    assert ticks
    assert len(ticks) == len({word for word in named if re.fullmatch(r"H\d+", word)} - {"H1"})


def test_of_many_header_points_the_others_are_counted():
    found = " ".join(words(thin_lot()))
    assert "61 others: see summary.json" in found  # of 62 points the entry is listed


def test_both_ends_of_a_trench_are_taped():
    found = words(rural())
    assert {"T1", "T1 end", "TAPE 1", "SIDE"} <= set(found)
    assert {"T1", "T1 end", "TAPE 1", "SIDE"} <= set(words(rural(), width=82.0))


def test_wells_are_taped_even_in_a_narrow_column():
    found = words(well_pair(), width=50.0)
    assert "TAPE 1" in found
    assert found.count("W1") == 2  # coordinates in one table, tapes in another


def test_of_a_large_field_without_base_line_the_corner_bores_are_taped():
    content = suburban(bores=60)
    # ten to a row, six rows
    assert [one.id for one in field_corners(content.layout)] == ["B1", "B10", "B51", "B60"]
    taped = setting_out(content.site, content.layout, 2)
    assert "Corners of the field, taped:" in words(replace(content, staked=taped))


def test_of_a_large_field_the_plan_has_the_pegs_of_its_base_line():
    found = words(suburban(bores=60))
    assert {"PEG", "STATION", "BL1", "BL1 end"} <= set(found)
    assert "Stations and offsets: see stakes.csv." in found


def test_the_frame_is_explained_with_its_origin_and_the_property_corners():
    text = " ".join(words(suburban()))
    assert "Origin: that of the coordinates given" in text
    # the corner at the rear, (216, 188) ft
    assert "E 216.00 N 188.00" in text


def test_what_is_needed_least_is_left_out_first():
    short = words(suburban(), detail=COORDINATES)
    assert "HEADER TRENCH 249.9 ft TO REAR WALL" in short
    assert "B12" in short
    assert "TAPE 1" not in short
    assert "H2" not in short


def test_trench_lengths_add_up_to_their_total():
    lengths = [47.123, 38.456, 12.7891, 30.005]
    shown = [float(text[:-2]) for text in hundredths(lengths, METRIC)]
    # 128.3731 m, rounded down to 128.37
    assert sum(shown) == pytest.approx(128.37)
    assert all(abs(one - other) < 0.01 for one, other in zip(shown, lengths, strict=True))


def test_provided_lengths_are_rounded_down_in_the_drawing():
    bore = replace(suburban().layout.elements[0], depth_m=299.999 * FT)
    assert dict(element_attributes(bore, US))["DEPTH"] == "299.99'"
