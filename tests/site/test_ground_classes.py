"""Soils and rocks against the published table of their conductivity."""

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
def test_rocks_lie_within_the_ranges_of_the_published_table(names, low, high):
    for name in names:
        least, most = ground_classes()[name].conductivities
        assert low * INCH_UNIT <= least < most <= high * INCH_UNIT
        assert ground_classes()[name].conductivity == least


LOW_DESIGN = {"sand": 0.78, "silt": 1.64, "clay": 1.12, "loam": 0.95}
"""ASHRAE Handbook, Fundamentals, the same table in SI units: recommended for design, low [W/(m K)].

5.4, 11.4, 7.8 and 6.6 Btu in/h ft2 F, which is 0.45, 0.95, 0.65 and 0.55 Btu/h ft F.
"""


@pytest.mark.parametrize(("soil", "low"), LOW_DESIGN.items())
def test_a_soil_named_is_reckoned_with_its_low_value_for_design(soil, low):
    # printed to two places
    assert ground_classes()[soil].conductivity == pytest.approx(low, abs=0.007)
    assert ground_classes()[soil].basis == (
        f"{soil}, low design value of {soil} in ASHRAE Handbook, Fundamentals"
    )


def test_no_soil_named_conducts_more_than_its_low_value_for_design():
    soils = {name: one for name, one in ground_classes().items() if one.published.design}
    assert len(soils) == 12
    for name, one in soils.items():
        low = next(value for soil, value in LOW_DESIGN.items() if soil in name)
        assert one.conductivity <= low + 0.007, name


def test_a_light_dry_clay_conducts_less_than_the_design_value_of_clay():
    # by density and moisture 0.3 Btu/h ft F: common practice, no source
    light = ground_classes()["light clay, 5 % water"]
    assert light.conductivity == pytest.approx(0.3 * 1.730735, rel=1e-5)
    assert light.basis.endswith("below that for clay in ASHRAE Handbook, Fundamentals")
