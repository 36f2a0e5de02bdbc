"""A header trench of which nobody states the depth lies with all its pipe below frost."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from planned import unweighed

from siteplan.plan import SitePlan
from siteplan.site.readers.site_file import read_site

FOOT, INCH = 0.3048, 0.0254
# eight circuits of 3/4 in, each led home: eight pipes on a side of a trench 24 in wide, where three
# lie beside each other, so there are three layers
TABLES = """
[ground]
frost = "4.5 ft"
[circuits]
pipe = "3/4 in"
[vertical]
count = 8
depth = "100 ft"
[header]
layout = "home run"
"""
LAYERS_M = (3 + 1.05 + 2 * 1.5 * 1.05) * INCH
"""From the bottom to the top of the uppermost pipe, 1.05 in across (ASTM D3035), half a diameter of
sand between them, on 3 in of sand; common practice, no source."""


@pytest.fixture
def planned(lot_text: str, write_site: Callable[..., Path]) -> Callable[[str], SitePlan]:
    def plan(more: str) -> SitePlan:
        text = lot_text.replace('capacity = "2 ton"', 'length = { given = "800 ft", by = "test" }')
        return unweighed(read_site(write_site(text + TABLES + more)), "vertical")

    return plan


def test_all_its_pipe_lies_below_frost(planned: Callable[[str], SitePlan]) -> None:
    plan = planned("")
    piping = plan.drawn.layout.piping
    assert piping.depth_m - LAYERS_M >= 4.5 * FOOT
    # and no deeper than the next tenth of a foot
    assert piping.depth_m - 0.1 * FOOT - LAYERS_M < 4.5 * FOOT
    assert "header-in-frost" not in {finding.code for finding in plan.drawn.findings}


def test_a_depth_that_is_stated_stays(planned: Callable[[str], SitePlan]) -> None:
    plan = planned('depth = "5 ft"\n')
    assert plan.drawn.layout.piping.depth_m == pytest.approx(5 * FOOT)
    assert "header-in-frost" in {finding.code for finding in plan.drawn.findings}
