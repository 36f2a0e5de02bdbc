"""Heat between open water and the air, against published examples and measured exchange."""

from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from siteplan.ponds.exchange import (
    MMHG_KPA,
    Sky,
    clear_sun,
    evaporated_mm_day,
    evaporation,
    exchange_coefficient,
    net_longwave,
    outside_sun,
    saturation_kpa,
    surface_gain,
    wind_at,
    wind_function,
)

MJ_A_DAY = 86_400 / 1e6
SUMMER = Sky(20.0, 14.0, 3.0, 230.0, 320.0)
AUTUMN = Sky(8.0, 5.0, 3.0, 90.0, 160.0)


# examples of Allen and others, FAO Irrigation and Drainage Paper 56, 1998, by number and page
def test_saturated_vapour_is_that_of_the_paper() -> None:
    # example 3, page 69: 15 and 24.5 C, mean 2.39 kPa; example 20, page 121: 14.8 C, 1.68 kPa
    assert (saturation_kpa(15.0) + saturation_kpa(24.5)) / 2 == pytest.approx(2.39, abs=0.005)
    assert saturation_kpa(14.8) == pytest.approx(1.68, abs=0.005)
    # example 17, page 111: slope at 30.2 C, 0.246 kPa/K
    slope = (saturation_kpa(30.21) - saturation_kpa(30.19)) / 0.02
    assert slope == pytest.approx(0.246, abs=0.0005)


def test_sun_outside_of_the_atmosphere_is_that_of_the_paper() -> None:
    # example 8, page 80: latitude -20, day 246, 32.2 MJ/m2 a day
    assert outside_sun(-20.0, 246) * MJ_A_DAY == pytest.approx(32.2, abs=0.05)
    assert clear_sun(41.09, 100.0) == pytest.approx(30.90, abs=0.005)  # example 18, page 115
    assert outside_sun(66.0, 172) > 0.0
    assert outside_sun(80.0, 355) == pytest.approx(0.0, abs=1e-9)


def test_longwave_is_that_of_the_paper() -> None:
    # example 11, page 87: 25.1 and 19.1 C, 2.1 kPa, 14.5 of 18.8: 3.5 MJ/m2 a day
    found = net_longwave([19.1, 25.1], 2.1, 14.5 / 18.8) * MJ_A_DAY
    assert found == pytest.approx(3.5, abs=0.05)


def test_wind_at_another_height_is_that_of_the_paper() -> None:
    # example 14, page 92: 3.2 m/s at 10 m, 2.4 m/s at 2 m
    assert wind_at(2.0, 3.2) == pytest.approx(2.4, abs=0.05)
    assert wind_at(10.0, wind_at(2.0, 3.2), 2.0) == pytest.approx(3.2)


def test_evaporation_of_a_heat_flow_is_that_of_a_worked_example() -> None:
    # Chow, Maidment, Mays, Applied Hydrology, eq. 3.5.10, as worked on a course sheet: 52 W/m2 at
    # 17 C, 1.80 mm a day; its latent heat hardly falls with temperature, the true answer is 1.828
    assert evaporated_mm_day(52.0, 17.0) == pytest.approx(1.80, rel=0.02)
    assert evaporated_mm_day(52.0, 17.0) == pytest.approx(1.828, abs=0.003)  # at 1,000 kg/m3


def test_the_exchange_of_a_surface_lies_where_it_was_measured() -> None:
    # Williams, IASH 1963, 203-212: a small sheltered lake 11.3 W/m2 K, open water 19.4 to 29.1 by
    # calculation; Livingstone and Imboden 1989, Lake Aegeri: 17 to 28 over the year
    assert 17.0 < exchange_coefficient(22.0, SUMMER) < 29.1
    assert 17.0 < exchange_coefficient(10.0, AUTUMN) < 29.1
    still = dataclasses.replace(AUTUMN, wind_ms=0.0)
    assert 11.3 < exchange_coefficient(8.0, still) < 17.0


def test_evaporation_is_the_wind_function_times_the_lack_of_vapour() -> None:
    # 9.2 + 0.46 W2 with 3 m/s at 10 m: FAO-56 eq. 47 gives 3 x 4.87/6.511 = 2.2438 m/s at 2 m,
    # and 2.2438 x 6.151/4.87 = 2.834 m/s at 7 m
    wind = 9.2 + 0.46 * 2.834**2
    assert wind_function(wind_at(7.0, 3.0)) == pytest.approx(wind, rel=1e-3)
    lack = (saturation_kpa(22.0) - saturation_kpa(14.0)) / MMHG_KPA
    assert evaporation(22.0, SUMMER) == pytest.approx(wind * lack, rel=1e-3)
    assert evaporation(5.0, SUMMER) == 0.0  # dew


def test_water_as_warm_as_air_that_is_full_of_vapour_loses_only_to_the_sky() -> None:
    full = Sky(15.0, 15.0, 4.0, 0.0, 100.0)
    assert surface_gain(15.0, full) == pytest.approx(
        -net_longwave([15.0], saturation_kpa(15.0), 0.0)
    )


@given(st.floats(-5, 35), st.floats(0.1, 10))
def test_warmer_water_loses_more(water: float, more: float) -> None:
    assert surface_gain(water + more, SUMMER) < surface_gain(water, SUMMER)


@given(st.floats(0, 15), st.floats(0.1, 5))
def test_wind_takes_heat_from_water_warmer_than_air(wind: float, more: float) -> None:
    calm, windy = (dataclasses.replace(AUTUMN, wind_ms=each) for each in (wind, wind + more))
    assert surface_gain(12.0, windy) < surface_gain(12.0, calm)
