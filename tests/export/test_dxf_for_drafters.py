"""What a drafter's program makes of the drawing when it regenerates, scales or edits it.

Group codes are those of the DXF reference of the format's publisher (R2013, from memory).
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import ezdxf
import pytest
from drawings import drawing_of
from drawn_once import compose
from drawn_texts import texts_in
from ezdxf import bbox
from ezdxf.math import Vec2
from pyproj import Transformer
from sheet_lots import composed, pond_farm, rural, suburban, thin_lot, well_pair

from siteplan.export.drawing.record import record_of
from siteplan.export.dxf import write_dxf, write_model
from siteplan.sheet.content.content import PLAN, TABLES
from siteplan.sheet.model import Hatch, Sheet
from siteplan.site.frame import LocalFrame
from siteplan.units.systems import US

LOTS = [suburban, rural, pond_farm, well_pair]
PAPER_MM = {True: 25.4, False: 1.0}
"""A unit of paper, by whether the sheet is in feet."""


@pytest.fixture(scope="module", params=LOTS, ids=lambda lot: lot.__name__)
def drawing(request: Any) -> tuple[Sheet, Any]:
    return drawing_of(request.param)


def on_paper(sheet: Sheet, size: float) -> float:
    """A size of the model on paper [mm]."""
    metres = 0.3048 if sheet.unit == US else 1.0
    return size * metres * 1000.0 / sheet.view.ratio


# --- dimensions


def test_header_and_style_of_dimensions_agree_and_are_sizes_on_paper(drawing):
    sheet, doc = drawing
    paper_mm = PAPER_MM[sheet.unit == US]
    style = doc.dimstyles.get(doc.header["$DIMSTYLE"])
    # group codes of DIMSTYLE: 40 scale, 41 arrow, 42 and 44 extension lines, 140 text, 147 gap
    codes = {"DIMSCALE": 40, "DIMASZ": 41, "DIMEXO": 42, "DIMEXE": 44, "DIMTXT": 140, "DIMGAP": 147}
    tags = {name.upper(): style.dxf.get(name.lower()) for name in codes}
    assert tags == pytest.approx({name: doc.header[f"${name}"] for name in codes})
    # who dimensions in the style that every drawing has gets them as well
    usual = doc.dimstyles.get("Standard")
    assert {name: usual.dxf.get(name.lower()) for name in codes} == tags
    # a size times DIMSCALE is what it measures in the model: on paper no more than 3 mm
    for name in codes.keys() - {"DIMSCALE"}:
        shown = on_paper(sheet, tags[name] * tags["DIMSCALE"])
        assert shown == pytest.approx(tags[name] * paper_mm)
        assert 0.5 < shown < 3.0, name


def test_a_dimension_drawn_anew_has_the_lines_that_it_has(drawing):
    sheet, doc = drawing
    for one in doc.modelspace().query("DIMENSION"):
        style = doc.dimstyles.get(one.dxf.dimstyle).dxf
        block = one.get_geometry_block()
        lines = [list(line.get_points("xy")) for line in block.query("LWPOLYLINE")]
        shown = lines[1:]  # after the dimension line
        # 75 and 76: extension lines suppressed
        assert (style.dimse1, style.dimse2) == ((0, 0) if shown else (1, 1))
        for (near, far), at in zip(shown, (one.dxf.defpoint2, one.dxf.defpoint3), strict=False):
            gap, beyond = style.dimexo * style.dimscale, style.dimexe * style.dimscale
            assert math.dist(near, at.vec2) == pytest.approx(gap)
            ends = [math.dist(end, far) for end in lines[0]]
            assert min(ends) == pytest.approx(beyond)
    assert sheet.view.ratio > 1


def test_arrows_are_as_long_as_the_style_or_the_dimension_says(drawing):
    _, doc = drawing
    for one in doc.modelspace().query("DIMENSION"):
        # what a dimension has of its own stands in the extended data DSTYLE: 41 is DIMASZ
        said = one.override().get("dimasz") * one.override().get("dimscale")
        for arrow in one.get_geometry_block().query("SOLID"):
            tip, left, right = (arrow.dxf.get(f"vtx{k}").vec2 for k in range(3))
            assert tip.distance(left.lerp(right)) == pytest.approx(said)


def test_a_program_that_ignores_suppression_draws_no_stray_line(drawing):
    _, doc = drawing
    # one that takes points of no distance for an extension line draws it from DIMEXO to DIMEXE
    assert doc.header["$DIMEXO"] == doc.header["$DIMEXE"]


def test_the_middle_of_a_figure_is_where_it_stands(drawing):
    _, doc = drawing
    for one in doc.modelspace().query("DIMENSION"):
        # 11: middle of the text; 53: its turn away from the direction of the dimension line
        text = next(texts_in(one.get_geometry_block()))
        up = math.radians(text.dxf.rotation + 90.0)
        # a line stands on its place, a paragraph hangs from it
        half = text.dxf.height / 2 * (-1.0 if text.dxftype() == "MTEXT" else 1.0)
        middle = (text.at[0] + half * math.cos(up), text.at[1] + half * math.sin(up))
        assert math.dist(middle, one.dxf.text_midpoint.vec2) < 1e-6
        along = (one.dxf.defpoint3 - one.dxf.defpoint2).angle_deg
        apart = (text.dxf.rotation - along + 90.0) % 180.0 - 90.0
        assert one.dxf.get("text_rotation", 0.0) == pytest.approx(apart, abs=0.01)


# --- linetypes and hatches

# acad.lin, at a scale of 1 [in]; from memory
STANDARD = {
    "CENTER2": [0.75, -0.125, 0.125, -0.125],
    "DASHED2": [0.25, -0.125],
    "HIDDEN2": [0.125, -0.0625],
    "PHANTOM2": [0.625, -0.125, 0.125, -0.125, 0.125, -0.125],
}


def test_linetypes_are_the_standard_ones(drawing):
    sheet, doc = drawing
    # the file for metric drawings has the same lengths in millimetres
    unit = 1.0 if sheet.unit == US else 25.4
    own = {row.dxf.name for row in doc.linetypes} - {"ByBlock", "ByLayer", "Continuous"}
    assert own == set(STANDARD)
    for name, pattern in STANDARD.items():
        # group code 49: one length each
        tags = [tag.value for tag in doc.linetypes.get(name).pattern_tags.tags if tag.code == 49]
        assert tags == pytest.approx([length * unit for length in pattern])
        # what a list of linetypes shows of it: a row of signs as long as its dash
        title, *rows = doc.linetypes.get(name).dxf.description.split()
        assert title == name.capitalize()
        assert [len(row) for row in rows] == [16 * dash for dash in pattern[::2]]


def test_dashes_are_as_long_on_paper_as_the_sheet_has_them(drawing):
    sheet, doc = drawing
    paper_mm = PAPER_MM[sheet.unit == US]
    line = doc.modelspace().query('LWPOLYLINE[layer=="V-PROP-LINE-E"]').first
    # $LTSCALE times 48 (the line's own scale) times the first dash
    dash = doc.header["$LTSCALE"] * line.dxf.ltscale * STANDARD["PHANTOM2"][0] * 25.4 / paper_mm
    assert on_paper(sheet, dash) == pytest.approx(0.625 * 25.4 * 0.65)  # 10.3 mm
    # the sample in the legend, on paper: there the same dash is so long as it is
    sample = doc.layout("PLAN").query('LWPOLYLINE[linetype=="PHANTOM2"]').first
    dash = doc.header["$LTSCALE"] * sample.dxf.ltscale * STANDARD["PHANTOM2"][0] * 25.4 / paper_mm
    assert dash * paper_mm == pytest.approx(0.625 * 25.4 * 0.65)


def test_figures_that_a_program_measures_anew_keep_their_zeros(drawing):
    _, doc = drawing
    # DIMZIN of decimal figures: 4 leaves out the zero before the point, 8 those at the end
    for style in doc.dimstyles:
        assert not style.dxf.dimzin & (4 | 8)


def test_hatches_have_a_pattern_that_every_program_has(drawing):
    sheet, doc = drawing
    gaps_mm = {item.gap_mm for item in sheet.of_type(Hatch)}
    for space in (doc.modelspace(), doc.layout("PLAN")):
        for one in space.query("HATCH"):
            # group 73: a boundary that is open is filled by no program or by each in its own way
            assert all(path.is_closed for path in one.paths)
            if one.dxf.solid_fill:
                continue
            assert one.dxf.pattern_name == "ANSI31"
            # ANSI31: lines at 45 degrees, 1/8 in (3.175 mm) apart (acad.pat; from memory)
            line = one.pattern.lines[0]
            gap = 0.125 if sheet.unit == US else 3.175
            # 41 and 52 are what a program scales and turns the pattern by when it fills anew
            size = line.offset.magnitude
            assert size == pytest.approx(gap * one.dxf.pattern_scale)
            # plotted as far apart as on the sheet
            model = space is doc.modelspace()
            size_mm = on_paper(sheet, size) if model else size * PAPER_MM[sheet.unit == US]
            assert any(size_mm == pytest.approx(gap_mm) for gap_mm in gaps_mm)
            assert (line.angle - 45.0 - one.dxf.pattern_angle) % 180.0 == pytest.approx(0.0)


# --- extents and layers


def test_the_extents_are_those_of_what_is_drawn(drawing):
    _, doc = drawing
    found = bbox.extents(doc.modelspace())
    low, high = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
    size = found.size.magnitude
    # letters of the reader's own font may be a little narrower or wider
    for corner, there in ((found.extmin, low), (found.extmax, high)):
        assert math.dist(corner.vec2, there[:2]) < 0.02 * size
    assert tuple(doc.modelspace().dxf.limmin)[:2] == pytest.approx(low[:2])


def test_the_paper_is_the_extent_of_its_layout(drawing):
    sheet, doc = drawing
    paper_mm = PAPER_MM[sheet.unit == US]
    size = (sheet.paper.width_mm / paper_mm, sheet.paper.height_mm / paper_mm)
    layout = doc.layout("PLAN").dxf
    assert tuple(layout.limmax)[:2] == pytest.approx(size)
    assert tuple(doc.header["$PLIMMAX"])[:2] == pytest.approx(size)
    assert tuple(doc.header["$PEXTMAX"])[:2] == pytest.approx(size)
    assert tuple(layout.limmin)[:2] == (0.0, 0.0)


def test_the_model_alone_opens_on_what_it_shows(tmp_path):
    write_model(composed(suburban), tmp_path / "model.dxf")
    doc = ezdxf.readfile(tmp_path / "model.dxf")
    low, high = doc.header["$EXTMIN"], doc.header["$EXTMAX"]
    assert 0.0 < high[0] - low[0] < 1000.0
    # ANSI B, 17 by 11 in, in feet: LibreCAD takes these limits for its paper, in the drawing's unit
    assert tuple(doc.header["$PLIMMAX"])[:2] == pytest.approx((17.0 / 12.0, 11.0 / 12.0))
    layout = doc.layout("Layout1").dxf
    assert (layout.paper_width, layout.paper_height) == pytest.approx((431.8, 279.4))  # [mm]


def test_every_layer_says_what_it_holds(drawing):
    sheet, doc = drawing
    for name, _ in sheet.layers:
        assert doc.layers.get(name).description, name
    assert doc.layers.get("C-BLDG-E").description == "existing: building"


@pytest.mark.thorough
def test_a_turned_plan_keeps_its_extents_in_the_model(tmp_path):
    sheet = compose(replace(thin_lot(), titles=(PLAN, TABLES)))
    write_dxf(sheet, Path(tmp_path) / "plan.dxf")
    doc = ezdxf.readfile(tmp_path / "plan.dxf")
    found, low = bbox.extents(doc.modelspace()), doc.header["$EXTMIN"]
    assert math.dist(found.extmin.vec2, low[:2]) < 0.02 * found.size.magnitude


# --- what the drawing tells programs


def told_in(entity: Any) -> dict[str, list[Any]]:
    """Extended data of an element: 1000 are strings, 1041 is a length that scales."""
    found: dict[str, list[Any]] = {}
    for code, value in entity.get_xdata("SITEPLAN_ELEMENT"):
        if code == 1000:
            name, _, what = value.partition("=")
            found.setdefault(name, []).append(what)
        elif code == 1041:
            found.setdefault("depth", []).append(value)
    return found


@pytest.mark.parametrize("lot", LOTS)
def test_each_element_says_what_it_is_how_deep_and_by_which_rules(lot, tmp_path):
    content = lot()
    for write, name in ((write_dxf, "plan.dxf"), (write_model, "model.dxf")):
        write(composed(lot), tmp_path / name, record=record_of(content))
        doc = ezdxf.readfile(tmp_path / name)
        assert "SITEPLAN_ELEMENT" in doc.appids
        marked = [one for one in doc.modelspace() if one.has_xdata("SITEPLAN_ELEMENT")]
        symbols = {told_in(one)["element"][0]: told_in(one) for one in marked if is_symbol(one)}
        assert set(symbols) == {one.id for one in content.layout.elements}
        # once each
        assert len(symbols) == len([one for one in marked if is_symbol(one)])
        unit = 0.3048 if composed(lot).unit == US else 1.0
        for one in content.layout.elements:
            assert symbols[one.id]["depth"] == [pytest.approx(one.depth_m / unit)]
            bound = {row.rule.id for row in content.separations if row.part == one.kind}
            told = {rule.partition("/")[2] for rule in symbols[one.id].get("rule", [])}
            assert bound <= told


def is_symbol(entity: Any) -> bool:
    return bool(entity.dxftype() == "INSERT")


def test_the_lines_of_a_trench_say_of_which_it_is(tmp_path):
    content = rural()
    write_dxf(composed(rural), tmp_path / "plan.dxf", record=record_of(content))
    doc = ezdxf.readfile(tmp_path / "plan.dxf")
    lines = doc.modelspace().query("LWPOLYLINE")
    axes = [one for one in lines if one.dxf.layer == "M-GHEX-TRCH-N"]
    edges = [one for one in lines if one.dxf.layer == "M-GHEX-TRCH-EDGE-N"]
    for found in (axes, edges):
        names = [told_in(one)["element"][0] for one in found]
        assert sorted(names) == sorted(one.id for one in content.layout.elements)


@pytest.mark.parametrize("lot", LOTS)
def test_nothing_is_drawn_twice_in_the_model(lot, tmp_path):
    write_dxf(composed(lot), tmp_path / "plan.dxf", record=record_of(lot()))
    seen = set()
    for one in ezdxf.readfile(tmp_path / "plan.dxf").modelspace().query("LWPOLYLINE INSERT"):
        if one.dxftype() == "INSERT":
            key: Any = (one.dxf.name, one.dxf.insert.round(4))
        else:
            key = (one.dxf.layer, tuple(at.round(4) for at in one.vertices_in_wcs()))
        assert key not in seen
        seen.add(key)


def test_a_georeferenced_lot_lies_on_the_earth_where_its_survey_has_it(tmp_path):
    content = georeferenced()
    sheet = compose(content)
    write_dxf(sheet, tmp_path / "plan.dxf", record=record_of(content))
    doc = ezdxf.readfile(tmp_path / "plan.dxf")
    data = doc.modelspace().get_geodata()
    assert data.dxf.coordinate_type == 1  # local grid
    matrix, epsg = data.get_crs_transformation(no_checks=True)
    assert epsg == 3395
    # 95 = 2: the scale of the grid is given, 141
    assert data.dxf.scale_estimation_method == 2
    middle, scale = data.dxf.reference_point, data.dxf.user_scale_factor
    to_grid = Transformer.from_crs(4326, 3395, always_xy=True)
    for x, y in content.site.parcel.exterior.coords:
        latitude, longitude = content.site.georeference.latitude_longitude(x, y)
        there = Vec2(to_grid.transform(longitude, latitude))
        flat = matrix.transform((x / 0.3048, y / 0.3048, 0.0)).vec2
        laid = middle.vec2 + (flat - middle.vec2) * scale
        # a lot of 100 m, on a grid whose scale changes by 1.6e-5 along it
        assert laid.distance(there) < 0.005
    assert doc.audit().errors == []


def georeferenced():
    content = suburban()
    frame = LocalFrame("EPSG:4326", -93.1, 44.9)
    return replace(content, site=replace(content.site, georeference=frame))


def test_a_lot_in_a_frame_of_its_own_claims_no_place_on_the_earth(drawing):
    assert drawing[1].modelspace().get_geodata() is None
