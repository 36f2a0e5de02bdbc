"""A header pit read back from a drawing: untouched it is clean, moved or erased it is told."""

from __future__ import annotations

import ezdxf
import pytest
from audit_lots import LOT
from drawn_once import compose
from drawn_texts import texts_in

from siteplan.audit.audit import audit_drawing
from siteplan.audit.planned import planned_layout
from siteplan.export.dxf import write_dxf
from siteplan.export.tables import summary_json
from siteplan.plan import plan_site
from siteplan.sheet.style.styles import layer
from siteplan.site.readers.site_file import read_site

TEXT = (
    LOT
    + """
system = "vertical"
[vertical]
spacing = "20 ft"
depth = { least = "150 ft", most = "200 ft" }
grid = { corner = [80, 130], along = "N 90 E", rows = 2, columns = 3 }
length = { given = "1200 ft", by = "load calculation" }
[header]
layout = "header pit"
"""
)


@pytest.fixture(scope="module")
def drawn(tmp_path_factory):
    folder = tmp_path_factory.mktemp("pit")
    path = folder / "site.toml"
    path.write_text(TEXT, encoding="utf-8")
    plan = plan_site(read_site(path))
    write_dxf(compose(plan.content()), folder / "plan.dxf")
    (folder / "summary.json").write_text(summary_json(plan.summary()), encoding="utf-8")
    return plan, folder


def outline_of(doc):
    pits = [each for each in doc.modelspace() if each.dxf.layer == layer("header-pit")]
    assert len(pits) == 1
    return pits[0]


def audited_after(drawn, change):
    plan, folder = drawn
    doc = ezdxf.readfile(folder / "plan.dxf")
    change(outline_of(doc), doc)
    doc.saveas(folder / "changed.dxf")
    return {f.code: f for f in audit_drawing(folder / "changed.dxf", plan.site).findings}


def test_an_untouched_drawing_is_clean_and_has_the_pit_of_the_plan(drawn):
    plan, folder = drawn
    audit = audit_drawing(folder / "plan.dxf", plan.site)
    pit = plan.drawn.layout.header.pit
    assert audit.layout.header.pit.outline.hausdorff_distance(pit.outline) < 1e-3
    assert [f for f in audit.findings if f.severity in ("error", "warning")] == [
        f for f in plan.findings if f.severity in ("error", "warning") and f in audit.findings
    ]
    assert audit.passes


def test_a_pit_that_was_moved_is_off_its_places_and_off_the_header(drawn):
    found = audited_after(drawn, lambda pit, _: pit.translate(40, 0, 0))
    assert "pit-off-header" in found
    assert "HP" in found["header-point"].subject


def test_an_erased_pit_leaves_its_corners_off_the_header(drawn):
    found = audited_after(drawn, lambda pit, doc: doc.modelspace().delete_entity(pit))
    assert found["header-point"].subject.startswith("HP")


def test_a_pit_is_read_back_from_a_summary(drawn):
    plan, folder = drawn
    read = planned_layout(folder / "summary.json", plan.site).header.pit
    # the summary is rounded to a tenth of a millimetre or so
    assert read.outline.hausdorff_distance(plan.drawn.layout.header.pit.outline) < 1e-3


def test_the_plan_names_the_pit_and_lists_its_corners(drawn):
    _, folder = drawn
    texts = [e.dxf.text for e in texts_in(ezdxf.readfile(folder / "plan.dxf").modelspace())]
    assert "HEADER PIT 15' × 15'" in texts


def test_a_second_pit_is_told(drawn):
    def twice(pit, doc):
        doc.modelspace().add_entity(pit.copy())

    assert audited_after(drawn, twice)["doubled"].subject == "header pit"
