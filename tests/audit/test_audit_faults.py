"""What a CAD user may do to a drawing, and what the audit says of it."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import pytest
from audit_lots import audited, changed, codes, message, move, plan_of, site_of, symbol
from drawn_texts import texts_in
from ezdxf.math import Matrix44
from wording import in_words

from siteplan.audit.audit import audit_drawing
from siteplan.errors import InputError


def test_an_element_erased_is_named_with_its_place_in_the_table(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        doc.modelspace().delete_entity(symbol(doc, "B2"))
    audit = audited("bores", tmp_path)
    assert {"not-on-plan", "count", "length"} <= codes(audit)
    assert "B2 stands in the table E " in message(audit, "not-on-plan")


def test_an_element_copied_is_named_with_both_handles(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        first = symbol(doc, "B1")
        copy = first.copy()
        doc.modelspace().add_entity(copy)
        copy.translate(3.0, 0.0, 0.0)
        handles = (first.dxf.handle, copy.dxf.handle)
    audit = audited("bores", tmp_path)
    assert {"doubled", "id", "count"} <= codes(audit)
    assert all(f"handle {one}" in message(audit, "doubled") for one in handles)


def test_a_symbol_without_id_is_named_by_its_handle_and_judged(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        added = doc.modelspace().add_blockref("BORE", (80, 90), {"layer": "M-GHEX-BORE-N"})
        handle = added.dxf.handle
    audit = audited("bores", tmp_path)
    assert f"(handle {handle}) at E 80.00 N 90.00 has no id" in message(audit, "no-id")
    assert f"The header does not reach handle {handle}." in message(audit, "header-gap")


def test_a_symbol_that_lost_its_attributes_takes_the_id_beside_it(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        symbol(doc, "B1").delete_all_attribs()
    audit = audited("bores", tmp_path)
    assert "taken for B1 beside it" in message(audit, "id-beside")
    assert "B1" in {one.id for one in audit.layout.elements}


def test_a_symbol_on_another_layer_is_named_with_both_layers(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        symbol(doc, "B1").dxf.layer = "0"
    audit = audited("bores", tmp_path)
    assert codes(audit) == {"layer"}
    assert "lies on layer 0, not on M-GHEX-BORE-N" in message(audit, "layer")


def test_a_header_moved_to_another_layer_is_missed(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        for one in doc.modelspace().query("LWPOLYLINE[layer=='M-GHEX-PIPE-N']"):
            one.dxf.layer = "0"
    audit = audited("bores", tmp_path)
    assert "layer M-GHEX-PIPE-N has no line" in message(audit, "header-missing")


def test_a_header_run_erased_is_told_by_its_length(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        runs = doc.modelspace().query("LWPOLYLINE[layer=='M-GHEX-PIPE-N']")
        doc.modelspace().delete_entity(runs.last)
    assert "header-length" in codes(audited("bores", tmp_path))


def test_an_entry_moved_is_told_against_the_site_file(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        entry = next(one for one in doc.modelspace().query("INSERT") if one.dxf.name == "ENTRY")
        entry.translate(3.0, 0.0, 0.0)
    audit = audited("bores", tmp_path)
    assert codes(audit) == {"entry"}
    assert "Move it back, or mend the site file" in message(audit, "entry")


def test_a_corner_of_the_boundary_moved_is_told_with_its_place(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        line = doc.modelspace().query("LWPOLYLINE[layer=='V-PROP-LINE-E']").first
        points = [tuple(point) for point in line]
        far = points.index(max(points, key=lambda point: point[0] + point[1]))
        points[far] = (points[far][0] + 5.0, *points[far][1:])
        line.set_points(points)
    audit = audited("bores", tmp_path)
    assert codes(audit) == {"boundary"}
    assert "up to 5.00 ft, at E 205.00 N 200.00" in message(audit, "boundary")


def test_a_boundary_shifted_as_a_whole_is_told_with_the_way_back(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        doc.modelspace().query("LWPOLYLINE[layer=='V-PROP-LINE-E']").first.translate(2, 0, 0)
    audit = audited("bores", tmp_path)
    assert "is drawn 2.00 ft towards N 90°00'00\" E" in message(audit, "boundary")


def test_a_boundary_erased_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        line = doc.modelspace().query("LWPOLYLINE[layer=='V-PROP-LINE-E']").first
        doc.modelspace().delete_entity(line)
    assert codes(audited("bores", tmp_path)) == {"boundary"}


def test_a_drawing_whose_units_were_changed_is_refused_with_the_scale(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        doc.header["$INSUNITS"] = 6
    # a foot taken for a metre: 1 / 0.3048 = 3.281 times as large
    with pytest.raises(InputError, match=r"3\.281 times as large.*Scale it by 0\.3048"):
        audited("bores", tmp_path)


def test_a_drawing_without_units_is_refused(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        doc.header["$INSUNITS"] = 0
    with pytest.raises(InputError, match=r"INSUNITS = 0.*Set the drawing's units"):
        audited("bores", tmp_path)


def test_a_drawing_of_another_site_is_refused() -> None:
    other = site_of("small-suburban")
    with pytest.raises(InputError, match=r"shows another site.*Name the site file"):
        audit_drawing(plan_of("bores")[2], other)


def test_a_dxf_that_is_no_plan_is_refused(tmp_path: Path) -> None:
    path = tmp_path / "other.dxf"
    ezdxf.new("R2013", units=2).saveas(path)
    with pytest.raises(InputError, match=r"other\.dxf: is no plan of siteplan"):
        audit_drawing(path, plan_of("bores")[0])


@pytest.mark.parametrize(
    "content", [b"", b"id,x,y\n", b"\x89PNG\r\n\x1a\n", b"  0\nSECTION\n  2\n"]
)
def test_a_file_that_is_no_dxf_is_refused(content: bytes, tmp_path: Path) -> None:
    path = tmp_path / "plan.dxf"
    path.write_bytes(content)
    with pytest.raises(InputError, match=r"plan\.dxf: is no"):
        audit_drawing(path, plan_of("bores")[0])


@pytest.mark.parametrize("share", [0.2, 0.5, 0.8])
def test_a_drawing_that_was_cut_off_is_refused(share: float, tmp_path: Path) -> None:
    whole = plan_of("bores")[2].read_bytes()
    (tmp_path / "plan.dxf").write_bytes(whole[: int(share * len(whole))])
    with pytest.raises(InputError, match=r"plan\.dxf"):
        audited("bores", tmp_path)


def test_a_dwg_is_refused_with_the_way_to_save_it(tmp_path: Path) -> None:
    path = tmp_path / "plan.dxf"
    path.write_bytes(b"AC1032\x00\x00")
    with pytest.raises(InputError, match=r"is a DWG, not a DXF\. Save it as DXF"):
        audit_drawing(path, plan_of("bores")[0])


def test_a_file_that_is_not_there_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        audit_drawing(tmp_path / "none.dxf", plan_of("bores")[0])


def test_a_fault_that_was_mended_on_reading_is_a_warning(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        symbol(doc, "B1").dxf.linetype = "NO-SUCH-LINETYPE"
    audit = audited("bores", tmp_path)
    assert audit.passes
    assert "NO-SUCH-LINETYPE" in message(audit, "repaired").upper()


def test_symbols_that_were_exploded_are_named_with_their_handles(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        symbol(doc, "B1").explode()
        circle = doc.modelspace().query("CIRCLE").first.dxf.handle
    audit = audited("bores", tmp_path)
    assert {"exploded", "not-on-plan"} <= codes(audit)
    assert circle in message(audit, "exploded")
    assert "B1 stands in the table" in message(audit, "not-on-plan")


def test_a_trench_moved_without_its_mark_is_told(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        symbol(doc, "T1").translate(4.0, 0.0, 0.0)
    audit = audited("trenches", tmp_path)
    assert "mark-off-line" in codes(audit)
    assert "moved" not in codes(audit)  # the place is that of the line


def test_a_trench_edge_moved_without_its_line_is_told(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        doc.modelspace().query("LWPOLYLINE[layer=='M-GHEX-TRCH-EDGE-N']").first.translate(5, 5, 0)
    assert codes(audited("trenches", tmp_path)) == {"edge"}


def test_a_trench_line_stretched_differs_from_table_and_attribute(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        line = doc.modelspace().query("LWPOLYLINE[layer=='M-GHEX-TRCH-N']").first
        (x, y, *_), *inner, (end_x, end_y, *_) = [tuple(point) for point in line]
        points = [(x, y), *(point[:2] for point in inner)]
        line.set_points([*points, ((x + end_x) / 2, (y + end_y) / 2)], format="xy")
    assert {"attribute", "moved", "length-listed", "edge"} <= codes(audited("trenches", tmp_path))


def test_a_depth_changed_in_the_attribute_differs_from_the_site_and_is_judged(
    tmp_path: Path,
) -> None:
    with changed("bores", tmp_path) as doc:
        symbol(doc, "B1").get_attrib("DEPTH").dxf.text = "100'"
    audit = audited("bores", tmp_path)
    assert {"bore-depth", "length"} <= codes(audit)


def test_an_attribute_that_is_no_length_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        symbol(doc, "B1").get_attrib("DEPTH").dxf.text = "deep"
    assert "'deep' is no length" in message(audited("bores", tmp_path), "attribute")


def test_a_figure_changed_in_the_table_differs_from_the_drawing(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        words = list(texts_in(doc.layout("PLAN")))
        head = next(one for one in words if one.dxf.text == "PROV'D")
        below = [
            one for one in words
            if abs(one.at[0] - head.at[0]) < 0.01
            and one.at[1] < head.at[1]
        ]  # fmt: skip
        max(below, key=lambda one: one.at[1]).dxf.text = "3.0'"
    audit = audited("bores", tmp_path)
    assert codes(audit) == {"table-separation"}
    assert "The table of separations says 3.00 ft" in message(audit, "table-separation")


def test_a_leaning_bore_whose_course_is_erased_differs_from_its_tilt(tmp_path: Path) -> None:
    with changed("leaning", tmp_path) as doc:
        for line in doc.modelspace().query("LWPOLYLINE[layer=='M-GHEX-BORE-INCL-N']"):
            doc.modelspace().delete_entity(line)
    assert "its course is drawn at 0.0 deg" in message(audited("leaning", tmp_path), "attribute")


def test_an_element_that_left_the_parcel_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        move(doc, "B1", 300.0, 0.0)
    assert {"outside-parcel", "separation"} <= codes(audited("bores", tmp_path))


def test_a_header_exploded_to_single_lines_is_named(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        for one in doc.modelspace().query("LWPOLYLINE[layer=='M-GHEX-PIPE-N']"):
            one.explode()
        line = doc.modelspace().query("LINE").first.dxf.handle
    audit = audited("bores", tmp_path)
    assert {"exploded", "header-missing"} <= codes(audit)
    assert f"{line} on layer M-GHEX-PIPE-N" in message(audit, "exploded")


def test_an_element_packed_into_another_block_is_missed_and_the_block_named(
    tmp_path: Path,
) -> None:
    with changed("bores", tmp_path) as doc:
        mark = symbol(doc, "B1")
        block = doc.blocks.new("GROUP-1")
        doc.modelspace().unlink_entity(mark)
        block.add_entity(mark)
        doc.modelspace().add_blockref("GROUP-1", (0, 0))
    audit = audited("bores", tmp_path)
    assert "not-on-plan" in codes(audit)
    assert "block GROUP-1" in message(audit, "exploded")


def test_a_drawing_converted_to_metres_audits_as_before(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        for one in doc.modelspace().query("INSERT LWPOLYLINE TEXT MTEXT LEADER"):
            one.transform(Matrix44.scale(0.3048))
        doc.header["$INSUNITS"] = 6
    audit = audited("bores", tmp_path)
    assert audit.passes, [in_words(one) for one in audit.findings]


def test_things_of_any_other_type_are_named_and_stop_nothing(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        model = doc.modelspace()
        added = [
            model.add_point((1, 2)),
            model.add_ellipse((1, 2), (3, 0)),
            model.add_spline([(0, 0), (1, 2), (3, 1)]),
            model.add_3dface([(0, 0), (1, 0), (1, 1)]),
            model.add_ray((0, 0), (1, 0)),
        ]
        model.add_polyline3d([(0, 0, 1), (1, 1, 1)])
        model.add_polymesh((3, 3))
        model.add_mtext("a note")
    audit = audited("bores", tmp_path)
    assert codes(audit) == {"exploded"}
    assert all(one.dxftype() in message(audit, "exploded") for one in added)


def test_a_polyline_with_an_arc_is_read_along_the_arc(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        line = doc.modelspace().query("LWPOLYLINE[layer=='V-PROP-LINE-E']").first
        points = [(point[0], point[1], 1.0 if number == 0 else 0.0)
                  for number, point in enumerate(line)]  # fmt: skip
        line.set_points(points, format="xyb")
    # a side of 200 ft made a half circle: 100 ft beyond the parcel, or within it
    assert "up to 100.00 ft" in message(audited("bores", tmp_path), "boundary")


def test_what_somebody_added_on_a_layer_of_his_own_is_a_warning(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        doc.layers.add("NOTES")
        doc.modelspace().add_circle((50, 50), 3, dxfattribs={"layer": "NOTES"})
    audit = audited("bores", tmp_path)
    assert audit.passes
    assert "on layer NOTES E 50.00 N 50.00" in message(audit, "added")
