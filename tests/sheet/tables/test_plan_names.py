"""Notes of the sheet speak of features by the names that stand on the plan."""

from __future__ import annotations

from dataclasses import replace

import sheet_lots
from planned import planned
from shapely import LineString, Polygon

from siteplan.findings.model import Finding, reason
from siteplan.sheet.model import Text
from siteplan.sheet.tables.comparison import comparison_block
from siteplan.sheet.tables.plan_names import as_on_plan, on_plan, plan_names
from siteplan.site.model import Feature

POND = Feature("p", "pond", Polygon([(0, 0), (9, 0), (9, 9)]))
LINES = tuple(
    Feature(name, "overhead power line", LineString([(0, y), (9, y)]))
    for name, y in (("oh", 3), ("service", 5))
)


def lot():
    site = sheet_lots.suburban().site
    return replace(site, features=(POND, *LINES))


def test_what_has_no_label_is_called_by_its_kind_and_its_id_where_there_are_two() -> None:
    assert plan_names(lot()) == {
        "p": "POND",
        "oh": "OVERHEAD POWER OH",
        "service": "OVERHEAD POWER SERVICE",
    }


def test_subject_and_reasons_within_have_the_names_of_the_plan() -> None:
    inner = reason(
        "line-kept-off", clearance="10 ft", line="oh", voltage=reason("voltage-not-stated")
    )
    finding = Finding("works-near-line", subject="p", values={"lines": (inner,), "kind": "p"})
    said = as_on_plan(finding, lot())
    assert said.subject == "POND"
    (told,) = said.values["lines"]
    assert told.values["line"] == "OVERHEAD POWER OH"
    # a word that happens to be an id stays what it is
    assert said.values["kind"] == "p"
    assert on_plan(inner, lot()) == told


def test_a_building_is_called_as_on_the_plan() -> None:
    # the id of a feature is no word of the sheet, whichever kind it is of
    told = as_on_plan(Finding("entry-assumed", subject="E1", values={"building": "p"}), lot())
    assert told.values["building"] == "POND"


def test_what_is_no_feature_keeps_its_name() -> None:
    assert as_on_plan(Finding("separation", subject="B9"), lot()).subject == "B9"


def test_what_loop_types_take_is_told_with_the_names_of_the_plan() -> None:
    # the maple of the farm has its name on the plan, and its id is no word of the sheet
    content = planned("farm-pond").content()
    tightest = [taken.tightest for taken in content.compared if taken.tightest is not None]
    names = plan_names(content.site)
    ids = {row.feature for row in tightest} & names.keys()
    assert ids
    block = comparison_block(content, 100.0)
    assert block is not None
    said = " ".join(item.text for item in block.items if isinstance(item, Text))
    for name in ids:
        assert f" to {names[name]}:" in said
        assert f" to {name}:" not in said
