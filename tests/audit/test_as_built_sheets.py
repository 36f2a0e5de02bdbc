"""The sheets as built: what they say, and where."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from as_built_lists import TIES, built_of, listed, planned_rows, text_of
from audit_lots import FOOT, plan_of
from shapely import LineString, Point

from siteplan.audit import sheet as record_sheet
from siteplan.audit.as_built import as_built
from siteplan.audit.package import write_as_built
from siteplan.audit.sheet import (
    as_built_content,
    as_built_sheets,
    deviation_row,
    deviations_of,
    verdict_words,
)
from siteplan.errors import ExportError
from siteplan.findings.words import words_of
from siteplan.sheet.content.setting_out import record_ties
from siteplan.sheet.model import Text
from siteplan.units.systems import US

pytestmark = pytest.mark.usefixtures("coarse")


def test_the_sheet_as_built_names_its_own_files(tmp_path: Path) -> None:
    rows = [[name, x, y + 60.0, deep] for name, x, y, deep in planned_rows("trenches")]
    built = built_of(tmp_path, "trenches", rows)
    findings = built.audit.findings * 12  # more than the notes of a sheet have room for
    grave = [words_of(one, US, on_paper=True) for one in findings if one.severity != "note"]
    many = replace(built, audit=replace(built.audit, findings=findings))
    sheets = as_built_sheets(many)[0]
    words = " ".join(one.text for sheet in sheets for one in sheet.of_type(Text))
    # whoever holds the set has all that is wrong in it
    assert len(grave) > 12
    assert sum(words.upper().count(one.upper()) for one in dict.fromkeys(grave)) >= len(grave)
    assert "in the report" not in words
    assert "summary.json" not in words
    assert "elements.csv" not in words


def test_the_sheet_as_built_is_taped_from_the_tie_points_of_the_plan(tmp_path: Path) -> None:
    site, plan, _ = plan_of("bores")
    far = [[name, x + 20.0, y + 30.0, deep] for name, x, y, deep in planned_rows("bores")]
    built = built_of(tmp_path, "bores", far)
    assert built.ties == record_ties(site, plan.drawn.layout)
    assert as_built_content(built).tie_points == built.ties


def texts_as_built(built) -> list[list[str]]:
    """Texts of each sheet as built."""
    return [[one.text for one in sheet.of_type(Text)] for sheet in as_built_sheets(built)[0]]


def test_deviations_without_room_on_the_plan_stand_on_a_sheet_of_tables(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(record_sheet, "MOST_ROWS", 1)
    built = built_of(tmp_path, "bores", planned_rows("bores"))
    plan, *others = texts_as_built(built)
    assert "DEVIATIONS FROM THE PLAN" not in plan
    assert "DEVIATIONS FROM THE PLAN" in others[-1]
    told: list[str] = []
    paths = write_as_built(built, tmp_path / "out", advise=told.append)
    assert not told
    assert "as-built-L2.png" in {one.name for one in paths}


def test_a_set_as_built_leaves_no_picture_of_an_older_one(tmp_path: Path) -> None:
    (tmp_path / "out").mkdir()
    (tmp_path / "out/as-built-L7.png").write_text("old", encoding="utf-8")
    built = built_of(tmp_path, "bores", planned_rows("bores"))
    with pytest.raises(ExportError, match=r"holds as-built-L7\.png already"):
        write_as_built(built, tmp_path / "out")
    write_as_built(built, tmp_path / "out", force=True)
    assert not (tmp_path / "out/as-built-L7.png").exists()


def test_what_was_not_built_and_what_is_too_short_stand_on_the_plan_sheet(tmp_path: Path) -> None:
    first, *rows = planned_rows("bores")
    rows[0][3] -= 4.0
    plan = texts_as_built(built_of(tmp_path, "bores", rows))[0]
    words = " ".join(plan)
    assert f"not built: {first[0]}" in words
    assert f"shallower than planned: {rows[0][0]}" in words
    assert "NOT BUILT" in plan


def test_the_table_of_deviations_has_depths_and_what_they_are_short_of(tmp_path: Path) -> None:
    rows = planned_rows("bores")
    planned = rows[0][3]
    rows[0][3] = planned - 4.0
    told = deviations_of(built_of(tmp_path, "bores", rows))
    assert told.titles[-2:] == ("DEPTH", "SHORT")
    assert told.rows[0][-2:] == (f"{planned - 4.0:.1f}", "4.0")
    assert told.rows[1][-1] == "-"


def test_the_legend_as_built_speaks_of_nothing_new(tmp_path: Path) -> None:
    plan = texts_as_built(built_of(tmp_path, "bores", planned_rows("bores")))[0]
    assert "BORE AS BUILT" in plan
    assert not any("NEW" in one.split() for one in plan)


def test_a_deviation_is_rounded_alike_on_the_sheet_and_in_the_table(tmp_path: Path) -> None:
    rows = planned_rows("bores")
    # 5.5 ft east and 1.5 ft south: 5.7009 ft
    rows[0][1] += 5.5
    rows[0][2] -= 1.5
    built = built_of(tmp_path, "bores", rows)
    assert "5.70 ft" in verdict_words(built)
    assert deviation_row(built.deviations[0], US)[3] == "5.70"


def test_a_header_that_passes_a_bore_without_a_corner_leads_to_where_it_was_drilled(
    tmp_path: Path,
) -> None:
    site, plan, _ = plan_of("bores")
    layout = plan.drawn.layout
    one, other = layout.elements[:2]
    step = (other.x_m - one.x_m, other.y_m - one.y_m)
    # straight from as far before the first bore through it to the second
    run = LineString([(one.x_m - step[0], one.y_m - step[1]), (other.x_m, other.y_m)])
    passing = replace(layout, header=replace(layout.header, runs=(run,)))
    rows = planned_rows("bores")
    rows[0][2] += 2.0
    points = listed(tmp_path, text_of(rows))
    built = as_built("as-built.csv", site, passing, points, TIES)
    (bent,) = built.audit.layout.header.runs
    assert bent.distance(Point(one.x_m, one.y_m + 2.0 * FOOT)) < 1e-3
