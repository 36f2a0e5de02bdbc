"""What the legend of a plan names."""

from __future__ import annotations

from dataclasses import replace

import pytest
from sheet_lots import suburban

from siteplan.sheet.pages.legend import legend_entries


@pytest.mark.parametrize("header", [True, False])
def test_the_legend_names_an_entry_that_no_header_reaches(header):
    content = suburban()
    if not header:
        content = replace(content, layout=replace(content.layout, header=None, elements=()))
    told = {entry.text for entry in legend_entries(content)}
    assert ("POSSIBLE ENTRY" in told) is not header
