"""What the sheets say once and the same everywhere: figures, references, names of things."""

from __future__ import annotations

import re
from dataclasses import replace

import pytest
from legible import text_box
from planned import full_set
from shapely import LineString, Point, Polygon, box
from sheet_lots import rule, rural, suburban, thin_lot

from siteplan.layout.model import Header
from siteplan.sheet.content.content import DETAILS, PLAN, TABLES
from siteplan.sheet.model import Sheet, Text, View
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.plan_view.features import draw_feature, label_features
from siteplan.sheet.plan_view.limits import setback_name
from siteplan.sheet.plan_view.measures import shown_decimals
from siteplan.sheet.style.paper import paper
from siteplan.sheet.tables.elements import elements_block, header_title
from siteplan.sheet.tables.notes import notes
from siteplan.sheet.tables.separations import separation_table
from siteplan.site.model import Entry, Feature
from siteplan.units.systems import METRIC, US


def block_words(block) -> str:
    return " ".join(item.text for item in block.items if isinstance(item, Text))


def test_elements_left_out_are_looked_up_on_the_sheet_of_tables():
    content = replace(thin_lot(), titles=(PLAN, DETAILS, TABLES))
    assert "54 more: see sheet L3" in block_words(elements_block(content, 100.0, 6))


def test_without_tables_they_are_looked_up_in_their_file():
    assert "54 more: see elements.csv" in block_words(elements_block(thin_lot(), 100.0, 6))


def test_a_header_that_runs_through_a_pond_says_what_of_it_is_dug():
    # 100 ft in all, 60 ft of it trench, so 40 ft lie on the bottom
    header = Header((LineString([(0, 0), (30.48, 0)]),), Entry("E1", Point(0, 0)), ())
    title = header_title(header, US, dug_m=18.288)
    assert "HEADER 100.0 ft TO ENTRY E1: 60.0 ft IN A TRENCH, 40.0 ft ON THE BOTTOM" in title


def test_a_distance_that_is_just_kept_has_one_form_in_table_and_plan():
    # 10 ft are 3.048 m: with two decimals 3.04 would be provided where 3.05 are required
    kept = replace(
        rural().separations[0], rule=rule("property line", "trench", 10, 1), provided_m=3.048
    )
    content = replace(rural(), separations=(kept,))
    assert shown_decimals(content) == 3
    assert setback_name(kept.rule, METRIC, 3) == "3.048 m PROPERTY LINE SETBACK"


def test_a_depth_of_water_that_is_just_kept_makes_no_distance_on_the_plan_longer():
    # 8 ft are 2.4384 m: 0.01 mm more of water is told by five decimals, in its own row alone
    first = rural().separations[0]
    deep = replace(first, rule=rule("water depth", "coil", 8, 1), provided_m=2.438410)
    content = replace(rural(), separations=(replace(first, provided_m=30.0), deep))
    assert shown_decimals(content) == METRIC.sign_decimals
    required, provided = (row[1:3] for row in separation_table(content).rows)
    assert all(len(text.partition(".")[2].removesuffix(" m")) == 2 for text in required)
    assert provided == ("2.4384 m", "2.4384 m")


def test_the_note_on_trenches_of_a_bore_field_speaks_of_its_header_alone():
    found = [note for note in notes(suburban()) if "protective system" in note]
    assert len(found) == 1
    assert found[0].startswith("Header trench")
    assert any(note.startswith("Trenches 5 ft") for note in notes(thin_lot()))


@pytest.fixture
def walk_at_a_house():
    """A house on open ground with a walk of a metre along its wall, at 1:200."""
    house = Feature("house", "building", box(0, 0, 20, 12), "House")
    walk = Feature("walk", "driveway", Polygon([(8, -1), (12, -1), (12, 0), (8, 0)]), "Walk")
    view = View(200.0, "1:200", 0.0, 0.0, 300.0, 200.0, (10.0, 5.0))
    canvas = Canvas(view, METRIC)
    for feature in (house, walk):
        draw_feature(canvas, feature, METRIC)
    label_features(canvas, replace(rural().site, features=(house, walk)))
    return Sheet("t", paper("A3"), view, METRIC, tuple(canvas.primitives), ())


def test_the_name_of_a_walk_does_not_stand_in_the_house(walk_at_a_house):
    (name,) = (one for one in walk_at_a_house.of_type(Text) if one.text == "WALK")
    house = Polygon(walk_at_a_house.view.to_paper([(0, 0), (20, 0), (20, 12), (0, 12)]))
    assert not text_box(name, walk_at_a_house).intersects(house)


def test_the_depth_of_a_header_trench_is_the_same_in_section_notes_and_take_off():
    # 4 ft are 1.2192 m: 1.21 in one place and 1.22 in another are two depths
    texts = [text.text for sheet in full_set("good-aquifer") for text in sheet.of_type(Text)]
    told = {word for text in texts for word in re.findall(r"\b1\.2\d+(?= m\b)", text)}
    assert told == {"1.22"}
