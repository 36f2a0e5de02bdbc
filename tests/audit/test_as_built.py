"""Lists of measured places: how they are read, compared with the plan, and judged."""

from __future__ import annotations

import csv
import io
import json
import os
from dataclasses import replace
from pathlib import Path

import ezdxf
import pytest
from as_built_lists import built_of, listed, planned_rows, text_of
from audit_lots import FOOT, plan_of, site_of
from campaign import thorough
from drawn_texts import texts_in
from shapely import Point
from wording import in_words

from siteplan.audit.as_built import as_built
from siteplan.audit.audit import audit_drawing
from siteplan.audit.measured import local_place, read_measured, tape_meets
from siteplan.audit.package import FILES, SUMS_FILE, as_built_csv, write_as_built
from siteplan.audit.planned import planned_layout
from siteplan.errors import ExportError, InputError
from siteplan.export.tables import summary_json
from siteplan.limits import MOST_SUMMARY_BYTES
from siteplan.sheet.content.stakes import BaseLine, Stake
from siteplan.sheet.content.ties import TiePoint

pytestmark = pytest.mark.usefixtures("coarse")


def test_bare_numbers_are_in_the_display_unit_and_others_in_their_own(tmp_path: Path) -> None:
    points = listed(tmp_path, "id,x,y,depth\nB1,10,6.1 m,200 ft\n")
    assert points[0].at == pytest.approx((3.048, 6.1))
    assert points[0].depth_m == pytest.approx(60.96)


def test_a_column_may_name_its_unit(tmp_path: Path) -> None:
    points = listed(tmp_path, "id,x_m,y_m\nB1,10,20\n")
    assert points[0].at == pytest.approx((10.0, 20.0))


def test_two_tapes_meet_where_the_three_four_five_triangle_says(tmp_path: Path) -> None:
    # A and B 6 ft apart, 5 ft from each: 3 ft along and 4 ft to the north
    points = listed(tmp_path, "id,A,B,side\nB1,5,5,north\nB2,5,5,right\n")
    assert points[0].at == pytest.approx((3 * FOOT, 4 * FOOT))
    assert points[1].at == pytest.approx((3 * FOOT, -4 * FOOT))


def test_of_two_places_the_one_on_the_lot_needs_no_side(tmp_path: Path) -> None:
    # the lot begins at the line from A to B and lies to its north
    assert listed(tmp_path, "id,A,B\nB1,5,5\n")[0].at[1] == pytest.approx(4 * FOOT)


def test_columns_of_a_total_station_are_no_tapes(tmp_path: Path) -> None:
    # heights and descriptions stand beside coordinates, and tie points may be called D and Z
    ties = tuple(TiePoint(name, (9.0 * k, 1.0), "corner") for k, name in enumerate("ABDZ"))
    points = listed(tmp_path, "id,x,y,z,d\nB1,10,20,101.3,collar\n", ties=ties)
    assert points[0].at == pytest.approx((10 * FOOT, 20 * FOOT))


def test_tapes_that_meet_twice_on_the_lot_ask_for_the_side(tmp_path: Path) -> None:
    ties = (TiePoint("A", (20.0, 20.0), "corner"), TiePoint("B", (26.0, 20.0), "corner"))
    with pytest.raises(
        InputError, match=r"the tapes meet at E .* or E .*Write side: left or right"
    ):
        listed(tmp_path, "id,A,B\nB1,5 m,5 m\n", ties=ties)


def test_tapes_that_do_not_meet_are_told_with_the_distance_of_the_corners(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"B1: the tapes from A and B do not meet; .*6\.00 ft"):
        listed(tmp_path, "id,A,B,side\nB1,2,3,north\n")


def test_tapes_a_little_short_meet_on_the_line() -> None:
    assert tape_meets((0.0, 0.0), (6.0, 0.0), 2.0, 3.98)[0] == pytest.approx((2.01, 0.0), abs=0.02)


def test_latitude_and_longitude_lead_back_to_the_place() -> None:
    frame = site_of("school").georeference
    assert frame is not None
    place = frame.latitude_longitude(123.4, 56.7)
    assert local_place(frame, *place) == pytest.approx((123.4, 56.7), abs=1e-4)


def test_latitude_without_a_coordinate_system_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"site has no coordinate system\. Give x and y"):
        listed(tmp_path, "id,latitude,longitude\nB1,41.5,-72.7\n")


@pytest.mark.parametrize(
    "text",
    [
        "Bore,Easting,Northing,Depth (ft)\nB1,10,20,300\n",
        "Point;X;Y;Depth drilled\nB1;10;20;300\n",
        "no.\tx (ft)\ty (ft)\tdepth\nB1\t10\t20\t300\n",
    ],
)
def test_a_list_may_have_the_titles_and_separators_of_others(text: str, tmp_path: Path) -> None:
    # titles of field books and total stations, separators of office programs: common practice, no
    # source
    (point,) = listed(tmp_path, text)
    assert point.id == "B1"
    assert point.at == pytest.approx((10 * FOOT, 20 * FOOT))
    assert point.depth_m == pytest.approx(300 * FOOT)


@pytest.mark.parametrize(
    ("station", "offset"), [("0+30", "4"), ("30", "4 L"), ("30 ft", "4 ft"), ("0+30.0", "4.0L")]
)
def test_a_place_may_be_set_off_from_a_base_line(station: str, offset: str, tmp_path: Path) -> None:
    # a line that runs north from (10, 20) ft, its first peg at 0+05: 25 ft along, 4 ft to the west;
    # a full station is 100 ft: route surveying, common practice, no source
    pegs = [Stake(name, (10 * FOOT, y * FOOT)) for name, y in (("BL1", 20), ("BL1 end", 80))]
    line = BaseLine("BL1", *pegs, first_m=5 * FOOT)
    path = tmp_path / "list.csv"
    for name, at in ((station, (6, 45)), ("1+30", (6, 145))):
        path.write_text(f"id,station,offset\nB1,{name},{offset}\n", encoding="utf-8")
        (point,) = read_measured(path, site_of("bores"), (), [line])
        assert point.at == pytest.approx((at[0] * FOOT, at[1] * FOOT))
    path.write_text("id,x,y,station\nB1,10,20,STN-4\n", encoding="utf-8")
    (point,) = read_measured(path, site_of("bores"), (), [line])
    assert point.at == pytest.approx((10 * FOOT, 20 * FOOT))
    path.write_text("id,base_line,station,offset\nB1,BL1,30,4 R\nB2,BL2,1,1\n", encoding="utf-8")
    with pytest.raises(
        InputError, match=r"B2: base_line 'BL2' is no base line of the plan \(BL1\)"
    ):
        read_measured(path, site_of("bores"), (), [line])


@pytest.mark.parametrize("line", ["A-A", "A-Z", "-", "BL9"])
def test_a_line_that_the_plan_does_not_have_is_refused(line: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=f"base_line '{line}' is no base line of the plan"):
        listed(tmp_path, f"id,base_line,station,offset\nB1,{line},1,1\n")


def test_all_faults_of_a_list_are_told_together(tmp_path: Path) -> None:
    with pytest.raises(InputError) as caught:
        listed(tmp_path, "id,x,y,depth\nB1,ten,20,\n,1,2,\nB3,,,\nB4,1,2,-5\nB5,9e6,2,\n")
    words = str(caught.value)
    parts = ("row 2, B1, x", "row 3: has no id", "row 4, B3: tells no place", "row 5, B4, depth")
    for part in (*parts, "row 6, B5: lies"):
        assert part in words


@pytest.mark.parametrize(
    ("text", "words"),
    [("x,y\n1,2\n", "no column id"), ("id,x,x\nB1,1,2\n", "two columns x"), ("id,x,y\n", "no row")],
)
def test_a_list_without_its_columns_is_refused(text: str, words: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=words):
        listed(tmp_path, text)


@pytest.mark.parametrize("name", ["bores", thorough("leaning"), "trenches"])
def test_what_was_built_as_planned_deviates_by_nothing_and_passes(
    name: str, tmp_path: Path
) -> None:
    built = built_of(tmp_path, name, planned_rows(name))
    assert max(one.away_m for one in built.deviations) < 1e-4
    assert built.audit.passes


def test_what_the_rounding_of_the_list_explains_is_a_warning(tmp_path: Path) -> None:
    rows = [[name, round(x, 2), round(y, 2), deep] for name, x, y, deep in planned_rows("bores")]
    # the first bore a hundredth of a foot nearer to the second than it may be
    (_, x, y, _), (_, other_x, other_y, _) = rows[:2]
    apart = ((other_x - x) ** 2 + (other_y - y) ** 2) ** 0.5
    share = 1 - (20.0 - 0.01) / apart
    rows[0][1:3] = [x + share * (other_x - x), y + share * (other_y - y)]
    built = built_of(tmp_path, "bores", rows)
    found = [one for one in built.audit.findings if one.code == "within-rounding"]
    assert built.audit.passes
    assert found
    assert "within the rounding of the list" in in_words(found[0])


def test_a_bore_off_its_place_is_told_by_how_much_and_with_the_rule(tmp_path: Path) -> None:
    rows = planned_rows("bores")
    rows[0][1] += 3.0
    rows[0][2] += 4.0
    built = built_of(tmp_path, "bores", rows)
    # 3 ft east and 4 ft north are 5 ft
    assert built.farthest is not None
    assert built.farthest.name == rows[0][0]
    assert built.farthest.away_m == pytest.approx(5 * FOOT, abs=1e-4)
    assert "header-gap" not in {one.code for one in built.audit.findings}


def test_a_bore_shallower_than_planned_is_told_and_judged(tmp_path: Path) -> None:
    rows = planned_rows("bores")
    rows[0][3] = 140.0
    built = built_of(tmp_path, "bores", rows)
    found = {one.code: in_words(one) for one in built.audit.findings if one.subject == rows[0][0]}
    assert "was drilled 140.0 ft deep" in found["depth-drilled"]
    # the site file asks for 150 ft at least
    assert "the limit is 150.0 ft" in found["bore-depth"]
    assert "length" in {one.code for one in built.audit.findings}


def test_a_bore_left_out_counts_as_not_built(tmp_path: Path) -> None:
    built = built_of(tmp_path, "bores", planned_rows("bores")[1:])
    assert {"not-built", "length"} <= {one.code for one in built.audit.findings}


def test_a_field_half_built_lacks_its_other_half_in_one_sentence(tmp_path: Path) -> None:
    rows = planned_rows("trenches")
    ids = list(dict.fromkeys(row[0] for row in rows))
    assert len(ids) > 2
    built = built_of(tmp_path, "trenches", [row for row in rows if row[0] == ids[-1]])
    (told,) = [in_words(one) for one in built.audit.findings if one.code == "not-built"]
    assert f"not built: {', '.join(ids[:-1])}." in told


def test_a_bore_that_was_not_planned_is_judged_like_the_others(tmp_path: Path) -> None:
    rows = [*planned_rows("bores"), ["B99", 62.0, 35.0, 200.0]]
    built = built_of(tmp_path, "bores", rows)
    assert any("B99 is not on the plan" in in_words(one) for one in built.audit.findings)
    # 5 ft to the house at y = 40, less half a bore: the rule asks for 10 ft
    assert any(one.subject == "B99" and one.code == "separation" for one in built.audit.findings)
    assert built.deviations[-1].planned is None


def test_a_bore_listed_twice_is_refused(tmp_path: Path) -> None:
    rows = planned_rows("bores")
    with pytest.raises(InputError, match="stands in the list twice"):
        built_of(tmp_path, "bores", [*rows, rows[0]])


def test_a_trench_with_one_point_is_refused(tmp_path: Path) -> None:
    rows = planned_rows("trenches")
    with pytest.raises(InputError, match="a row for its start, for each bend, and for its end"):
        built_of(tmp_path, "trenches", rows[:1])


# Connecticut 25-128-62 (as built): coordinates to the fifth decimal of a degree, diameter, depth,
# spacing, measurements to at least two fixed points
def test_what_the_record_lacks_is_told_with_its_source(tmp_path: Path) -> None:
    rows = [[name, x, y, None] for name, x, y, _ in planned_rows("bores")]
    site, plan, _ = plan_of("bores")
    points = listed(tmp_path, text_of(rows), ties=())
    named = replace(site, books=("connecticut",))
    built = as_built("list.csv", named, plan.drawn.layout, points, ())
    lacking = {one.subject for one in built.audit.findings if one.code == "record-lacks"}
    assert lacking == {"coordinates", "depth"}
    assert "25-128-62" in str(built.audit.findings)


def test_where_no_book_lists_the_record_a_stand_in_is_told_as_a_note(tmp_path: Path) -> None:
    rows = [[name, x, y, None] for name, x, y, _ in planned_rows("bores")]
    findings = built_of(tmp_path, "bores", rows).audit.findings
    assert not [one for one in findings if one.code in ("record-lacks", "record-has")]
    told = next(one for one in findings if one.code == "record-lacks-elsewhere")
    assert told.severity == "note"
    assert "stand-in from elsewhere, this one lacks coordinates" in in_words(told.reason)


def test_coordinates_of_four_decimals_are_too_coarse_for_the_record(tmp_path: Path) -> None:
    site, plan, _ = plan_of("bores")
    frame = site_of("school").georeference
    first = plan.drawn.layout.elements[0]
    latitude, longitude = frame.latitude_longitude(first.x_m, first.y_m)
    text = f"id,latitude,longitude\n{first.id},{latitude:.4f},{longitude:.6f}\n"
    points = listed(tmp_path, text, ties=(), frame=frame)
    there = replace(site, georeference=frame, books=("connecticut",))
    built = as_built("list.csv", there, plan.drawn.layout, points, ())
    assert f"Write 5 decimals for {first.id}" in str(built.audit.findings)


@pytest.mark.parametrize("name", ["bores", "trenches"])
def test_drawing_and_summary_give_the_plan_to_compare_with(name: str, tmp_path: Path) -> None:
    site, plan, path = plan_of(name)
    (tmp_path / "summary.json").write_text(summary_json(plan.summary()), encoding="utf-8")
    for one in (path, tmp_path / "summary.json"):
        layout = planned_layout(one, site)
        assert [element.id for element in layout.elements] == [
            element.id for element in plan.drawn.layout.elements
        ]
        assert layout.length_m == pytest.approx(plan.drawn.layout.length_m, abs=1e-2)
        assert layout.header is not None


@pytest.mark.parametrize("content", ["{", "[]", "{}", '{"elements": 3}', "[" * 99_999])
def test_a_json_that_is_no_summary_is_refused(content: str, tmp_path: Path) -> None:
    path = tmp_path / "summary.json"
    path.write_text(content, encoding="utf-8")
    with pytest.raises(InputError, match=r"summary\.json: is no"):
        planned_layout(path, plan_of("bores")[0])


def test_a_summary_that_is_a_pipe_or_too_large_is_not_read(tmp_path: Path) -> None:
    pipe, large = tmp_path / "pipe.json", tmp_path / "large.json"
    os.mkfifo(pipe)
    large.write_bytes(b" " * (MOST_SUMMARY_BYTES + 1))
    for path, told in ((pipe, "is no file"), (large, r"20\.0 MB; 20 MB are read")):
        with pytest.raises(InputError, match=told):
            planned_layout(path, plan_of("bores")[0])


def test_the_list_is_completed_and_can_be_read_again(tmp_path: Path) -> None:
    rows = planned_rows("bores")
    rows[0][1] += 2.0
    built = built_of(tmp_path, "bores", rows)
    text = as_built_csv(built)
    first = next(csv.DictReader(io.StringIO(text)))
    assert float(first["dx_ft"]) == pytest.approx(2.0, abs=0.001)
    assert first["bearing"] == "N 90°00'00\" E"
    again = listed(tmp_path, text, ties=())
    assert again[0].at == pytest.approx(built.deviations[0].at, abs=1e-3)


def test_the_sheet_as_built_says_so_and_audits_as_what_it_is(tmp_path: Path) -> None:
    rows = planned_rows("bores")
    rows[0][2] += 1.0
    built = built_of(tmp_path, "bores", rows)
    told: list[str] = []
    paths = write_as_built(built, tmp_path / "out", advise=told.append)
    assert sorted(one.name for one in paths) == sorted([*FILES, SUMS_FILE])
    assert not told
    doc = ezdxf.readfile(tmp_path / "out/as-built.dxf")
    words = [one.dxf.text for one in texts_in(doc.layout("PLAN"))]
    assert any(one.startswith("AS-BUILT: Test lot") for one in words)
    assert "DEVIATIONS FROM THE PLAN" in words
    assert "+1.00" in words
    audit = audit_drawing(tmp_path / "out/as-built.dxf", plan_of("bores")[0])
    wanted = {one.code for one in built.audit.findings if one.severity == "error"}
    assert {one.code for one in audit.findings if one.severity == "error"} == wanted
    figures = json.loads((tmp_path / "out/as-built.json").read_text(encoding="utf-8"))
    assert figures["deviations"][0]["distance_m"] == pytest.approx(FOOT, abs=1e-3)


def test_files_as_built_are_not_replaced_unless_told(tmp_path: Path) -> None:
    (tmp_path / "as-built.csv").write_text("mine", encoding="utf-8")
    built = built_of(tmp_path / "..", "bores", planned_rows("bores"))
    with pytest.raises(ExportError, match=r"holds as-built\.csv already\. Say --force"):
        write_as_built(built, tmp_path)
    assert (tmp_path / "as-built.csv").read_text(encoding="utf-8") == "mine"


def test_the_same_list_gives_the_same_bytes(tmp_path: Path) -> None:
    built = built_of(tmp_path, "bores", planned_rows("bores"))
    for folder in ("one", "other"):
        write_as_built(built, tmp_path / folder)
    for name in FILES:
        assert (tmp_path / "one" / name).read_bytes() == (tmp_path / "other" / name).read_bytes()


def test_a_plan_without_elements_is_refused(tmp_path: Path) -> None:
    site, plan, _ = plan_of("bores")
    empty = plan.summary() | {"elements": [], "header": None}
    path = tmp_path / "summary.json"
    path.write_text(summary_json(empty), encoding="utf-8")
    with pytest.raises(InputError, match="has no element that could be built"):
        planned_layout(path, site)


def test_a_place_may_be_taped_from_any_two_tie_points(tmp_path: Path) -> None:
    ties = (
        TiePoint("A", (90.0, 0.0), "corner"), TiePoint("B", (20.0, 20.0), "corner"),
        TiePoint("C", (26.0, 20.0), "corner"),
    )  # fmt: skip
    # two right triangles of 3, 4 and 5 m over the line from B to C
    (point,) = listed(tmp_path, "id,B,C,side\nB1,5 m,5 m,north\n", ties=ties)
    assert point.at == pytest.approx((23.0, 24.0))


def test_a_header_of_a_summary_ends_at_the_very_place_of_its_entry(tmp_path: Path) -> None:
    site, plan, _ = plan_of("bores")
    x, y = (float(at) for at in plan.drawn.layout.header.entry.point.coords[0])
    # a place on the wall that lies at no tenth of a millimetre, to which a summary rounds
    at = Point(x + 4e-5, y)
    turned = replace(site, entries=(replace(site.entries[0], point=at),))
    path = tmp_path / "summary.json"
    path.write_text(summary_json(plan.summary()), encoding="utf-8")
    runs = planned_layout(path, turned).header.runs
    ends = {place for run in runs for place in run.coords}
    assert (at.x, at.y) in ends
    assert not any(0 < Point(place).distance(at) < 1e-3 for place in ends)
