"""The options of the site file as tables of a page."""

from __future__ import annotations

import pytest

from siteplan.site.options.tables import options_table, with_tables

PAGE = "before\n<!-- options of excavator -->\nold\n<!-- end of options -->\nafter\n"


def row_of(table: str, key: str) -> list[str]:
    rows = [line.strip("| ").split(" | ") for line in options_table(table).splitlines()]
    return next(row for row in rows if row[0].strip("*") == f"`{key}`")


def test_what_stands_around_a_table_stays() -> None:
    page = with_tables(PAGE)
    assert page.startswith("before\n<!-- options of excavator -->\n| key |")
    assert page.endswith("|\n<!-- end of options -->\nafter\n")
    assert "old" not in page
    assert with_tables(page) == page


def test_a_marker_of_no_table_is_refused() -> None:
    with pytest.raises(KeyError, match="diger"):
        with_tables(PAGE.replace("excavator", "diger"))


def test_a_row_has_key_value_limits_default_and_meaning() -> None:
    assert row_of("rig", "width")[:3] == ["`width`", "length > 0", "8 ft"]
    assert row_of("rig", "turning")[1] == "length ≥ 0"
    assert row_of("project", "title")[::2] == ["**`title`**", "required"]
    # -5 C to 40 C are 23 F to 104 F
    assert row_of("fluid", "coldest")[1] == "temperature 23 °F to 104 °F (-5 °C to 40 °C)"
    assert row_of("horizontal", "protection")[1:3] == ["one of `slope`, `shield`", "`shield`"]
    assert row_of("circuits", "count")[3].endswith("; such as `4`")


def test_tables_within_a_table_are_listed_with_it_and_what_is_alike_once() -> None:
    assert row_of("vertical", "grid.rows")[2] == "required"
    assert "length.given" in options_table("exchanger")
    assert "length.given" not in options_table("vertical")
