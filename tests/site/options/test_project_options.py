"""The table [project]: texts of the title block and revisions."""

from __future__ import annotations

import datetime
from collections.abc import Callable
from pathlib import Path

import pytest

from siteplan.errors import InputError
from siteplan.site.project import Project, not_stated
from siteplan.site.readers.site_file import read_site

REVISION = '\n[[project.revision]]\ndate = 2026-04-01\ntext = "Bore B3 moved"\n[geometry]'


def read(text: str, write_site: Callable[..., Path]) -> Project:
    return read_site(write_site(text)).project


def test_revisions_are_numbered_in_the_order_of_the_file(lot_text, write_site) -> None:
    found = read(lot_text.replace("\n[geometry]", 2 * REVISION[:-10] + "[geometry]"), write_site)
    assert [(one.number, one.text) for one in found.revisions] == [
        ("1", "Bore B3 moved"),
        ("2", "Bore B3 moved"),
    ]
    assert found.revisions[0].date == datetime.date(2026, 4, 1)


def test_a_revision_keeps_its_own_letter(lot_text, write_site) -> None:
    named = REVISION.replace("date", 'number = "A"\ndate')
    found = read(lot_text.replace("\n[geometry]", named), write_site)
    assert found.revisions[0].number == "A"


def test_a_revision_without_date_and_text_is_a_fault(lot_text, write_site) -> None:
    bare = "\n[[project.revision]]\nnumber = 1\n[geometry]"
    with pytest.raises(InputError, match="revision 1, text: is missing") as told:
        read(lot_text.replace("\n[geometry]", bare), write_site)
    assert "revision 1, date: is missing" in str(told.value)


def test_a_number_that_stands_twice_is_a_fault(lot_text, write_site) -> None:
    twice = REVISION.replace("date", "number = 2\ndate")
    text = lot_text.replace("\n[geometry]", 2 * twice[:-10] + "[geometry]")
    with pytest.raises(InputError, match="number 2 stands twice"):
        read(text, write_site)


def test_who_prepared_a_plan_has_drawn_it_unless_another_is_named() -> None:
    base = Project("Field", "A. Owner", datetime.date(2026, 3, 14), prepared_by="P. Preparer")
    assert base.drawer == "P. Preparer"
    named = Project("Field", "A. Owner", base.date, prepared_by="P. Preparer", drawn_by="D. Drawer")
    assert named.drawer == "D. Drawer"


def test_no_sample_leaves_a_line_of_its_title_block_empty(sample: Path) -> None:
    for path in sample.rglob("*.toml"):
        assert not_stated(read_site(path).project) == ()
