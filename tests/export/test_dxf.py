import math
import os
import subprocess
import sys
from dataclasses import replace
from itertools import pairwise

import ezdxf
import pytest
from drawings import drawing_of, text_of
from drawn_once import compose
from drawn_texts import texts_in
from places import ROOT
from sheet_lots import FT, pond_farm, rural, suburban, thin_lot, well_pair

from siteplan.export.dxf import write_dxf
from siteplan.sheet.content.content import PLAN, TABLES
from siteplan.sheet.model import Dimension, Polygon, Text
from siteplan.sheet.style.styles import layer
from siteplan.units.systems import US

MILLIMETRE_FT = 0.001 / FT
LOTS = [suburban, rural, pond_farm, well_pair]


def written(lot, folder, *, plain=False, **options):
    if not options and not plain:
        return drawing_of(lot)
    sheet = compose(lot(**options))
    path = folder / "plan.dxf"
    write_dxf(sheet, path)
    return sheet, ezdxf.readfile(path)


@pytest.fixture(scope="module")
def drawing():
    return drawing_of(suburban)


def test_a_drawing_holds_no_clock_and_no_number_made_by_chance():
    lines = text_of(suburban).splitlines()
    told = {name: lines[place + 2] for place, name in enumerate(lines) if name.startswith("$")}
    # noon of 1 January 2000 is the Julian date 2451545
    assert {told["$TDCREATE"], told["$TDUPDATE"]} == {"2451545.0"}
    assert not set(told["$FINGERPRINTGUID"] + told["$VERSIONGUID"]) & set("123456789ABCDEF")


def on_layer(doc, role, kind):
    return doc.modelspace().query(f'{kind}[layer=="{layer(role)}"]')


@pytest.mark.parametrize("lot", LOTS)
def test_an_audit_finds_nothing_to_complain_of(lot, tmp_path):
    _, doc = written(lot, tmp_path)
    audit = doc.audit()
    assert (audit.errors, audit.fixes) == ([], [])


def test_every_bore_is_found_on_its_layer_within_a_millimetre(drawing):
    _, doc = drawing
    inserts = {
        insert.get_attrib_text("ELEMENT"): insert.dxf.insert
        for insert in on_layer(doc, "bore", "INSERT")
    }
    bores = suburban().layout.elements
    assert set(inserts) == {bore.id for bore in bores}
    for bore in bores:
        at = inserts[bore.id]
        assert math.hypot(at.x - bore.x_m / FT, at.y - bore.y_m / FT) < MILLIMETRE_FT


def test_every_trench_is_found_on_its_layer_within_a_millimetre(tmp_path):
    _, doc = written(rural, tmp_path)
    lines = [list(line.get_points("xy")) for line in on_layer(doc, "trench", "LWPOLYLINE")]
    trenches = rural().layout.elements
    assert len(lines) == len(trenches)
    for line, trench in zip(lines, trenches, strict=True):
        for drawn, laid in zip(line, trench.line.coords, strict=True):
            assert math.dist(drawn, laid) < 0.001


@pytest.mark.parametrize(("lot", "role"), [(pond_farm, "coil"), (well_pair, "well")])
def test_coils_and_wells_are_found_on_their_layer_within_a_millimetre(lot, role, tmp_path):
    _, doc = written(lot, tmp_path)
    drawn = {i.get_attrib_text("ELEMENT"): i.dxf.insert for i in on_layer(doc, role, "INSERT")}
    elements = lot().layout.elements
    assert set(drawn) == {element.id for element in elements}
    for element in elements:
        at = drawn[element.id]
        assert math.hypot(at.x - element.x_m / FT, at.y - element.y_m / FT) < MILLIMETRE_FT


def test_a_coil_keeps_its_true_size(tmp_path):
    _, doc = written(pond_farm, tmp_path)
    insert = on_layer(doc, "coil", "INSERT")[0]
    outer = max(e.dxf.radius for e in insert.virtual_entities() if e.dxftype() == "CIRCLE")
    assert outer == pytest.approx(2.0)  # 4 ft across


def test_the_header_lies_on_its_layer_run_by_run(drawing):
    _, doc = drawing
    runs = on_layer(doc, "header", "LWPOLYLINE")
    header = suburban().layout.header
    length = sum(
        math.dist(one, other)
        for run in runs
        for points in [list(run.get_points("xy"))]
        for one, other in pairwise(points)
    )
    assert len(runs) == len(header.runs)
    assert length * FT == pytest.approx(header.length_m, abs=0.001)


def test_the_visible_ids_are_text(drawing):
    _, doc = drawing
    words = {text.dxf.text for text in texts_in(doc.modelspace()) if text.dxf.layer == layer("ids")}
    assert {bore.id for bore in suburban().layout.elements} <= words


def test_attributes_are_carried_but_not_shown(drawing):
    _, doc = drawing
    insert = on_layer(doc, "bore", "INSERT")[0]
    assert {a.dxf.tag: a.dxf.text for a in insert.attribs}["DEPTH"] == "300'"
    assert all(attribute.is_invisible for attribute in insert.attribs)


@pytest.mark.parametrize(("lot", "units", "factor"), [(suburban, 2, 1 / FT), (rural, 6, 1.0)])
def test_model_space_is_at_true_size_in_the_display_unit(lot, units, factor, tmp_path):
    _, doc = written(lot, tmp_path)
    assert doc.header["$INSUNITS"] == units
    boundary = on_layer(doc, "property", "LWPOLYLINE")[0]
    drawn = [(x / factor, y / factor) for x, y in boundary.get_points("xy")]
    expected = lot().site.parcel.exterior.coords[:-1]
    assert drawn == [pytest.approx(point, abs=1e-6) for point in expected]


@pytest.mark.parametrize("lot", LOTS)
def test_the_viewport_shows_the_stated_scale(lot, tmp_path):
    sheet, doc = written(lot, tmp_path)
    viewport = doc.layout("PLAN").query("VIEWPORT")[-1]
    # feet: 1 in of paper stands for ratio / 12 ft; metres: 1 mm for ratio / 1000 m
    stands_for = sheet.view.ratio / (12 if sheet.unit == US else 1000)
    assert viewport.dxf.view_height == pytest.approx(viewport.dxf.height * stands_for)
    assert viewport.dxf.status > 0


def test_the_layout_has_the_size_of_the_paper(drawing):
    _, doc = drawing
    layout = doc.layout("PLAN")
    # ANSI B, 17 x 11 in; the page setup is stored in millimetres
    assert (layout.dxf.paper_width, layout.dxf.paper_height) == pytest.approx((431.8, 279.4))


def test_a_point_seen_through_the_viewport_lies_where_the_sheet_says(drawing):
    sheet, doc = drawing
    viewport = doc.layout("PLAN").query("VIEWPORT")[-1]
    bore = suburban().layout.elements[0]
    seen = viewport.get_transformation_matrix().transform((bore.x_m / FT, bore.y_m / FT, 0.0))
    expected = sheet.view.to_paper([(bore.x_m, bore.y_m)])[0] / 25.4
    assert (seen.x, seen.y) == pytest.approx(tuple(expected), abs=1e-6)


def test_a_turned_plan_is_turned_by_its_viewport_and_not_in_the_model(tmp_path):
    # of its sixty trenches few are enough to turn it
    whole = thin_lot(titles=(PLAN, TABLES))
    few = replace(whole.layout, elements=whole.layout.elements[:6], header=None)
    content = replace(whole, layout=few)
    sheet, doc = written(lambda: content, tmp_path, plain=True)
    viewport = doc.layout("PLAN").query("VIEWPORT")[-1]
    assert viewport.dxf.view_twist_angle == sheet.view.turn_deg != 0.0
    seen = viewport.get_transformation_matrix()
    for x, y, *_ in thin_lot().site.parcel.exterior.coords:
        at = seen.transform((x / FT, y / FT, 0.0))
        expected = sheet.view.to_paper([(x, y)])[0] / 25.4
        assert (at.x, at.y) == pytest.approx(tuple(expected), abs=1e-6)


def test_text_keeps_its_place_and_height(drawing):
    sheet, doc = drawing
    drawn = {text.dxf.text: text for text in texts_in(doc.modelspace())}
    for item in sheet.of_type(Text):
        if item.space == "model" and item.anchor == "center" and item.text in {"B7", "DRAINFIELD"}:
            entity = drawn[item.text]
            # 1" = 30': 1 mm of paper is 30 / 25.4 ft
            assert entity.dxf.height == pytest.approx(item.height_mm * 30 / 25.4)
            x, y = entity.at
            if entity.dxftype() == "MTEXT":
                # 71 = 2: a paragraph hangs from the top of its first line's capitals
                assert entity.dxf.attachment_point == 2
                up = math.radians(entity.get_rotation() + 90.0)
                x -= entity.dxf.height * math.cos(up)
                y -= entity.dxf.height * math.sin(up)
            assert (x * FT, y * FT) == pytest.approx(item.at, abs=1e-6)


def test_dimensions_are_dimension_entities_with_their_own_drawing(drawing):
    sheet, doc = drawing
    drawn = list(doc.modelspace().query("DIMENSION"))
    assert len(drawn) == len(sheet.of_type(Dimension))
    for entity, item in zip(drawn, sheet.of_type(Dimension), strict=True):
        assert entity.dxf.text == item.text
        length = math.dist(item.start, item.end) / FT
        ends = (entity.dxf.defpoint2, entity.dxf.defpoint3)
        assert ends[0].distance(ends[1]) == pytest.approx(length)
        kinds = {part.dxftype() for part in entity.get_geometry_block()}
        assert {"LWPOLYLINE", "SOLID"} < kinds
        assert [text.dxf.text for text in texts_in(entity.get_geometry_block())] == [item.text]


def test_filled_wedges_of_symbols_are_bounded_all_round(drawing):
    _, doc = drawing
    wedges = [
        path.edges
        for block in doc.blocks
        for hatch in block.query("HATCH")
        for path in hatch.paths
        if len(getattr(path, "edges", ())) > 1
    ]
    assert len(wedges) >= 2
    for edges in wedges:
        # DXF Reference, HATCH, edge paths: each edge begins where the one before it ends
        for edge, after in pairwise([*edges, edges[0]]):
            assert edge.end_point.isclose(after.start_point, abs_tol=1e-9)


def test_layers_linetypes_and_lineweights_are_real(drawing):
    sheet, doc = drawing
    line = doc.layers.get(layer("property"))
    assert (line.dxf.linetype, line.dxf.lineweight) == ("PHANTOM2", 70)
    assert {name for name, _ in sheet.layers} <= {row.dxf.name for row in doc.layers}
    assert "C-BLDG-E" in {entity.dxf.layer for entity in doc.modelspace()}
    assert not doc.layers.get(layer("viewport")).dxf.plot


def test_no_entity_lies_on_an_undefined_layer(drawing):
    _, doc = drawing
    known = {row.dxf.name for row in doc.layers}
    for space in (doc.modelspace(), doc.layout("PLAN")):
        assert {entity.dxf.layer for entity in space} <= known


def test_text_is_set_in_the_font_it_was_measured_in(drawing):
    _, doc = drawing
    fonts = {style.dxf.name: style.dxf.font for style in doc.styles}
    assert fonts["PLAN"] == "DejaVuSans.ttf"
    assert {text.dxf.style for text in texts_in(doc.modelspace())} <= {"PLAN", "PLAN-BOLD"}


def test_fills_have_the_colour_of_the_sheet_and_black_turns_white_on_a_dark_screen(drawing):
    _, doc = drawing
    fill = doc.modelspace().query('HATCH[layer=="C-BLDG-E"]')[0]
    assert (fill.rgb or doc.layers.get("C-BLDG-E").rgb) == (0xE3, 0xE3, 0xE3)
    hatch = on_layer(doc, "keep-out", "HATCH")[0]
    assert hatch.dxf.color == 256  # by layer
    assert doc.layers.get(layer("keep-out")).rgb == (0x66, 0x73, 0x6D)
    assert doc.layers.get(layer("property")).color == 7


def test_masks_are_backgrounds_of_their_text(drawing):
    sheet, doc = drawing
    masks = [one for one in sheet.of_type(Polygon) if one.style.startswith("mask")]
    assert not doc.modelspace().query("WIPEOUT")
    blocks = [one.get_geometry_block() for one in doc.modelspace().query("DIMENSION")]
    texts = [one for space in (doc.modelspace(), *blocks) for one in space.query("MTEXT")]
    # 90: 1 filled, 2 in the colour of the screen
    wiped = [one for one in texts if one.dxf.get("bg_fill", 0) == 3]
    assert len(wiped) == len([one for one in masks if one.space == "model"]) > 10


def test_hatches_are_light_45_degree_lines(drawing):
    sheet, doc = drawing
    hatch = on_layer(doc, "keep-out", "HATCH")[0]
    lines = hatch.pattern.lines
    # at 45 degrees on paper, however the plan is turned on it
    turned = [(line.angle + sheet.view.turn_deg) % 180.0 for line in lines]
    assert turned == pytest.approx([45.0])
    # 4.2 mm on paper at 1" = 30': 4.2 / 25.4 x 30 = 4.9606 ft between the lines
    assert lines[0].offset.magnitude == pytest.approx(4.9606, abs=0.001)


@pytest.mark.thorough
def test_the_same_sheet_gives_the_same_bytes_whatever_the_hash_seed(tmp_path):
    code = (
        "import sys; sys.path.insert(0, sys.argv[1]); from pathlib import Path; import sheet_lots\n"
        "from siteplan.sheet.pages.compose import compose\n"
        "from siteplan.export.dxf import write_dxf\n"
        "write_dxf(compose(sheet_lots.pond_farm()), Path(sys.argv[2]))"
    )
    lots = str(ROOT / "tests/lots")
    outcomes = set()
    for seed in ("1", "77"):
        path = tmp_path / f"{seed}.dxf"
        environment = {**os.environ, "PYTHONHASHSEED": seed}
        subprocess.run([sys.executable, "-c", code, lots, str(path)], check=True, env=environment)
        outcomes.add(path.read_bytes())
    assert len(outcomes) == 1
