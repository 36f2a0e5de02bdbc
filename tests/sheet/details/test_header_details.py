"""Details of the header: its section and the way through the wall."""

from dataclasses import replace

import pytest
import sheet_lots
from shapely import LineString, Point, box

from siteplan.layout.header.section import sand_height
from siteplan.layout.model import Header
from siteplan.layout.piping_model import (
    Fittings,
    HeaderPiece,
    HeaderPipe,
    OwnPipes,
    Piping,
)
from siteplan.sheet.details.drafting import PITCH_MM
from siteplan.sheet.details.header import header_block
from siteplan.sheet.details.wall import entering, wall_block
from siteplan.sheet.model import Hatch, Polygon, Polyline, Text
from siteplan.site.model import Entry, Feature

FT = 0.3048
INCH = FT / 12
AT = (30.48, 27.737)


def content_with(*pieces):
    content = sheet_lots.suburban()
    piping = Piping("direct return", "", pieces, 2 * FT, 4 * FT, Fittings(), None, None)
    runs = tuple(LineString([one.start, one.end]) for one in pieces)
    header = Header(runs, Entry("E1", Point(AT)))
    return replace(content, layout=replace(content.layout, header=header, piping=piping))


def piece(*pipes, own=(), east=6.0):
    made = tuple(HeaderPipe(role, size, 0.0) for role, size in pipes)
    return HeaderPiece(AT, (AT[0] + east, AT[1]), abs(east), 0, made, own)


def words(block):
    return " ".join(item.text for item in block.items if isinstance(item, Text))


def pair(size):
    return (("supply", size), ("return", size))


CIR5 = OwnPipes("CIR-5", "3/4 in", 2)


def test_the_section_is_drawn_where_most_pipes_lie_those_of_circuits_counted():
    plain = piece(*pair("1 in"), ("return home", "1 in"))
    shared = piece(*pair("3/4 in"), own=(CIR5,))
    block = header_block(content_with(plain, shared), 150.0, room_mm=120.0)
    assert "4 PIPES: supply 3/4 in, return 3/4 in and 2 of CIR-5" in words(block)
    dots = [item for item in block.items if isinstance(item, Polygon)]
    assert len(dots) == 4 + 1  # and the tracer wire


def test_what_lies_on_the_bottom_of_a_pond_is_no_trench_however_many_its_pipes():
    dug = piece(*pair("1-1/2 in"))
    sunk = piece(*pair("1 in"), ("return home", "1-1/2 in"), east=-6.0)
    content = content_with(dug, sunk)
    water = Feature("pond", "pond", box(AT[0] - 20.0, AT[1] - 5.0, AT[0], AT[1] + 5.0))
    wet = replace(content.site, features=(*content.site.features, water))
    block = header_block(replace(content, site=wet), 150.0, room_mm=120.0)
    assert "2 PIPES: supply 1-1/2 in, return 1-1/2 in" in words(block)


def test_the_sand_of_the_section_is_that_of_the_take_off():
    one = piece(("supply", "4 in"), ("return", "4 in"), ("return home", "6 in"))
    content = content_with(one)
    block = header_block(content, 150.0, room_mm=120.0)
    (sand,) = (item for item in block.items if isinstance(item, Hatch))
    trench = next(i for i in block.items if isinstance(i, Polyline) and i.style == "section-hole")
    high = max(y for _, y in sand.rings[0]) - min(y for _, y in sand.rings[0])
    deep = max(y for _, y in trench.points) - min(y for _, y in trench.points)
    assert high / deep == pytest.approx(sand_height(one, content.layout.piping) / (4 * FT))


@pytest.mark.parametrize(
    ("size", "deep"),
    # 48 in less 3 in of sand and half of 1.05 in or 6.625 in (iron pipe size): 44.475 in and
    # 41.6875 in, rounded down to the eighth of an inch
    [("3/4 in", "3'-8 3/8\""), ("6 in", "3'-5 5/8\"")],
)
def test_the_depth_at_the_wall_is_that_of_the_pipe_at_hand(size, deep):
    found = words(wall_block(content_with(piece(*pair(size))), 150.0, room_mm=120.0))
    assert deep in found


def test_two_pipes_have_two_sleeves():
    found = words(wall_block(content_with(piece(*pair("3/4 in"))), 150.0, room_mm=120.0))
    assert "2 SLEEVES, ONE FOR EACH PIPE" in found
    assert "2 HEADER PIPES BESIDE EACH OTHER" in found


def test_what_names_the_sleeves_in_several_lines_stands_off_what_names_the_pipes():
    block = wall_block(content_with(piece(*pair("3/4 in"))), 100.0, room_mm=120.0)
    heights = {item.text: item.at[1] for item in block.items if isinstance(item, Text)}
    lowest_of_sleeves = next(y for text, y in heights.items() if text.endswith("SIDES"))
    assert "2 SLEEVES, ONE FOR EACH PIPE, SEALED BOTH SIDES" not in heights  # in several lines
    pipes = next(y for text, y in heights.items() if text.startswith("2 HEADER"))
    # lines of one name stand 3.5 mm apart; the next name begins lower by more
    assert lowest_of_sleeves - pipes > PITCH_MM + 1.0


def test_the_opening_in_the_wall_holds_a_large_pipe():
    content = content_with(piece(*pair("6 in")))
    low, high = entering(content, content.layout.piping).opening_m
    assert high - low > 6.625 * INCH


def test_pipes_in_two_rows_are_drawn_in_two_rows():
    # three beside each other on each side of so wide a trench; eight take a second row
    content = content_with(piece(*(("pair", "3/4 in") for _ in range(8))))
    pipes = entering(content, content.layout.piping)
    # 3 in of sand, half of 1.05 in; the second row 1.5 x 1.05 in higher
    assert [middle / INCH for middle, _ in pipes.levels] == pytest.approx([-44.475, -42.9])
    assert "8 HEADER PIPES IN 2 ROWS" in words(wall_block(content, 150.0, room_mm=120.0))


def test_a_circuit_that_begins_at_the_entry_comes_in_with_two_pipes():
    # out and back along both branches: four pipes lie outside, and two come in
    content = content_with(piece(own=(CIR5,)), piece(own=(CIR5,), east=-6.0))
    assert entering(content, content.layout.piping).count == 2
    once = replace(CIR5, count=1)
    content = content_with(piece(own=(once,)), piece(own=(once,), east=-6.0))
    assert entering(content, content.layout.piping).count == 2
