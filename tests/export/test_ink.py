"""Where ink lies on paper: in the print as another reader sees it, in the picture by its dots."""

import numpy as np
import pytest
from matplotlib.image import imread
from PIL import Image
from pypdf import PdfReader
from shapely import LinearRing

from siteplan.export.image import write_set
from siteplan.export.ink import ink
from siteplan.sheet.model import Hatch, Paper, Polygon, Polyline, Sheet, Symbol, Text, View
from siteplan.sheet.style.text import text_width
from siteplan.units.systems import METRIC

DOTS = 200 / 25.4
"""Dots in a millimetre."""


def sheet_of(*primitives):
    """A sheet of 100 by 80 mm whose window on the plan, at 1:1000, ends 30 mm from the right."""
    view = View(1000.0, "1:1000", 10.0, 10.0, 60.0, 60.0, (0.0, 0.0))
    return Sheet(
        "Größe 道", Paper("X", 100.0, 80.0, 5.0), view, METRIC, primitives, (("0", "text"),)
    )


def text(words, at, **more):
    return Text(words, at, 8.0, "text", "0", "paper", **more)


def drawn(folder, *primitives):
    """Dark dots of the picture, counted from the lower left corner, and the page."""
    sheet = sheet_of(*primitives)
    write_set([sheet], [folder / "a.png"], folder / "a.pdf")
    dark = imread(folder / "a.png")[::-1, :, :3].mean(axis=2) < 0.5
    return dark, PdfReader(folder / "a.pdf").pages[0]


def span(flags):
    """First and last of the flags that are true [mm]."""
    places = np.flatnonzero(flags)
    return places[0] / DOTS, (places[-1] + 1) / DOTS


def test_capitals_of_the_picture_are_as_high_as_they_are_said_to_be(tmp_path):
    dark, _ = drawn(tmp_path, text("HHH", (20.0, 30.0)))
    assert span(dark.any(axis=1)) == pytest.approx((30.0, 38.0), abs=0.15)


@pytest.mark.parametrize(("anchor", "share"), [("left", 0.0), ("center", 0.5), ("right", 1.0)])
def test_text_of_the_picture_stands_where_its_anchor_says(tmp_path, anchor, share):
    dark, _ = drawn(tmp_path, text("HHH", (50.0, 30.0), anchor=anchor))
    start = 50.0 - share * text_width("HHH", 8.0)
    end = start + text_width("HHH", 8.0)
    # an H of DejaVu Sans keeps 201 of 2048 units free on either side
    free = 8.0 * 201 / 1493
    assert span(dark.any(axis=0)) == pytest.approx((start + free, end - free), abs=0.15)


def test_turned_text_of_the_picture_reads_upwards(tmp_path):
    dark, _ = drawn(tmp_path, text("HHH", (50.0, 20.0), angle_deg=90.0))
    # its base line is on the right, its tops on the left
    assert span(dark.any(axis=0)) == pytest.approx((42.0, 50.0), abs=0.15)
    free = 8.0 * 201 / 1493
    rise = text_width("HHH", 8.0)
    assert span(dark.any(axis=1)) == pytest.approx((20.0 + free, 20.0 + rise - free), abs=0.15)


@pytest.mark.parametrize(("anchor", "share"), [("left", 0.0), ("center", 0.5), ("right", 1.0)])
def test_text_of_the_print_starts_where_its_anchor_says(tmp_path, anchor, share):
    _, page = drawn(tmp_path, text("Öl 30°", (50.0, 30.0), anchor=anchor))
    found = []
    page.extract_text(visitor_text=lambda words, _, matrix, *__: found.append((words, matrix)))
    words, matrix = next(one for one in found if one[0].strip())
    assert words.strip() == "Öl 30°"
    start = 50.0 - share * text_width("Öl 30°", 8.0)
    assert matrix[4:6] == pytest.approx((start * 72 / 25.4, 30.0 * 72 / 25.4), abs=0.001)


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 90.0, -50.0])
def test_turned_text_of_the_print_is_turned_and_neither_leans_nor_is_mirrored(tmp_path, angle_deg):
    _, page = drawn(tmp_path, text("HHH", (50.0, 30.0), angle_deg=angle_deg))
    found = []
    page.extract_text(visitor_text=lambda words, _, matrix, *__: found.append((words, matrix)))
    matrix = next(matrix for words, matrix in found if words.strip())
    # a turn to the left as PDF writes it, ISO 32000-1, 8.3.3: cos, sin, -sin, cos
    cosine, sine = np.cos(np.radians(angle_deg)), np.sin(np.radians(angle_deg))
    assert matrix[:4] == pytest.approx((cosine, sine, -sine, cosine), abs=1e-4)


def test_the_print_knows_the_width_of_its_letters(tmp_path):
    _, page = drawn(tmp_path, text("H", (50.0, 30.0)))
    (font,) = page["/Resources"]["/Font"].values()
    # an H is 1540 units of 2048 wide, hmtx table of DejaVu Sans 2.37
    assert [one for one in map(float, font["/Widths"]) if abs(one - 751.95) < 0.01]


def test_lines_of_the_plan_end_at_the_edge_of_the_window_in_the_picture(tmp_path):
    # 100 m to the right of the middle are 100 mm at 1:1000; the window ends at 70 mm
    dark, _ = drawn(tmp_path, Polyline(((0.0, 0.0), (100.0, 0.0)), "property", "0"))
    assert span(dark.any(axis=0)) == pytest.approx((40.0, 70.0), abs=0.15)


def test_a_line_is_as_thick_as_its_style_says(tmp_path):
    dark, _ = drawn(tmp_path, Polyline(((10.0, 40.0), (90.0, 40.0)), "frame", "0", "paper"))
    low, high = span(dark.any(axis=1))
    assert high - low == pytest.approx(0.7, abs=0.15)


def test_a_hole_of_an_area_stays_white(tmp_path):
    outer = ((20.0, 20.0), (60.0, 20.0), (60.0, 60.0), (20.0, 60.0))
    hole = ((30.0, 30.0), (50.0, 30.0), (50.0, 50.0), (30.0, 50.0))
    dark, _ = drawn(tmp_path, Polygon((outer, hole), "ink-fill", "0", "paper"))
    # 40² less 20² square millimetres
    assert dark.sum() / DOTS**2 == pytest.approx(1200.0, rel=0.01)


@pytest.mark.parametrize(("anchor", "share"), [("left", 0.0), ("center", 0.5), ("right", 1.0)])
def test_turned_text_begins_as_far_below_its_place_as_its_anchor_says(anchor, share):
    # turned by 90 degrees text runs upwards
    (letters,) = ink(sheet_of(text("HHH", (50.0, 40.0), angle_deg=90.0, anchor=anchor))).letters
    assert letters.start == pytest.approx((50.0, 40.0 - share * text_width("HHH", 8.0)))


@pytest.mark.parametrize(("outer_turned", "hole_turned"), [(1, 1), (1, -1), (-1, 1), (-1, -1)])
def test_areas_run_counter_clockwise_and_their_holes_against_them(outer_turned, hole_turned):
    outer = ((20.0, 20.0), (60.0, 20.0), (60.0, 60.0), (20.0, 60.0))[::outer_turned]
    hole = ((30.0, 30.0), (50.0, 30.0), (50.0, 50.0), (30.0, 50.0))[::hole_turned]
    (fill,) = ink(sheet_of(Polygon((outer, hole), "ink-fill", "0", "paper"))).marks
    ((first, second),) = fill.areas
    assert LinearRing(first).is_ccw
    assert not LinearRing(second).is_ccw


def test_a_hatch_becomes_lines_of_its_distance():
    square = ((20.0, 20.0), (60.0, 20.0), (60.0, 60.0), (20.0, 60.0))
    hatch = Hatch((square,), "keep-out-hatch", "0", "paper", gap_mm=4.0, angle_deg=0.0)
    (stroke,) = ink(sheet_of(hatch)).marks
    # a line every 4 mm between 20 and 60 mm, the edges left out
    assert [float(line[0, 1]) for line in stroke.lines] == [20.0 + 4 * k for k in range(1, 10)]


@pytest.mark.parametrize("angle_deg", [0.0, 30.0, 45.0, 80.0, 120.0, 170.0])
def test_a_hatch_runs_in_its_direction_and_covers_its_area_evenly(angle_deg):
    square = ((20.0, 20.0), (60.0, 20.0), (60.0, 60.0), (20.0, 60.0))
    hatch = Hatch((square,), "keep-out-hatch", "0", "paper", gap_mm=0.5, angle_deg=angle_deg)
    (stroke,) = ink(sheet_of(hatch)).marks
    steps = np.array([line[-1] - line[0] for line in stroke.lines])
    turns = np.degrees(np.arctan2(steps[:, 1], steps[:, 0]))
    assert np.sin(np.radians(turns - angle_deg)) == pytest.approx(0.0, abs=1e-9)
    # lines so far apart are as long together as the area over their distance
    assert np.hypot(*steps.T).sum() == pytest.approx(40.0 * 40.0 / 0.5, rel=0.02)


@pytest.mark.parametrize("size_mm", [0.5, 1.0, 3.0])
def test_a_symbol_is_as_large_as_it_is_said_to_be_about_its_place(size_mm):
    # a supply well is a circle of that radius, with a wedge in it
    symbol = Symbol("supply-well", (30.0, 40.0), size_mm, "text", "0", "paper")
    strokes = [line for mark in ink(sheet_of(symbol)).marks for line in getattr(mark, "lines", ())]
    places = np.concatenate(strokes)
    away = np.hypot(*(places - (30.0, 40.0)).T)
    assert away.max() == pytest.approx(size_mm, rel=1e-3)


def test_the_picture_says_how_many_dots_it_has_to_the_inch(tmp_path):
    drawn(tmp_path, text("HHH", (20.0, 30.0)))
    with Image.open(tmp_path / "a.png") as picture:
        picture.load()
        assert picture.info["dpi"] == pytest.approx((200.0, 200.0), abs=0.02)


def test_a_title_in_any_script_is_kept_in_the_print(tmp_path):
    drawn(tmp_path, text("HHH", (20.0, 30.0)))
    assert PdfReader(tmp_path / "a.pdf").metadata["/Title"] == "Größe 道"


def test_a_sheet_without_text_is_written_too(tmp_path):
    _, page = drawn(tmp_path, Polyline(((10.0, 40.0), (90.0, 40.0)), "frame", "0", "paper"))
    assert page.extract_text() == ""


@pytest.mark.parametrize("turned", [0.0, 30.0, -75.0])
def test_on_a_turned_plan_words_stay_along_what_they_name(turned):
    # a text along a line of the model runs along that line on paper, however the plan is turned
    view = View(1000.0, "1:1000", 10.0, 10.0, 60.0, 60.0, (0.0, 0.0), turned)
    along = Text("A", (3.0, 2.0), 2.0, "text", "0", "model", angle_deg=20.0)
    reach = np.array([np.cos(np.radians(20.0)), np.sin(np.radians(20.0))])
    line = Polyline(((3.0, 2.0), tuple(np.array([3.0, 2.0]) + 10 * reach)), "text", "0", "model")
    sheet = Sheet("T", Paper("X", 100.0, 80.0, 5.0), view, METRIC, (line, along), (("0", "text"),))
    inked = ink(sheet)
    ((start, end),) = [stroke.lines[0] for stroke in inked.marks if hasattr(stroke, "lines")]
    direction = np.degrees(np.arctan2(*(end - start)[::-1]))
    (letters,) = inked.letters
    assert letters.angle_deg == pytest.approx(direction)
