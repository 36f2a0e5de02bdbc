"""The title block: all from the site file, what is missing is told, revisions have a table."""

from __future__ import annotations

import datetime
from dataclasses import replace

from sheet_lots import suburban
from wording import in_words

from siteplan.advisories.requirements import title_block_finding
from siteplan.sheet.content.content import PlanContent
from siteplan.sheet.model import Text
from siteplan.sheet.pages.title_block import MOST_REVISIONS, revisions_block, title_block
from siteplan.site.project import Revision

WIDTH = 90.0
WHOLE = {
    "legal_description": "Lot 3, Alder Bend plat",
    "checked_by": "C. Checker",
    "contractor": "Sampleton Drilling",
    "license_number": "D-0001",
}


def with_project(**changes) -> PlanContent:
    content = suburban()
    project = replace(content.site.project, **changes)
    return replace(content, site=replace(content.site, project=project))


def words(block) -> list[str]:
    return [item.text for item in block.items if isinstance(item, Text)]


def title_words(content) -> str:
    return " ".join(words(title_block(content, WIDTH, scale="1 in = 20 ft")))


def test_every_text_of_the_site_file_stands_in_the_block():
    found = title_words(with_project(**WHOLE, drawn_by="D. Drawer"))
    for value in (*WHOLE.values(), "D. Drawer", "A. Owner", "12-034-007", "P. Preparer"):
        assert value in found


def test_a_text_that_is_missing_is_named_and_not_left_blank():
    found = title_words(suburban())
    assert "NOT STATED: LEGAL, CHECKED, CONTRACTOR, LICENSE" in found
    assert "DRAWN P. Preparer CHECKED NOT STATED REVISION NONE" in found


def test_a_whole_block_names_nothing_as_missing():
    assert "NOT STATED" not in title_words(with_project(**WHOLE))


def test_what_is_missing_is_one_warning_that_names_the_keys():
    (finding,) = title_block_finding(suburban().site.project)
    assert finding.severity == "warning"
    for key in WHOLE:
        assert key in in_words(finding)
    assert title_block_finding(with_project(**WHOLE).site.project) == ()


def revised(count: int) -> PlanContent:
    day = datetime.date(2026, 4, 1)
    return with_project(
        revisions=tuple(Revision(str(k), day, f"Bore B{k} moved") for k in range(1, count + 1))
    )


def test_a_plan_without_revisions_has_no_table_of_them():
    assert revisions_block(suburban(), WIDTH) is None


def test_each_revision_has_a_row_with_number_date_and_text():
    block = revisions_block(revised(2), WIDTH)
    assert block is not None
    assert words(block)[3:] == [
        "1",
        "2026-04-01",
        "Bore B1 moved",
        "2",
        "2026-04-01",
        "Bore B2 moved",
    ]


def test_of_many_revisions_the_last_have_a_row_and_the_others_are_counted():
    count = MOST_REVISIONS + 3
    block = revisions_block(revised(count), WIDTH)
    assert block is not None
    assert words(block)[-1] == "3 earlier ones stand on earlier prints."
    assert f"Bore B{count} moved" in words(block)
