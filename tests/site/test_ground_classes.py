"""Soils and rocks against another published table."""

import pytest

from siteplan.site.ground_classes import ground_classes

INCH_UNIT = 0.144228
"""W/(m K) of one Btu in/(h ft2 F): 0.293071 W / (0.09290304 m2 x 5/9 K / 0.0254 m)."""


@pytest.mark.parametrize(
    ("names", "low", "high"),
    # ASHRAE Handbook, Fundamentals, conductivity of soils and rocks [Btu in/h ft2 F]; its sandstone
    # is quartzose, its limestone stands with dolomite and marble
    [(("granite",), 12, 30), (("limestone",), 8.4, 30), (("sandstone",), 9.6, 54),
     (("wet shale", "dry shale"), 6, 27.6), (("basalt",), 3.6, 18)],
)  # fmt: skip
def test_rocks_lie_within_the_ranges_of_another_table(names, low, high):
    for name in names:
        least, most = ground_classes()[name].conductivities
        assert low * INCH_UNIT <= least < most <= high * INCH_UNIT
