"""What gets lost in a drawing or is brought in: marks, lines, rows, ids, whole tables."""

from __future__ import annotations

from pathlib import Path

from audit_lots import LOT, TRENCHES, audited, changed, codes, marked, message, plan_of, symbol
from shapely import LineString

from siteplan.audit.audit import audit_drawing
from siteplan.site.readers.site_file import read_site

LINES = "LWPOLYLINE[layer=='M-GHEX-TRCH-N']"
EDGES = "LWPOLYLINE[layer=='M-GHEX-TRCH-EDGE-N']"
CROSSOVERS = "M-GHEX-PIPE-XOVR-N"


def line_of(doc, trench: str):  # type: ignore[no-untyped-def]
    """Centre line that starts at the mark of a trench."""
    x, y, _ = symbol(doc, trench).dxf.insert
    lines = doc.modelspace().query(LINES)
    return min(lines, key=lambda line: abs(line[0][0] - x) + abs(line[0][1] - y))


def reasons(audit, code: str) -> set[str]:  # type: ignore[no-untyped-def]
    """Codes of what an audit tells under one code."""
    return {one.values["told"].code for one in audit.findings if one.code == code}


def test_a_mark_whose_line_is_erased_is_told(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        line_of(doc, "T1").destroy()
    audit = audited("trenches", tmp_path)
    assert {"no-line", "not-on-plan"} <= codes(audit)
    assert reasons(audit, "no-line") == {"mark-without-line"}


def test_a_line_moved_to_another_layer_is_named_with_both_layers(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        line_of(doc, "T1").dxf.layer = "0"
    audit = audited("trenches", tmp_path)
    assert codes(audit) == {"layer"}
    assert reasons(audit, "layer") == {"line-on-wrong-layer"}
    assert "lies on layer 0, not on M-GHEX-TRCH-N" in message(audit, "layer")


def test_a_line_copied_without_its_mark_has_no_id(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        copy = line_of(doc, "T1").copy()
        doc.modelspace().add_entity(copy)
        copy.translate(7.0, 7.0, 0.0)
        handle = copy.dxf.handle
    audit = audited("trenches", tmp_path)
    assert reasons(audit, "no-id") == {"line-without-id"}
    assert handle in message(audit, "no-id")


def test_a_trench_drawn_wider_differs_from_the_site_file(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        line = LineString([point[:2] for point in line_of(doc, "T1")])
        middle = line.interpolate(0.5, normalized=True)
        wide = line.buffer(2.5, cap_style="flat")
        (edge,) = [
            one for one in doc.modelspace().query(EDGES)
            if LineString([point[:2] for point in one]).hausdorff_distance(wide.exterior) < 2.5
        ]  # fmt: skip
        assert wide.contains(middle)
        edge.set_points([*wide.exterior.coords][:-1], format="xy")
    audit = audited("trenches", tmp_path)
    assert reasons(audit, "width") == {"width-differs"}
    assert "T1 is drawn 5.00 ft wide, the site file says 2.00 ft" in message(audit, "width")


def test_a_crossover_where_one_trench_is_left_joins_nothing(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        model = doc.modelspace()
        for mark in list(model.query("INSERT")):
            name = mark.get_attrib_text("ELEMENT")
            if mark.dxf.name == "TRENCH-MARK" and name != "T1":
                line_of(doc, name).destroy()
                model.delete_entity(mark)
        added = model.add_lwpolyline([(20, 100), (20, 110)], dxfattribs={"layer": CROSSOVERS})
        handle = added.dxf.handle
    audit = audited("trenches", tmp_path)
    assert reasons(audit, "crossover") == {"crossover-of-nothing"}
    assert handle in message(audit, "crossover")


def test_a_drawing_without_any_element_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        for mark in list(doc.modelspace().query("INSERT")):
            if mark.dxf.name == "BORE":
                doc.modelspace().delete_entity(mark)
    audit = audited("bores", tmp_path)
    assert reasons(audit, "empty") == {"no-element-drawn"}


def test_a_symbol_of_another_loop_type_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        if "COIL" not in doc.blocks:
            doc.blocks.new("COIL")
        doc.modelspace().add_blockref("COIL", (150, 120), {"layer": "M-GHEX-BORE-N"})
    audit = audited("bores", tmp_path)
    assert reasons(audit, "loop-type") == {"of-another-loop-type"}


def test_an_entry_erased_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        for one in list(doc.modelspace().query("INSERT")):
            if one.dxf.name == "ENTRY":
                doc.modelspace().delete_entity(one)
    audit = audited("bores", tmp_path)
    assert reasons(audit, "entry") == {"no-entry-drawn"}


def test_a_second_boundary_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        copy = doc.modelspace().query("LWPOLYLINE[layer=='V-PROP-LINE-E']").first.copy()
        doc.modelspace().add_entity(copy)
        copy.translate(500.0, 0.0, 0.0)
    audit = audited("bores", tmp_path)
    assert reasons(audit, "boundary") == {"many-boundaries"}
    assert "2 boundaries lie on layer V-PROP-LINE-E" in message(audit, "boundary")


def test_an_element_whose_row_is_erased_is_not_in_the_table(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        for cell in marked(doc, "elements", row="B2"):
            cell.destroy()
    audit = audited("bores", tmp_path)
    assert reasons(audit, "not-in-table") == {"drawn-not-listed"}
    assert "B2" in message(audit, "not-in-table")


def test_a_kind_changed_in_the_attribute_is_told_against_the_symbol(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        symbol(doc, "B1").get_attrib("KIND").dxf.text = "coil"
    audit = audited("bores", tmp_path)
    assert codes(audit) == {"attribute"}
    assert "attribute KIND says coil, but its symbol is a bore" in message(audit, "attribute")


def test_an_attribute_emptied_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        symbol(doc, "B1").get_attrib("DEPTH").dxf.text = ""
    audit = audited("bores", tmp_path)
    assert "attribute DEPTH says nothing, but it has none" in message(audit, "attribute")


def test_a_coil_drawn_larger_differs_from_the_site_file(tmp_path: Path) -> None:
    with changed("coils", tmp_path) as doc:
        mark = symbol(doc, "C1")
        mark.dxf.xscale *= 1.1
        mark.dxf.yscale *= 1.1
    audit = audited("coils", tmp_path)
    assert reasons(audit, "size") == {"size-differs"}
    assert "C1 (handle" in message(audit, "size")


def test_a_point_of_the_header_listed_elsewhere_is_told(tmp_path: Path) -> None:
    with changed("trenches", tmp_path) as doc:
        (cell,) = marked(doc, "header", row="H1", column="east")
        # into the middle of nowhere
        cell.dxf.text = "190.00"
    audit = audited("trenches", tmp_path)
    assert reasons(audit, "header-point") == {"point-off-header"}
    assert "H1 stands in the table E 190.00" in message(audit, "header-point")


def test_a_table_erased_from_the_plan_is_told(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        for text in marked(doc, "separations"):
            text.destroy()
    audit = audited("bores", tmp_path)
    assert "table-gone-from-plan" in reasons(audit, "table")


def test_of_many_pieces_some_are_named(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        doc.layers.add("NOTES")
        for number in range(7):
            doc.modelspace().add_circle((50 + number, 50), 1, dxfattribs={"layer": "NOTES"})
    audit = audited("bores", tmp_path)
    (added,) = [one for one in audit.findings if one.code == "added"]
    pieces = added.values["told"].values["pieces"].values
    assert pieces["number"] == 7
    assert len(pieces["some"]) == 6
    assert pieces["more"].code == "and-more"


def test_a_drawing_of_a_loop_type_whose_length_nobody_states_is_not_judged_by_it(
    tmp_path: Path,
) -> None:
    # what is given is the length of bores; of trenches with four pipes nothing is screened
    text = LOT + TRENCHES.replace("[horizontal]", "[horizontal]\npipes = 4").replace(
        'length = { given = "500 ft", by = "load calculation" }',
        '[vertical]\nlength = { given = "600 ft", by = "load calculation" }',
    )
    path = tmp_path / "trenches.toml"
    path.write_text(text, encoding="utf-8")
    audit = audit_drawing(plan_of("trenches")[2], read_site(path))
    assert audit.required is None
    assert "length-not-stated" in {one.code for one in audit.findings}


def test_where_no_length_is_enough_the_length_is_not_judged(tmp_path: Path) -> None:
    # the fluid is warmer than the ground on its coldest day, as in tests/demand
    loads = """
[loads]
heating = "9 kW"
heating_hours = 2000
cop = 4.0
[ground]
temperature = "10 C"
swing = "12 K"
coldest_day = "4 February"
conductivity = "1.5 W/m.K"
diffusivity = "0.05 m2/day"
[fluid]
mixture = "methanol 15 %"
coldest = "9 C"
"""
    length = 'length = { given = "500 ft", by = "load calculation" }\n'
    path = tmp_path / "trenches.toml"
    path.write_text(LOT + TRENCHES.replace(length, "") + loads, encoding="utf-8")
    audit = audit_drawing(plan_of("trenches")[2], read_site(path))
    assert audit.required is None
    assert "length-not-judged" in {one.code for one in audit.findings}
