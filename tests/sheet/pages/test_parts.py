"""Parts of the plan at a larger scale: all of the exchanger on them, joined at match lines."""

from __future__ import annotations

from contextlib import nullcontext
from dataclasses import replace

import pytest
import shapely
from legible import INSIDE_MM, plot_faults, text_box
from shapely import LineString, Point
from sheet_lots import rural, suburban, thin_lot

from siteplan.sheet.content.content import PART, PLAN, TABLES
from siteplan.sheet.content.header_points import header_points
from siteplan.sheet.model import Polyline, Symbol, Text, View
from siteplan.sheet.pages.compose import compose
from siteplan.sheet.pages.key_plan import key_block
from siteplan.sheet.pages.parting import wants_parts
from siteplan.sheet.pages.parts import (
    Cell,
    Wanted,
    built_shapes,
    match_lines,
    part_sheets,
    parted,
)
from siteplan.sheet.place.exchange import NoRoomError
from siteplan.sheet.plan_view import window
from siteplan.sheet.plan_view.element_names import led_away
from siteplan.sheet.style.paper import paper
from siteplan.sheet.style.plotted import plotted
from siteplan.specification.stockpile import Stockpile
from siteplan.units.systems import METRIC, US

PAGE = paper("A3").shrunk()
WHOLE = View(1000.0, "", 0.0, 0.0, 100.0, 100.0, (0.0, 0.0))
"""An overall plan at 1:1000, north up."""


@pytest.fixture(scope="module")
def parts():
    """The rural lot in the fewest parts that are more than one."""
    return next(way for way in parted(rural(), PAGE, WHOLE) if len(way.cells) > 1)


@pytest.fixture(scope="module")
def sheets(parts):
    content = replace(rural(), titles=(PLAN, *(PART for _ in parts.cells), TABLES))
    return part_sheets(content, PAGE, parts)


def names(sheet) -> list[str]:
    return [text.text for text in sheet.of_type(Text) if text.space == "model"]


def asked(content, parts, **options):
    sheet = replace(content.site.sheet, parts=parts, **options)
    return replace(content, site=replace(content.site, sheet=sheet))


def test_the_cells_cover_everything_that_is_built(parts):
    ground = shapely.union_all([cell.shape for cell in parts.cells])
    assert ground.buffer(1e-6).covers(built_shapes(rural().layout))


@pytest.mark.thorough
def test_every_element_has_its_name_on_a_part(sheets):
    named = {name for sheet in sheets for name in names(sheet)}
    assert {one.id for one in rural().layout.elements} <= named


def test_a_peg_on_a_part_is_the_one_in_the_table(sheets):
    pegs = {peg.name: peg.at for peg in rural().setting_out.pegs}
    assert pegs
    drawn = [
        one
        for sheet in sheets
        for one in sheet.of_type(Symbol)
        if one.name == "peg" and one.mark is not None
    ]
    assert drawn
    for one in drawn:
        assert one.at == pytest.approx(pegs[one.mark.row], abs=1e-6)


@pytest.mark.thorough
def test_ground_for_earth_is_drawn_on_every_part_that_shows_some_of_it(monkeypatch, parts):
    # across the corner where the cells meet
    at = shapely.union_all([cell.shape for cell in parts.cells]).centroid
    pile = Stockpile("spoil", at.buffer(5.0, cap_style="square"), 10.0, 10.0)
    monkeypatch.setattr(window, "stockpiles_of", lambda _: (pile,))
    content = replace(rural(), titles=(PLAN, *(PART for _ in parts.cells), TABLES))
    sheets = part_sheets(content, PAGE, parts)
    assert len(sheets) > 1
    for sheet in sheets:
        styles = [one.style for one in sheet.of_type(Polyline)]
        assert styles.count("stockpile") == 1


def test_a_match_line_names_the_sheet_beyond_and_is_named_by_it(sheets):
    seen = {
        sheet.number: {name.split()[-1] for name in names(sheet) if "MATCH LINE" in name}
        for sheet in sheets
    }
    assert any(seen.values())
    for number, others in seen.items():
        for other in others:
            assert number in seen[other]


def test_pegs_and_points_beyond_a_match_line_have_their_name_on_the_sheet_beyond_it(parts, sheets):
    staked = {peg.name: peg.at for peg in rural().setting_out.pegs}
    staked |= {point.name: point.at for point in header_points(rural().layout)}
    on_line = 0.1
    for name, at in staked.items():
        for cell, sheet in zip(parts.cells, sheets, strict=True):
            # no other cell joins where nothing is built
            others = [other.shape for other in parts.cells if other is not cell]
            within = any(other.buffer(-on_line).contains(Point(at)) for other in others)
            assert not (within and name in names(sheet))


def test_there_is_no_match_line_where_nothing_joins():
    row = [Cell(k, 0, (10.0 * k, 0.0, 10.0 * k + 10.0, 5.0)) for k in range(3)]
    numbers = ("L1A", "L1B", "L1C")
    assert list(match_lines(row, 0, numbers)) == [(((10.0, 0.0), (10.0, 5.0)), "L1B")]
    assert [number for _, number in match_lines(row, 1, numbers)] == ["L1A", "L1C"]


def test_parts_are_larger_than_the_plan_and_can_be_read(parts, sheets):
    assert parts.ratio <= METRIC.drawing.readable
    assert [fault for sheet in sheets for fault in plot_faults(sheet)] == []


def test_parts_are_lettered(sheets):
    assert [sheet.number for sheet in sheets][:2] == ["L1A", "L1B"]


def test_a_plan_that_can_be_read_has_no_parts_unless_they_are_asked_for():
    content = suburban()
    plan = compose(content)
    assert not wants_parts(content, plan)
    assert wants_parts(asked(content, "always"), plan)


def thin_lot_of_few():
    """The thin lot with a few of its sixty trenches, which its scale does not depend on."""
    content = thin_lot()
    few = replace(content.layout, elements=content.layout.elements[:10], header=None)
    return replace(content, layout=few)


@pytest.mark.thorough
def test_a_plan_at_a_small_scale_has_parts_unless_they_are_forbidden():
    content = asked(thin_lot_of_few(), "auto", turned=False)
    plan = compose(content)
    assert plan.view.ratio > US.drawing.readable
    assert wants_parts(content, plan)
    assert not wants_parts(asked(content, "never"), plan)


@pytest.mark.thorough
def test_a_scale_that_was_asked_for_is_no_reason_for_parts():
    content = asked(thin_lot_of_few(), "auto", scale=1200)
    plan = replace(compose(content), unplaced=())
    assert not wants_parts(content, plan)


def test_a_part_in_the_drawing_lies_on_paper_within_its_window(sheets):
    view, flat = sheets[0].view, plotted(sheets[0])
    assert all(item.space == "paper" for item in flat.primitives)
    left, bottom = view.left_mm - 0.1, view.bottom_mm - 0.1
    right, top = left + view.width_mm + 0.2, bottom + view.height_mm + 0.2
    window = shapely.box(left, bottom, right, top)
    own = set(sheets[0].of_type(Polyline))
    lines = [item for item in flat.of_type(Polyline) if item not in own]
    assert lines
    assert all(window.covers(LineString(item.points)) for item in lines)


def test_a_part_in_the_drawing_keeps_the_place_of_every_symbol(sheets):
    before = [item for item in sheets[0].of_type(Symbol) if item.space == "model"]
    places = {tuple(sheets[0].view.to_paper([item.at])[0].round(6)) for item in before}
    after = [item for item in plotted(sheets[0]).of_type(Symbol) if item.style == "trench-center"]
    assert after
    assert {(round(one.at[0], 6), round(one.at[1], 6)) for one in after} <= places


def test_the_key_plan_names_the_streets_of_the_site_file():
    block = key_block(rural(), 80.0)
    words = " ".join(item.text for item in block.items if isinstance(item, Text))
    assert "Street: COUNTY ROAD 12." in words
    assert "the record given" in words


def test_whether_names_have_places_beside_their_bores_is_known_before_any_is_placed():
    layout = suburban().layout
    assert layout.system == "vertical"
    view = View(100.0, "1:100", 0.0, 0.0, 4000.0, 3000.0, (0.0, 0.0))
    # a name is 2.3 mm high: 2 mm between bores are no room for it, 60 mm are
    near, far = (replace(view, ratio=layout.spacing_m * 1000.0 / mm) for mm in (2.0, 60.0))
    assert led_away(near, layout) > len(layout.elements) / 2
    assert led_away(far, layout) == 0


def test_parts_on_which_surely_most_names_are_led_away_are_given_up_at_once():
    content = suburban()
    way = next(parted(content, PAGE, WHOLE))
    content = replace(content, titles=(PLAN, *(PART for _ in way.cells), TABLES))
    # 15 mm from bore to bore: names have room between them, not so at 4 mm
    for mm, led in ((15.0, False), (4.0, True)):
        ratio = round(content.layout.spacing_m * 1000.0 / mm / PAGE.enlargement)
        with pytest.raises(NoRoomError) if led else nullcontext():
            part_sheets(content, PAGE, replace(way, ratio=ratio), wanted=Wanted(most_led=3))


def test_the_key_plan_of_a_small_part_still_shows_the_whole_lot():
    content = rural()
    west, south, east, north = content.site.parcel.bounds
    x, y, wide, high = (west + east) / 2, (south + north) / 2, (east - west) / 10, 2.0
    ring = ((x, y), (x + wide, y), (x + wide, y + high), (x, y + high))
    block = key_block(content, 80.0, [shapely.Polygon(ring)], names=["L1A"], here=0)
    lines = [item.points for item in block.items if isinstance(item, Polyline)]
    lot = max(lines, key=len)
    across, up = (max(at) - min(at) for at in zip(*lot, strict=True))
    # the outline of the parcel, not a piece of it that a window cuts off
    assert across / up == pytest.approx((east - west) / (north - south), rel=0.01)
    assert "L1A" in [item.text for item in block.items if isinstance(item, Text)]


@pytest.mark.parametrize(
    ("lot", "count"), [(rural, 4), pytest.param(thin_lot, 3, marks=pytest.mark.thorough)]
)
def test_no_name_is_struck_through_by_a_match_line(lot, count):
    way = next(way for way in parted(lot(), PAGE, WHOLE) if len(way.cells) >= count)
    content = replace(lot(), titles=(PLAN, *(PART for _ in way.cells), TABLES))
    for sheet in part_sheets(content, PAGE, way):
        lines = [
            LineString(sheet.view.to_paper(item.points))
            for item in sheet.of_type(Polyline)
            if item.style == "match-line" and item.space == "model"
        ]
        assert lines
        named = [text for text in sheet.of_type(Text) if text.space == "model"]
        for text in named:
            box = text_box(text, sheet).buffer(-INSIDE_MM)
            assert not any(box.intersects(line) for line in lines), (sheet.number, text.text)
