"""The year of a pond's water: balances that can be worked by hand, and limits."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import brentq

from siteplan.ponds.balance import HEAT_OF_ICE, Basin, months_of, skies, water_year
from siteplan.ponds.exchange import exchange_coefficient, surface_gain
from siteplan.site.pond_survey import Weather

NORTH = Weather(
    air_c=(-9, -7, -1, 7, 13, 18.5, 21, 20, 15, 8.5, 1, -6),
    dew_c=(-13, -11, -6, -1, 5.5, 12, 15, 14.5, 9.5, 3, -3, -9),
    sun_w_m2=tuple(
        1000 * kwh / 24 for kwh in (1.9, 2.8, 3.9, 4.8, 5.6, 6.1, 6.0, 5.1, 3.9, 2.5, 1.7, 1.5)
    ),
    wind_ms=3.0,
    latitude_deg=44.8,
)
EVEN = dataclasses.replace(
    NORTH, air_c=(15.0,) * 12, dew_c=(10.0,) * 12, sun_w_m2=(150.0,) * 12, latitude_deg=0.0
)
POND = Basin(3000.0, 6000.0, 10.0)
NONE = (0.0,) * 12


def test_an_even_year_ends_where_the_surface_gains_nothing() -> None:
    sky = skies(EVEN)[0]
    settled = brentq(lambda water: surface_gain(water, sky), 0.0, 40.0)
    found = water_year(dataclasses.replace(POND, ground_c=settled), EVEN, NONE)
    # the clear sky of the equator changes a little over the year, the sun was left the same
    assert found.water_c.mean() == pytest.approx(settled, abs=0.3)


def test_a_steady_draw_cools_an_even_year_by_heat_over_exchange() -> None:
    # 30 kW of 3,000 m2 are 10 W/m2; the surface gives back exchange times the difference, the mud
    # below (1 W/m K over 10 m) all but nothing
    drawn = water_year(POND, EVEN, (30_000.0,) * 12).water_c.mean()
    alone = water_year(POND, EVEN, NONE).water_c.mean()
    exchange = exchange_coefficient((drawn + alone) / 2, skies(EVEN)[100])
    assert alone - drawn == pytest.approx(10.0 / exchange, rel=0.02)


def test_a_lake_of_the_north_freezes_and_the_water_below_stays_liquid() -> None:
    year = water_year(POND, NORTH, NONE)
    assert year.frozen_w == 0.0
    assert year.water_c.min() > 1.0
    assert year.water_c[:60].max() < 4.0 + 0.5  # under ice no warmer than water is heaviest
    # 2 to 3 ft of ice, as over small lakes at 45 degrees north; common knowledge, no source
    assert 0.4 < year.ice_m.max() < 1.0
    assert year.ice_m[180:240].max() == 0.0
    # evaporation from free water in the north of the Middle West, 25 to 30 in a year: NOAA
    # Technical Report NWS 33, 1982 (from memory)
    assert 25 * 25.4 < year.evaporated_mm < 31 * 25.4


def test_ice_without_sun_and_sky_grows_no_faster_than_stefan_found() -> None:
    # thickness = sqrt(2 k / (rho L) x degree seconds), J. Stefan 1891: an upper bound
    year = water_year(POND, NORTH, NONE)
    seconds = sum(max(-sky.air_c, 0.0) for sky in skies(NORTH)) * 86_400
    assert year.ice_m.max() < np.sqrt(2 * 2.2 / HEAT_OF_ICE * seconds) * 1.1


def test_a_small_pond_with_a_large_loop_freezes_around_the_coils() -> None:
    winter = tuple(9000.0 * share for share in (1, 0.9, 0.6, 0.3, 0, 0, 0, 0, 0, 0.3, 0.6, 0.9))
    year = water_year(Basin(500.0, 900.0, 10.0), NORTH, winter)
    assert year.frozen_w > 0.0
    assert year.water_c.min() == 0.0


def test_a_spring_keeps_a_small_pond_near_its_own_temperature() -> None:
    fed = dataclasses.replace(POND, area_m2=100.0, volume_m3=200.0, inflow_m3s=0.02, inflow_c=9.0)
    year = water_year(fed, NORTH, NONE)
    assert year.water_c[:50].mean() > 6.0


@given(st.floats(0, 6000), st.floats(200, 5000))
@settings(max_examples=several(4, 40))
def test_more_heat_drawn_never_warms_the_water(drawn: float, more: float) -> None:
    less, harder = (water_year(POND, NORTH, (each,) * 12) for each in (drawn, drawn + more))
    assert months_of(harder.water_c)[1] <= months_of(less.water_c)[1] + 0.01
    assert harder.water_c.min() <= less.water_c.min() + 0.05


def test_the_same_year_each_time() -> None:
    first, second = (water_year(POND, NORTH, (3000.0,) * 12) for _ in range(2))
    assert np.array_equal(first.water_c, second.water_c)
