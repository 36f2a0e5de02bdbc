"""Frost depth from a freezing index, against published figures of the modified Berggren formula."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from wording import in_words

from siteplan.plan import plan_site
from siteplan.site.frost import SURFACES, Freezing, frost_depth, stefan_depth
from siteplan.site.readers.site_file import read_site

FT, POUND, K = 0.3048, 16.01846, 1.730735
WINTER = Freezing(2000 / 1.8, 160, 2.9, 1.0 * K, 100 * POUND, 0.15, "snow")
TABLE = """
[ground.freezing]
index = "2,500 F.day"
days = 160
mean = "37.2 F"
conductivity = "0.76 Btu/h.ft.F"
density = "100 lb/ft3"
water = 15
surface = "snow"
"""


@pytest.mark.parametrize(
    ("water", "feet"),
    # specification of an open calculator of the trades: FI 2,000 F-days, k 1.0, 100 lb/ft3:
    # L 2,160 and 6.67 ft at 15 %, L 1,152 and 9.13 ft at 8 %; drier ground freezes deeper
    [(0.15, 6.67), (0.08, 9.13)],
)
def test_the_depth_without_the_soils_own_heat_is_the_published_one(
    water: float, feet: float
) -> None:
    assert stefan_depth(replace(WINTER, water=water)) / FT == pytest.approx(feet, abs=0.006)


def test_water_alone_takes_the_published_heat_to_freeze() -> None:
    # UFC 3-130-05: 8,986 Btu/ft3, of water of 62.4 lb/ft3. X = sqrt(48 k FI / L)
    water = replace(WINTER, density=62.4 * POUND, water=1.0)
    assert stefan_depth(water) / FT == pytest.approx(math.sqrt(48 * 2000 / 8986), rel=2e-4)


def test_the_soils_own_heat_keeps_back_what_the_formula_says() -> None:
    # own arithmetic: C 28.25, vs 2,500/160 = 15.625 F, alpha 5.2/15.625 = 0.3328, mu 0.20435,
    # lambda 1/sqrt(1 + 0.20435 x 0.8328) = 0.92443, Stefan 6.498 ft
    winter = Freezing(2500 / 1.8, 160, 5.2 / 1.8, 0.76 * K, 100 * POUND, 0.15, "snow")
    assert stefan_depth(winter) / FT == pytest.approx(6.498, abs=1e-3)
    assert frost_depth(winter) / FT == pytest.approx(6.007, abs=1e-3)


def test_turf_keeps_frost_out_as_published() -> None:
    # UFC 3-130-04, Table 4-1: snow 1.0, concrete .75, asphalt, bare soil .7, turf .5, trees .3
    assert list(SURFACES.values()) == [1.0, 0.75, 0.7, 0.7, 0.5, 0.3]
    depths = [stefan_depth(replace(WINTER, surface=surface)) for surface in ("snow", "turf")]
    assert depths[1] / depths[0] == pytest.approx(math.sqrt(0.5))


def test_a_header_lies_below_the_frost_that_was_calculated(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(lot_text + TABLE))
    frost = site.exchanger.ground_year.frost_m
    assert frost is not None
    assert frost / FT == pytest.approx(6.007, abs=1e-3)
    # 6 in of room for the pipe and its bed
    assert site.exchanger.piping.header.depth_m / FT == pytest.approx(6.507, abs=1e-3)
    findings = {
        finding.code: finding for finding in plan_site(site, system="horizontal").drawn.findings
    }
    told = in_words(findings["frost-calculated"])
    assert told.startswith("Frost depth 6.1 ft, calculated (modified Berggren) from a freezing")
    assert "2,500 °F·days, under snow" in told
    # the pipe 3 in above the bottom: at least 6.26 ft deep, by half feet
    assert "Trenches are 6.5 ft deep, not 5.0 ft" in in_words(findings["deeper-for-frost"])


def test_a_frost_depth_that_is_stated_comes_before_the_calculated(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(f'{lot_text}[ground]\nfrost = "3 ft"\n{TABLE}'))
    assert site.exchanger.ground_year.frost_m == pytest.approx(3 * FT)
    findings = {finding.code for finding in plan_site(site, system="horizontal").drawn.findings}
    assert "frost-calculated" not in findings
