"""Water over a bottom that falls evenly from the shore."""

from __future__ import annotations

import pytest
from even_pond import SHORE, SLOPE, site
from shapely import Point

from siteplan.checks.pond_depth import gauge_of


@pytest.mark.parametrize("depth", [2.0, 5.0])
@pytest.mark.parametrize("off", [0.5, 3.0, 6.5, 14.0, 16.0, 30.0])
def test_over_an_even_slope_the_water_grows_by_a_metre_for_each_three(
    off: float, depth: float
) -> None:
    gauge = gauge_of(site(depth).of_kind("pond")[0])
    # the shallowest water is at the edge that is nearest to the shore
    for wide in (0.0, 0.25):
        deep = min(depth, (off - wide) / SLOPE)
        assert gauge.least(Point(SHORE + off, 60.0), wide) == pytest.approx(deep)
