"""Every plan's own drawing audits clean; what is moved is judged as the checks judge it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from audit_lots import FOOT, audited, changed, codes, message, move, plan_of
from campaign import several, thorough
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from opened_again import opened_again
from shapely.affinity import translate

from siteplan.audit.audit import audit_drawing
from siteplan.available.prepared import lot_of
from siteplan.checks.check import check_layout
from siteplan.checks.separations import separations
from siteplan.checks.typed import with_all_broken
from siteplan.design.lay_out import with_way_in
from siteplan.layout.elements import Trench
from siteplan.rules.ruleset import rules_of

SAMPLES = ["good-aquifer", "rural-acre", "small-suburban"]
KINDS = ["sloped"]
MORE = [
    thorough(name)
    for name in ("farm-pond", "school", "shared-aquifer", "tight-lot", "flat-coil", "one-pipe")
]
SMALL = ["bores", "leaning", "trenches"]
COMPARED = {
    "attribute", "boundary", "count", "doubled", "edge", "entry", "exploded", "header-length",
    "header-missing", "header-point", "layer", "length-listed", "moved", "no-id", "not-in-table",
    "not-on-plan", "table", "table-separation", "tie", "width",
}  # fmt: skip


def nearby(one, other):
    """Whether two lists of separations agree, ties aside, to a millimetre."""
    pairs = zip(one, other, strict=True)
    return all(
        a.rule == b.rule and a.part == b.part and abs(a.provided_m - b.provided_m) < 1e-3
        for a, b in pairs
    )


@pytest.mark.parametrize("name", [*SMALL, *map(thorough, SAMPLES), *KINDS, *MORE])
def test_a_plans_own_drawing_has_its_separations_and_no_finding_of_its_own(name: str) -> None:
    site, plan, path = plan_of(name)
    audit = audit_drawing(path, site)
    assert nearby(audit.separations, plan.drawn.separations)
    lacking = set() if plan.fits else {"length"}
    assert codes(audit) == lacking, message(audit, "table-separation")
    assert audit.layout.length_m == pytest.approx(plan.drawn.layout.length_m, abs=1e-3)


@pytest.mark.parametrize("name", SMALL)
@pytest.mark.parametrize("version", ["R2010", "R2018"])
def test_a_drawing_saved_in_another_version_audits_the_same(
    name: str, version: str, tmp_path: Path
) -> None:
    site, plan, path = plan_of(name)
    doc = opened_again(path)
    doc.dxfversion = version
    doc.saveas(tmp_path / "plan.dxf")
    audit = audit_drawing(tmp_path / "plan.dxf", site)
    assert audit.passes
    assert nearby(audit.separations, plan.drawn.separations)


def shifted(element, dx, dy):
    if isinstance(element, Trench):
        return replace(element, line=translate(element.line, dx, dy))
    return replace(element, x_m=element.x_m + dx, y_m=element.y_m + dy)


@pytest.mark.parametrize("name", [*SMALL, "good-aquifer"])
@settings(max_examples=several(4, 100), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_one_element_moved_anyhow_gives_the_findings_of_the_checks(
    name: str, tmp_path: Path, data: st.DataObject
) -> None:
    site, plan, _ = plan_of(name)
    layout = plan.drawn.layout
    number = data.draw(st.integers(0, len(layout.elements) - 1))
    dx, dy = (data.draw(st.floats(-40.0, 40.0)) for _ in range(2))
    unit = site.unit.metres
    with changed(name, tmp_path) as doc:
        move(doc, layout.elements[number].id, dx / unit, dy / unit)
    audit = audited(name, tmp_path)
    elements = [*layout.elements]
    elements[number] = shifted(elements[number], dx, dy)
    there = with_way_in(replace(layout, elements=tuple(elements)), lot_of(site))
    rules = rules_of(site)
    every = with_all_broken(separations(site, there, rules), site, there, rules)
    wanted = check_layout(site, there, every, plan.drawn.required.length_m)
    found = [one for one in audit.findings if one.code not in COMPARED and one.severity == "error"]

    def told(findings):
        return sorted(
            (one.code, one.subject, one.rule, round(one.measured_m or 0.0, 2)) for one in findings
        )

    assert [row[:3] for row in told(found)] == [row[:3] for row in told(set(wanted))]
    for one, other in zip(told(found), told(set(wanted)), strict=True):
        assert one[3] == pytest.approx(other[3], abs=0.0101)


def test_a_bore_moved_by_two_feet_is_told_with_the_rule_it_breaks(tmp_path: Path) -> None:
    plan = plan_of("bores")[1]
    # the first bore beside another: 2 ft nearer than the 20 ft that the site file asks for
    first, second = plan.drawn.layout.elements[:2]
    apart = ((second.x_m - first.x_m) ** 2 + (second.y_m - first.y_m) ** 2) ** 0.5
    step = (apart - 18 * FOOT) / apart / FOOT
    with changed("bores", tmp_path) as doc:
        dx, dy = (second.x_m - first.x_m) * step, (second.y_m - first.y_m) * step
        move(doc, first.id, dx, dy)
    audit = audited("bores", tmp_path)
    assert "spacing" in codes(audit)
    assert "18.00 ft apart; the site file asks for 20.0 ft" in message(audit, "spacing")


def test_a_bore_moved_without_harm_is_told_as_moved_against_the_table(tmp_path: Path) -> None:
    with changed("bores", tmp_path) as doc:
        move(doc, "B1", 0.02, 0.0)
    audit = audited("bores", tmp_path)
    rules = {"separation", "spacing", "outside-parcel", "bore-depth", "trench-length", "length"}
    assert "moved" in codes(audit)
    assert not codes(audit) & rules
    # 0.02 ft, to the east
    assert "moved by 0.02 ft towards N 90°00'00\" E" in message(audit, "moved")
