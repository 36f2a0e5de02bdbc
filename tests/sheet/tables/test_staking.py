"""Stakes in the tables: pieces of bent trenches, rings, and tapes that a building hides."""

import csv
import io
import re
from dataclasses import replace
from itertools import pairwise

import pytest
import shapely
import sheet_lots
from shapely import LineString, box

from siteplan.export.tables import elements_csv
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.layout.trenches.fit import fit_trenches
from siteplan.sheet.content.setting_out import setting_out
from siteplan.sheet.content.stakes import SettingOut, Stake, Tape
from siteplan.sheet.model import Text
from siteplan.sheet.style.text import text_width
from siteplan.sheet.tables.elements import elements_block
from siteplan.sheet.tables.separations import separations_block
from siteplan.sheet.tables.setting_out import setting_cells, setting_words
from siteplan.sheet.tables.staking import staking_block, staking_tables
from siteplan.units.systems import METRIC, US


@pytest.fixture(scope="module")
def rings():
    """A metric lot with three rings, without bends in its straight trenches."""
    lines = fit_trenches(box(20, 40, 42.5, 58.5), 3.0, shortest=15.0, shape="best")
    trenches = [Trench(f"T{k}", line, 0.6, 1.5, 2) for k, line in enumerate(lines, 1)]
    content = sheet_lots.rural()
    layout = replace(content.layout, elements=tuple(trenches), header=None)
    return replace(content, layout=layout)


def texts(block):
    return [item.text for item in block.items if isinstance(item, Text)]


@pytest.mark.parametrize(
    ("away_m", "wet", "said"),
    # 150 ft are 45.72 m
    [(45.72, False, "A 45.72 m"), (45.74, False, "A 45.74 m*"), (10.0, True, "A 10.00 m~")],
)
def test_a_tape_that_is_long_or_over_water_is_marked(away_m, wet, said):
    stake = Stake("B1", (0.0, 0.0), (Tape("A", away_m, wet), Tape("B", 10.0)), "N")
    out = SettingOut(stakes=(stake,))
    assert setting_cells(stake, out, METRIC) == (said, "B 10.00 m", "N")


def test_what_is_marked_is_explained_and_coordinates_are_offered():
    stakes = (
        Stake("B1", (0.0, 0.0), (Tape("A", 50.0, True), Tape("B", 10.0)), "N"),
        Stake("B2", (0.0, 0.0)),
    )
    told = setting_words(SettingOut(stakes=stakes), US)
    assert "* over 150': set by total station" in told
    assert "~ over water: set by total station" in told
    assert "No two own corners tie B2 under 30 to 150°: set by total station" in told


def test_a_station_and_an_offset_stand_where_tapes_would():
    # 25 ft along and 12 ft to the left
    stake = Stake("B1", (0.0, 0.0), line="BL1", station_m=7.62, offset_m=3.6576)
    assert setting_cells(stake, SettingOut(stakes=(stake,)), US) == ("BL1", "0+25.0", "12.0' L")


def test_a_bend_is_told_by_tangent_points_radius_centre_and_angle():
    # quarter of 2 m about (10, 2), drawn with chords of 9 degrees: from (10, 0) to (12, 2)
    turns = [shapely.affinity.rotate(shapely.Point(10, 0), 9 * k, (10, 2)) for k in range(11)]
    line = LineString([(0, 0), *((at.x, at.y) for at in turns), (12, 9)])
    wide, _ = staking_tables([Trench("T1", line, 0.6, 1.5, 2)], METRIC)
    first, bend, last = wide.rows
    # length of the arc: 2 x pi / 2 = 3.14 m
    assert bend == (
        "T1.2", "10.00", "0.00", "12.00", "2.00", "3.14 m", "2.00 m", "10.00", "2.00", "90.0° L",
    )  # fmt: skip
    assert first[5:] == ("10.00 m", "", "", "", "")
    assert last[:5] == ("T1.3", "12.00", "2.00", "12.00", "9.00")


def test_straight_trenches_need_no_table_of_pieces():
    assert staking_block(sheet_lots.rural(), 150.0) is None


def test_every_ring_is_staked_by_a_tenth_of_its_points(rings):
    found = texts(staking_block(rings, 160.0))
    for trench in rings.layout.elements:
        count = sum(text.startswith(f"{trench.id}.") for text in found)
        assert 8 <= count <= 10 < len(trench.line.coords) / 5


def test_more_pieces_than_there_is_room_for_are_counted(rings):
    found = " ".join(texts(staking_block(rings, 160.0, 5)))
    pieces = len(staking_tables(rings.layout.elements, METRIC)[0].rows)
    assert f"{pieces - 5} more: see elements.csv." in found


def test_a_ring_says_that_it_is_one_and_how_long_around(rings):
    found = texts(elements_block(rings, 160.0, 60))
    assert found.count("ring") == len(rings.layout.elements)
    assert "Length of a ring: its circumference" in " ".join(found)


def test_the_csv_lists_straight_pieces_and_arcs_in_order(rings):
    (first, *_) = csv.DictReader(io.StringIO(elements_csv(rings.site, rings.layout)))
    pieces = first["pieces_m"].split("; ")
    assert len(pieces) <= 10
    assert sum(piece.startswith("arc to ") for piece in pieces) == 4
    assert all(piece.split(" ")[0] in ("arc", "straight") for piece in pieces)


def test_the_last_piece_of_a_ring_ends_where_the_ring_begins(rings):
    (first, *_) = csv.DictReader(io.StringIO(elements_csv(rings.site, rings.layout)))
    words = first["pieces_m"].split("; ")[-1].split(" ")
    assert words[2:4] == [first["easting_m"], first["northing_m"]]


def test_a_straight_trench_has_no_pieces_in_the_csv():
    content = sheet_lots.rural()
    rows = list(csv.DictReader(io.StringIO(elements_csv(content.site, content.layout))))
    assert {row["pieces_m"] for row in rows} == {""}


def test_an_arc_in_the_csv_has_its_centre_radius_and_angle():
    turns = [shapely.affinity.rotate(shapely.Point(10, 0), 9 * k, (10, 2)) for k in range(11)]
    line = LineString([(0, 0), *((at.x, at.y) for at in turns), (12, 9)])
    layout = Layout("horizontal", (Trench("T1", line, 0.6, 1.5, 2),), None, 3.0, 0.0)
    (row,) = csv.DictReader(io.StringIO(elements_csv(sheet_lots.rural().site, layout)))
    assert row["pieces_m"] == (
        "straight to 10.000 0.000; arc to 12.000 2.000 centre 10.000 2.000 radius 2.000 "
        "angle 90.00 left; straight to 12.000 9.000"
    )


@pytest.mark.parametrize("width", [80.0, 110.0, 160.0])
def test_no_table_of_pieces_is_wider_than_its_column(rings, width):
    assert overlaps(staking_block(rings, width)) == []


def test_distances_that_are_kept_do_not_look_short_by_rounding():
    # 10 ft are 3.048 m: asked for and kept, to two decimals 3.05 m and 3.04 m
    content = sheet_lots.rural()
    ten = replace(content.separations[0], provided_m=3.048)
    found = texts(separations_block(replace(content, separations=(ten,)), 120.0))
    assert found.count("3.048 m") == 2


def test_all_distances_of_a_table_have_as_many_decimals():
    found = texts(separations_block(sheet_lots.rural(), 120.0))
    decimals = {
        len(text[:-2].partition(".")[2]) for text in found if re.fullmatch(r"[\d.]+ m", text)
    }
    assert len(decimals) == 1


@pytest.mark.parametrize("width", [80.0, 110.0, 160.0])
def test_tapes_from_several_points_keep_clear_of_one_another(width):
    content = sheet_lots.rural()
    # trenches all around a house that hides much: two points do not do
    lines = [LineString([(16, y), (42, y)]) for y in (14, 36)]
    trenches = tuple(Trench(f"T{k}", line, 0.6, 1.5, 2) for k, line in enumerate(lines, 1))
    layout = replace(content.layout, elements=trenches, header=None)
    assert len(setting_out(content.site, layout).ties) >= 3
    assert overlaps(elements_block(replace(content, layout=layout), width, 60)) == []


def overlaps(block):
    """Pairs of texts on one line that run into each other."""
    found = []
    lines = {}
    for one in block.items:
        if isinstance(one, Text):
            size = text_width(one.text, one.height_mm, bold=one.bold)
            left = one.at[0] - {"left": 0.0, "center": size / 2, "right": size}[one.anchor]
            lines.setdefault(round(one.at[1], 2), []).append((left, left + size, one.text))
    for spans in lines.values():
        spans.sort()
        found += [(a[2], b[2]) for a, b in pairwise(spans) if a[1] > b[0] + 1e-6]
    return found
