"""``siteplan schema``: what it prints, and the page that it brings up to date."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from siteplan.cli import main
from siteplan.site.options.schema import site_schema

PAGE = "<!-- options of rig -->\n<!-- end of options -->\n"


def test_it_prints_the_schema_and_nothing_else(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["schema"]) == 0
    printed = capsys.readouterr()
    # as JSON has it: lists, and no dates
    assert json.loads(printed.out) == json.loads(json.dumps(site_schema()))
    assert printed.err == ""
    assert printed.out.isascii()  # whatever the code page of a terminal


def test_help_names_it(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit, match="0"):
        main(["--help"])
    assert "schema" in capsys.readouterr().out


def test_it_brings_the_tables_of_a_page_up_to_date(tmp_path: Path) -> None:
    page = tmp_path / "page.md"
    page.write_text(PAGE, encoding="utf-8")
    assert main(["schema", "--tables", str(page)]) == 0
    assert "| `mast` | length > 0 | 30 ft |" in page.read_text(encoding="utf-8")


def test_a_page_that_is_not_there_or_names_no_table_is_a_fault(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["schema", "--tables", str(tmp_path / "none.md")]) == 2
    assert "none.md: cannot be written" in capsys.readouterr().err
    page = tmp_path / "page.md"
    page.write_text(PAGE.replace("rig", "rigg"), encoding="utf-8")
    assert main(["schema", "--tables", str(page)]) == 2
    assert "page.md: names the table 'rigg', unknown." in capsys.readouterr().err
    assert page.read_text(encoding="utf-8") == PAGE.replace("rig", "rigg")
