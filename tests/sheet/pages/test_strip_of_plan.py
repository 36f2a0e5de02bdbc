"""What the strip beside a plan lists."""

from __future__ import annotations

from sheet_lots import suburban

from siteplan.sheet.kept import composing
from siteplan.sheet.model import Text
from siteplan.sheet.pages.compose import surely_arranged
from siteplan.sheet.style.paper import paper
from siteplan.site.sheet_options import SheetOptions


def test_elements_that_the_strip_cannot_list_are_counted():
    content = suburban(bores=120, sheet=SheetOptions("ANSI B", 600))
    with composing():
        strip = surely_arranged(content, paper("ANSI B").shrunk()).strip
    words = [item.text for item in strip if isinstance(item, Text)]
    listed = {word for word in words if word.startswith("B") and word[1:].isdigit()}
    assert 0 < len(listed) < 120
    assert f"{120 - len(listed)} more: see elements.csv" in words
