"""What the calculated year of a pond's water says about a design with coils."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from planned import planned_once
from wording import in_words

from siteplan.findings.model import Finding
from siteplan.plan import SitePlan
from siteplan.site.readers.site_file import read_site

LOT = """\
[project]
title = "Lot with a pond"
owner = "A. Owner"
date = 2026-03-14

[geometry]
parcel = [[0, 0], [220, 0], [220, 240], [0, 240]]

[[feature]]
id = "house"
kind = "building"
area = [[80, 20], [120, 20], [120, 50], [80, 50]]

[[feature]]
id = "pond"
kind = "pond"
area = [[20, {south}], [200, {south}], [200, 220], [20, 220]]
depth = "{depth} ft"
side_slope = 0

[exchanger]
system = "pond"
entry = [100, 50]

[pond]
water_depth = "{over} ft"
{pond}
[loads]
heating = "{load} MBH"
heating_hours = 2000

[ground]
temperature = "48 F"
soil = "loam"

[fluid]
coldest = "28 F"
mixture = "propylene glycol 30 %"
{weather}
"""
WEATHER = """
[weather]
source = "climate normals"
latitude = 44.8
air = ["-9 C", "-7 C", "-1 C", "7 C", "13 C", "18 C", "21 C", "20 C", "15 C", "8 C", "1 C", "-6 C"]
sun = [1.9, 2.8, 3.9, 4.8, 5.6, 6.1, 6.0, 5.1, 3.9, 2.5, 1.7, 1.5]
"""


@pytest.fixture
def planned(write_site: Callable[..., Path]) -> Callable[..., SitePlan]:
    def built(weather: str = WEATHER, **said: object) -> SitePlan:
        usual = {"south": 80, "depth": 12, "over": 8, "pond": "", "load": 24}
        return planned_once(read_site(write_site(LOT.format(weather=weather, **{**usual, **said}))))

    return built


def coded(plan: SitePlan, code: str) -> list[Finding]:
    return [one for one in plan.drawn.findings if one.code == code]


def test_the_length_is_of_the_water_that_was_calculated(planned: Callable[..., SitePlan]) -> None:
    plan = planned()
    year = plan.site.exchanger.pond.year
    assert year is not None
    assert plan.site.exchanger.pond.coldest_c == year.coldest_c
    assert "pond.coldest" not in plan.site.exchanger.assumed
    told = {figure.code for figure in plan.drawn.required.figures}  # type: ignore[union-attr]
    assert {"figure-pond-coldest", "figure-pond-ice", "figure-pond-exchange"} <= told
    # 2 and 3 ft of water less are drawn of the coldest water that the loop leaves
    assert year.coldest_c <= year.coldest_alone_c + 0.05
    assert coded(plan, "weather-assumed")
    assert "dew point and wind" in in_words(coded(plan, "weather-assumed")[0])


def test_water_stated_is_kept_and_told_where_it_is_milder(planned: Callable[..., SitePlan]) -> None:
    plan = planned(pond='coldest = "40 F"\nwarmest = "60 F"\n')
    assert plan.site.exchanger.pond.coldest_c == pytest.approx(40 / 9, abs=0.01)
    for code in ("pond-colder-than-stated", "pond-warmer-than-stated"):
        assert coded(plan, code)[0].severity == "warning"
    assert not coded(planned(), "pond-colder-than-stated")


def test_a_small_pond_that_is_calculated_is_a_warning(planned: Callable[..., SitePlan]) -> None:
    # 180 x 30 = 5,400 sq ft: under half an acre, and under 3,000 a ton for two tons
    plan = planned(south=190)
    for code in ("pond-half-acre-calculated", "pond-small-calculated"):
        assert coded(plan, code)[0].severity == "warning"
    assert not coded(plan, "pond-under-half-acre")
    bare = planned(weather="", south=190)
    assert coded(bare, "pond-under-half-acre")[0].severity == "error"
    assert coded(bare, "pond-year-not-calculated")[0].severity == "note"


def test_a_pond_that_freezes_around_its_coils_is_refused(planned: Callable[..., SitePlan]) -> None:
    plan = planned(south=180, load=90)
    assert not plan.drawn.fits
    assert plan.drawn.why.code == "pond-freezes"
    assert plan.drawn.layout is None
    assert "does not stay liquid at the coils" in in_words(plan.drawn.why)


def test_ice_that_comes_near_the_coils_is_refused(planned: Callable[..., SitePlan]) -> None:
    # 2 ft of water over the coils, and more than 2 ft of ice
    plan = planned(depth=4, over=2)
    found = coded(plan, "ice-reaches-coils")
    assert found[0].severity == "error"
    assert not plan.drawn.fits
    assert not coded(planned(), "ice-reaches-coils")
