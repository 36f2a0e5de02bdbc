"""Where the groundwater flows to can be read on the plan."""

from __future__ import annotations

import math

import pytest
from planned import full_set

from siteplan.sheet.model import Polyline, Text
from siteplan.sheet.plan_view.groundwater import WORDS
from siteplan.sheet.style.styles import layer


def shaft_of(name: str) -> tuple[tuple[float, float], ...]:
    """The arrow on the plan sheet, from its tail to its tip."""
    plan = full_set(name)[0]
    lines = [line for line in plan.of_type(Polyline) if line.layer == layer("flow")]
    (shaft,) = [line.path for line in lines if line.style == "arrow" and len(line.path) == 2]
    assert WORDS in {text.text for text in plan.of_type(Text)}
    return shaft


@pytest.mark.parametrize(
    ("name", "azimuth"),
    # as the site files state it: N 20 W, S 50 W
    [("good-aquifer", 340.0), ("shared-aquifer", 230.0)],
)
def test_an_arrow_on_the_plan_points_down_the_stated_flow(name: str, azimuth: float) -> None:
    (x, y), (to_x, to_y) = shaft_of(name)
    found = math.degrees(math.atan2(to_x - x, to_y - y)) % 360
    assert found == pytest.approx(azimuth, abs=0.01)
