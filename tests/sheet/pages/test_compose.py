import ast
import math
import re
from dataclasses import replace
from pathlib import Path

import pytest
import sheet_lots
from drawn_once import compose
from legible import plot_faults, sheet_texts
from shapely import Polygon, box
from sheet_lots import FT, composed, failing, pond_farm, rural, suburban, well_pair

import siteplan.sheet
from siteplan.checks.model import Separation
from siteplan.errors import ExportError
from siteplan.findings.model import reason
from siteplan.layout.model import Layout
from siteplan.rule_books.model import Rule
from siteplan.sheet.model import Dimension, Hatch, Polyline, Symbol
from siteplan.sheet.model import Polygon as Fill
from siteplan.sheet.pages import compose as plan_sheet
from siteplan.sheet.plan_view.exchanger import element_attributes
from siteplan.sheet.style.styles import layer
from siteplan.site.sheet_options import SheetOptions
from siteplan.units.systems import US
from siteplan.vocabulary.kinds import kinds

LOTS = [suburban, rural, pond_farm, well_pair, failing]


def texts(sheet, space=None):
    return [text.text for text in sheet_texts(sheet) if space in (None, text.space)]


def joined(sheet):
    return " ".join(texts(sheet))


@pytest.fixture(scope="module")
def sheet():
    return composed(suburban)


@pytest.mark.parametrize("lot", LOTS)
def test_every_element_has_its_id_on_the_plan_and_in_the_table(lot):
    content = lot()
    sheet = composed(lot)
    for element in content.layout.elements:
        assert element.id in texts(sheet, "model")
        assert element.id in texts(sheet, "paper")


@pytest.mark.parametrize("lot", LOTS)
def test_every_feature_is_named_on_the_plan(lot):
    content = lot()
    plan = " ".join(texts(composed(lot), "model"))
    for feature in content.site.features:
        kind = kinds()[feature.kind]
        name = kind.letter or (feature.label or kind.label).upper()
        for word in name.split():
            assert word in plan


def test_elements_are_drawn_at_their_exact_centres(sheet):
    content = suburban()
    bores = [item for item in sheet.of_type(Symbol) if item.layer == layer("bore")]
    drawn = sorted((dict(item.attributes)["ELEMENT"], item.at) for item in bores)
    assert drawn == sorted((e.id, (e.x_m, e.y_m)) for e in content.layout.elements)


def test_a_trench_is_drawn_as_its_centre_line_and_its_outline_at_true_width():
    content = rural()
    sheet = compose(content)
    lines = [item for item in sheet.of_type(Polyline) if item.layer == layer("trench")]
    assert [list(item.points) for item in lines] == [
        list(trench.line.coords) for trench in content.layout.elements
    ]
    outlines = [item for item in sheet.of_type(Polyline) if item.layer == layer("trench-edge")]
    # 62 m long, 0.9 m wide
    assert [Polygon(item.points).area for item in outlines] == [pytest.approx(62 * 0.9)] * 8


def test_a_coil_is_drawn_at_its_true_size():
    content = pond_farm()
    sheet = compose(content)
    coils = [item for item in sheet.of_type(Symbol) if item.layer == layer("coil")]
    # 4 ft across: radius 2 ft = 0.6096 m
    assert len(coils) == 8
    assert [sheet.view.metres(item.size_mm) for item in coils] == [pytest.approx(0.6096)] * 8


def test_attributes_carry_id_kind_and_depth():
    bore = suburban().layout.elements[0]
    assert element_attributes(bore, US) == (
        ("ELEMENT", "B1"), ("KIND", "bore"), ("DEPTH", "300'"),
    )  # fmt: skip


def test_the_table_lists_coordinates_in_the_display_unit(sheet):
    words = texts(sheet, "paper")
    # B12 stands at 145 ft east, 110 ft north
    row = words.index("B12")
    assert words[row : row + 3] == ["B12", "145.00", "110.00"]


def test_the_table_gives_station_and_offset_from_the_pegs_of_the_base_line(sheet):
    words = texts(sheet, "paper")
    row = words.index("B12") + 3
    # the line runs north at E 115.00, its first peg is station 1+00 at N 105.08: 110 - 105.08 = 4.9
    # ft on, and 145 - 115 = 30 ft to the right
    peg = words.index("BL1 end") - 7
    assert words[peg : peg + 4] == ["BL1", "1+00.0", "115.00", "105.08"]
    assert words[row : row + 3] == ["BL1", "1+04.9", "30.0' R"]


def test_provided_is_rounded_down_and_required_up():
    content = suburban()
    one = content.separations[0]
    rule = replace(one.rule, distance_m=10.01 * FT)
    shifted = replace(one, provided_m=17.09 * FT, rule=rule)
    words = texts(compose(replace(content, separations=(shifted,))))
    assert "17.0'" in words
    assert "10.1'" in words


def test_one_row_for_every_separation_tells_whether_it_meets():
    content = suburban()
    words = texts(compose(content), "paper")
    assert words.count("YES") == len(content.separations)
    short = tuple(replace(one, provided_m=0.5) for one in content.separations)
    words = texts(compose(replace(content, separations=short)), "paper")
    assert words.count("NO") == len(content.separations)


def test_every_source_stands_below_the_table(sheet):
    text = joined(sheet)
    for one in suburban().separations:
        assert one.rule.source in text


def test_a_dimension_runs_from_the_controlling_element_to_the_controlling_feature(sheet):
    drawn = {frozenset((item.start, item.end)) for item in sheet.of_type(Dimension)}
    # property line, building, well, tank, drainfield, reserve: under four times what is required
    near = [one for one in suburban().separations if one.provided_m <= 4 * one.rule.distance_m]
    assert len(near) == 6
    # the house stands between the bores and the reserve area
    for one in near:
        seen = one.rule.subject != "reserve area"
        assert (frozenset((one.element_point, one.feature_point)) in drawn) is seen


def test_a_distance_that_is_not_drawn_is_said_in_a_note(sheet):
    assert "more than four times what is required" in joined(sheet)


def test_the_typical_spacing_is_dimensioned_once(sheet):
    assert texts(sheet, "model").count("20.0' TYP.") == 1


def test_dimension_text_reads_from_below_or_from_the_right(sheet):
    for item in sheet.of_type(Dimension):
        # read on paper, on which the plan may be turned
        assert -90.0 < item.text_angle_deg + sheet.view.turn_deg <= 90.001


def test_each_side_has_bearing_and_distance(sheet):
    plan = texts(sheet, "model")
    # from (138, 172) to (0, 160) ft: atan(138 / 12) = 85 deg 01' 49", hypot(138, 12) = 138.52 ft
    assert "S 85°01'49\" W  138.52'" in plan
    arc = "  R=475.00'  L=223.84'  Δ=27°00'00\""
    assert [text for text in plan if re.fullmatch(rf"C\d+{re.escape(arc)}", text)]
    assert "CH N 90°00'00\" E  221.77'" in plan


def test_a_side_too_short_for_its_label_has_a_tag_and_a_row():
    site = suburban().site
    corner = list(site.parcel.exterior.coords[:-1])
    x, y = corner[-1]
    parcel = Polygon([*corner[:-1], (x + 2.0, y + 0.2), (x, y - 2.0)])
    sheet = compose(replace(suburban(), site=replace(site, parcel=parcel)))
    tags = {text for text in texts(sheet, "model") if re.fullmatch(r"L\d+", text)}
    assert tags
    assert tags <= set(texts(sheet, "paper"))
    assert "SHORT SIDES" in texts(sheet, "paper")


def test_the_scale_is_the_largest_that_holds_the_lot_beside_the_strip():
    # 60 m square with nothing else; ANSI B: 260.4 mm between the margins, less 2 x 9 mm: 242.4 mm.
    # 60 m at 1" = 20' (1:240) is 250 mm, at 1" = 30' (1:360) 166.7 mm
    base = suburban()
    site = replace(base.site, parcel=box(0, 0, 60, 60), features=(), entries=())
    content = replace(base, site=site, layout=None, separations=(), keep_outs=())
    assert compose(content).view.ratio == 360
    smaller = replace(site, parcel=box(0, 0, 58, 58))
    # 58 m at 1:240 is 241.7 mm
    assert compose(replace(content, site=smaller)).view.ratio == 240


def test_the_scale_asked_for_is_kept():
    assert compose(suburban(sheet=SheetOptions("ANSI B", 600))).view.label == "1\" = 50'"


def test_a_scale_at_which_the_lot_does_not_fit_is_refused_with_the_largest_that_does():
    content = suburban(sheet=SheetOptions("ANSI B", 120))
    message = r"does not fit on ANSI B at 1\" = 10'; the largest scale that does is 1\" = 30'"
    with pytest.raises(ExportError, match=message):
        compose(content)
    assert compose(suburban(sheet=SheetOptions("ANSI B", 360))).view.ratio == 360


def test_large_paper_has_larger_text_and_the_stated_scale():
    sheet = compose(suburban(sheet=SheetOptions("Arch D")))
    assert min(text.height_mm for text in sheet_texts(sheet)) >= 1.3 * 2.032
    assert sheet.view.label == f"1\" = {sheet.view.ratio / 12:g}'"


def test_sixty_bores_are_all_listed_on_arch_d():
    words = texts(compose(suburban(sheet=SheetOptions("Arch D"), bores=60)), "paper")
    assert {f"B{number}" for number in range(1, 61)} <= set(words)


def test_the_legend_says_only_what_is_on_the_plan(sheet):
    assert "TREE" in texts(sheet, "paper")
    assert "STREAM" not in texts(sheet, "paper")
    assert "NEW POND COIL" not in texts(sheet, "paper")


@pytest.mark.parametrize("lot", LOTS)
def test_every_line_style_of_the_plan_is_in_the_legend(lot):
    sheet = composed(lot)
    plain = {"dimension", "leader", "contour", "trench-center", "element", "corner"}
    drawn = {
        item.style
        for item in (*sheet.of_type(Polyline), *sheet.of_type(Hatch))
        if item.space == "model"
    }
    shown = {item.style for item in sheet.primitives if item.space == "paper"}
    assert drawn - plain <= shown


@pytest.mark.parametrize("lot", LOTS)
def test_cautions_stand_on_every_sheet(lot):
    content = lot()
    text = joined(composed(lot))
    for words in (
        "NOT A BOUNDARY SURVEY",
        f"one-call {content.site.unit.center}",
        "Overhead power lines",
        "Verify every",
    ):
        assert words in text


def test_notes_follow_what_the_plan_contains():
    pond, wells, bores = (joined(composed(lot)) for lot in (pond_farm, well_pair, suburban))
    assert "ask the water authority before placing coils" in pond
    assert "ask the water authority for the permits" in wells
    assert "1926.652(a)(1)" in bores
    assert "water authority" not in bores


def test_the_foot_is_named():
    assert "international feet (0.3048" in joined(composed(suburban))
    assert "feet" not in " ".join(texts(composed(rural), "paper"))


def test_crossings_are_marked_and_said():
    sheet = composed(pond_farm)
    marks = [item for item in sheet.of_type(Symbol) if item.layer == layer("crossing")]
    assert len(marks) == 1
    assert "Header crosses" in joined(sheet)


def test_only_the_chosen_entry_is_prominent(sheet):
    entries = [item for item in sheet.of_type(Symbol) if item.layer == layer("entry")]
    sizes = {item.name: item.size_mm for item in entries}
    assert sorted(item.name for item in entries) == ["candidate", "entry"]
    assert sizes["entry"] > 1.5 * sizes["candidate"]


def test_the_verdict_stands_on_the_sheet_and_a_bad_one_in_alarm_colour():
    verdict = next(text for text in sheet_texts(composed(failing)) if "DOES NOT FIT" in text.text)
    assert verdict.style == "text-alarm"
    assert verdict.bold
    good = next(text for text in sheet_texts(composed(suburban)) if "FITS" in text.text)
    assert good.style == "text"


def test_a_lot_that_holds_nothing_still_has_a_sheet():
    content = suburban()
    empty = Layout("vertical", (), None, 6.1, 0.0, reason("no-available-area", things="bores"))
    sheet = compose(replace(content, layout=empty, separations=(), fits=False))
    assert "Nothing. The setbacks leave no usable area" in joined(sheet)
    assert "WHAT GOES IN THE GROUND" in joined(sheet)


def test_the_title_block_names_who_where_and_when(sheet):
    project = suburban().site.project
    for value in (project.title, project.owner, project.parcel_id, project.prepared_by):
        assert value in texts(sheet, "paper")
    assert "2026-03-14" in texts(sheet, "paper")
    # shoelace by shapely: 35,524 sq ft; / 43,560 = 0.816 ac
    assert "35,524 sq ft = 0.816 ac" in texts(sheet, "paper")


def test_keep_outs_are_one_hatch_within_the_parcel(sheet):
    hatches = [item for item in sheet.of_type(Hatch) if item.style == "keep-out-hatch"]
    plan = [item for item in hatches if item.space == "model"]
    assert len(plan) == 1
    parcel = suburban().site.parcel.buffer(1e-6)
    assert all(parcel.covers(Polygon(ring)) for ring in plan[0].rings)


def test_setback_lines_are_named_with_their_distance(sheet):
    assert "50' WELL SEPARATION" in texts(sheet, "model")
    assert "10' PROPERTY LINE SETBACK" in texts(sheet, "model")


def test_the_same_content_gives_the_same_sheet():
    # composed anew beside what the other tests look at
    assert plan_sheet.compose(suburban()) == composed(suburban)


def test_masks_lie_over_lines_and_under_text(sheet):
    order = {id(item): place for place, item in enumerate(sheet.primitives)}
    masks = [order[id(item)] for item in sheet.of_type(Fill) if item.style.endswith("mask")]
    lines = [order[id(i)] for i in sheet.of_type(Polyline) if i.style in ("property", "header")]
    words = [order[id(item)] for item in sheet_texts(sheet) if id(item) in order]
    assert max(lines) < min(masks)
    assert max(masks) < min(words)


def test_the_mask_of_a_dimension_lies_under_the_dimension(sheet):
    order = {id(item): place for place, item in enumerate(sheet.primitives)}
    low = [order[id(item)] for item in sheet.of_type(Fill) if item.style.endswith("mask-low")]
    assert low
    assert max(low) < min(order[id(item)] for item in sheet.of_type(Dimension))


def test_the_sheet_imports_neither_matplotlib_nor_ezdxf():
    for path in Path(siteplan.sheet.__file__).parent.rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = [alias.name for alias in node.names] if isinstance(node, ast.Import) else []
            if isinstance(node, ast.ImportFrom):
                names = [node.module or ""]
            assert not any(name.split(".")[0] in {"matplotlib", "ezdxf"} for name in names)


def test_distance_helper_of_the_lots_agrees_with_plain_geometry():
    one = next(one for one in suburban().separations if one.feature == "well-1")
    # B9 (85, 110) to the well (22, 108): hypot(63, 2) = 63.0317, less the radius 0.25 ft
    assert one.provided_m / FT == pytest.approx(math.hypot(63, 2) - 0.25)
    assert sheet_lots.FT == 0.3048


def test_owner_title_and_legal_description_are_never_cut():
    site = suburban().site
    legal = " ".join(f"thence {k} feet along the line of lot {k};" for k in range(30))
    owner = "The Trustees of the Alder Bend Community Housing and Gardens Association of Sampleton"
    facts = replace(site.project, owner=owner, title="A long title " * 9, legal_description=legal)
    sheet = compose(replace(suburban(), site=replace(site, project=facts)))
    words = " ".join(texts(sheet, "paper"))
    assert legal in words
    assert ("A long title " * 9).strip() in words
    for word in owner.split():
        assert word in words
    assert "…" not in words
    assert plot_faults(sheet) == ()


def test_the_spacing_asked_for_stands_in_the_table_and_is_dimensioned_once():
    content = suburban()
    asked = Rule("s", "bore", (), 20 * FT, "20 ft", "this site", "[vertical] spacing")
    first, second = content.layout.elements[:2]
    row = Separation(
        "bore", "B1", "B2", asked, 20 * FT, (first.x_m, first.y_m), (second.x_m, second.y_m)
    )
    found = texts(compose(replace(content, separations=(*content.separations, row))))
    assert "B1 – B2 spacing" in found
    assert "20.0' TYP." in found
    assert sum(word.startswith("20.0' ") for word in found) == 1


def test_a_metric_sheet_speaks_of_metres_alone():
    # 5 ft = 1.524 m, rounded down; 10 ft = 3.048 m, rounded up
    words = joined(composed(rural))
    assert "1.5 m and deeper" in words
    # 20 ft where the voltage is not known, rounded up: 29 CFR 1926.1408(a)(2)(iii) gives 20 ft
    assert "keep 6.1 m from" in words
    assert "(5 ft)" not in words
    assert "1.5 m" not in joined(composed(suburban))
