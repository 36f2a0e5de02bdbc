"""Streamlines between two wells against the closed form and against integrals along the line."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.integrate import quad

from siteplan.groundwater.doublet import (
    Doublet,
    breakthrough_s,
    discharge,
    first_arrival_s,
    fronts,
    separation_for,
    share_returned,
    swept,
)

DAY = 86_400.0
YEAR = 365 * DAY
PAIR = Doublet(1e-3, 50.0, 10.0, 0.6)


def test_the_closed_form_is_what_the_velocity_on_the_line_gives() -> None:
    # v = Q/(2 pi b) (1/x + 1/(L - x)): pi x 10 x 50^2 x 0.6 / (3 x 1e-3) = 1.5708e7 s = 181.8 d
    assert breakthrough_s(PAIR) / DAY == pytest.approx(181.8, abs=0.05)


def test_streamlines_arrive_when_the_closed_form_says() -> None:
    assert first_arrival_s(PAIR, 100 * YEAR) == pytest.approx(breakthrough_s(PAIR), rel=1e-4)


@pytest.mark.parametrize("past", [-1e-6, -6e-7, -1e-7, 1e-7, 1e-6])
def test_flow_along_the_line_delays_or_hastens_as_the_integral_says(past: float) -> None:
    def slowness(x: float) -> float:
        return PAIR.delay / (PAIR.strength * (1 / x + 1 / (50.0 - x)) + past)

    expected = quad(slowness, 0.0, 50.0, limit=400)[0]
    found = first_arrival_s(replace(PAIR, past=(past, 0.0)), 1000 * YEAR)
    assert found == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize(("share", "returns"), [(0.97, True), (1.03, False)])
def test_nothing_comes_back_beyond_the_separation_where_the_flow_past_takes_it(
    share: float, returns: bool
) -> None:
    # between the wells the flow of the pair is least halfway, 4 Q/(2 pi b L): stronger flow past
    # against it leaves a stagnation point, L = 2 Q/(pi b U)
    against = share * 2 * PAIR.flow_m3s / (math.pi * PAIR.thickness_m * PAIR.separation_m)
    found = first_arrival_s(replace(PAIR, past=(-against, 0.0)), 1e5 * YEAR)
    assert math.isfinite(found) is returns


def test_without_flow_past_all_that_is_returned_comes_back_in_the_end() -> None:
    assert share_returned(PAIR, 1e6 * YEAR) > 0.98


def test_a_front_holds_what_was_returned() -> None:
    # before anything comes back the ring holds Q t / (b delay)
    time = 0.8 * breakthrough_s(PAIR)
    (ring,) = fronts(PAIR, (time,))
    held = shapely.polygons(ring).area
    assert held == pytest.approx(PAIR.flow_m3s * time / (10.0 * 0.6), rel=2e-3)


def test_around_the_supply_the_front_is_the_mirror_of_that_around_the_return() -> None:
    (back,), (supply,) = (fronts(PAIR, (YEAR,), around=well) for well in ("return", "supply"))
    mirrored = np.stack([50.0 - supply[:, 0], supply[:, 1]], axis=1)
    one, other = shapely.polygons(back), shapely.polygons(mirrored)
    assert one.symmetric_difference(other).area < 0.01 * one.area


def test_water_is_lost_nowhere_between_the_wells() -> None:
    turn = np.linspace(0, 2 * math.pi, 400, endpoint=False)
    ring = 25.0 + 5.0 * np.stack([np.cos(turn), np.sin(turn)], axis=1)
    flow = discharge(replace(PAIR, past=(2e-6, 1e-6)), ring)
    through = (flow * (ring - 25.0) / 5.0).sum(axis=1)
    assert abs(through.mean()) < 1e-12


pairs = st.builds(
    Doublet,
    st.floats(1e-4, 5e-3),
    st.floats(5.0, 200.0),
    st.floats(2.0, 50.0),
    st.floats(0.4, 0.8),
    st.tuples(st.floats(-5e-7, 5e-7), st.floats(-5e-7, 5e-7)),
)


@settings(max_examples=several(3, 40), deadline=None)
@given(pairs, st.floats(1.05, 4.0))
def test_more_flow_never_lengthens_breakthrough(pair: Doublet, more: float) -> None:
    most = 200 * YEAR
    found = first_arrival_s(pair, most)
    greater = first_arrival_s(replace(pair, flow_m3s=more * pair.flow_m3s), most)
    # against the flow past two streamlines may be the quickest: to the thousandth
    assert greater <= found * (1 + 1e-3)


@given(pairs)
def test_breakthrough_quadruples_with_the_separation(pair: Doublet) -> None:
    far = replace(pair, separation_m=2 * pair.separation_m)
    assert breakthrough_s(far) == pytest.approx(4 * breakthrough_s(pair))
    assert separation_for(pair, breakthrough_s(far)) == pytest.approx(far.separation_m)


@settings(max_examples=several(2, 40), deadline=None)
@given(pairs)
def test_flow_past_from_the_left_or_from_the_right_is_the_same(pair: Doublet) -> None:
    mirrored = replace(pair, past=(pair.past[0], -pair.past[1]))
    one, other = (first_arrival_s(each, 50 * YEAR) for each in (pair, mirrored))
    assert one == pytest.approx(other, rel=1e-3) or math.isinf(one + other)


def outline_of(rings: np.ndarray) -> shapely.Geometry:
    return shapely.union_all(shapely.make_valid(shapely.polygons(rings)))


@pytest.mark.parametrize("past", [(0.0, 0.0), (-2e-6, 0.0), (0.0, 2e-6)])
def test_what_is_swept_holds_all_that_was_returned(past: tuple[float, float]) -> None:
    # before anything comes back: Q t / (b delay), whether the front has drifted off or not
    pair = replace(PAIR, past=past)
    time = 0.8 * min(first_arrival_s(pair, 10 * YEAR), 2 * YEAR)
    (rings,) = swept(pair, (time,))
    area = pair.flow_m3s * time / (pair.thickness_m * pair.delay)
    assert outline_of(rings).area == pytest.approx(area, rel=0.02)


def test_a_plume_in_flowing_groundwater_gets_as_wide_as_the_flow_that_carries_it() -> None:
    # far down the flow, all that is returned passes with the flow past: Q = U b width
    pair = replace(PAIR, past=(-2e-6, 0.0))
    (rings,) = swept(pair, (10 * YEAR,))
    across = shapely.LineString([(-400.0, -500.0), (-400.0, 500.0)])
    width = outline_of(rings).intersection(across).length
    assert width == pytest.approx(1e-3 / (2e-6 * 10.0), rel=0.05)


ALONE = replace(PAIR, delay=0.25, alone=True)
"""A supply well without a return well, at (50, 0)."""


def test_alone_and_without_flow_past_a_well_draws_from_a_circle() -> None:
    # what is pumped comes out of the pores: pi r^2 b n = Q t
    (ring,) = fronts(ALONE, (YEAR,), around="supply")
    radius = math.sqrt(1e-3 * YEAR / (math.pi * 10.0 * 0.25))
    away = np.hypot(*(ring - (50.0, 0.0)).T)
    assert away == pytest.approx(radius, rel=1e-3)


@pytest.mark.parametrize("years", [1.0, 5.0, 25.0])
def test_alone_in_flowing_groundwater_a_well_draws_as_the_closed_form_says(years: float) -> None:
    # up the flow the velocity is U + Q/(2 pi b x), so that t = n/U (x - x0 ln(1 + x/x0)) with
    # x0 = Q/(2 pi b U), where the water stands still down the flow; far up the flow the water that
    # is drawn is Q/(b U) wide: J. Bear and M. Jacobs, Journal of Hydrology 3 (1965) 37-57, from
    # memory; both follow from the velocity
    speed = 2e-6
    pair = replace(ALONE, past=(speed, 0.0))
    early, ring = fronts(pair, (20 * DAY, years * YEAR), around="supply", count=720)
    still = pair.strength / speed
    down = early[:, 0].max() - 50.0
    assert -0.25 / speed * (down + still * math.log1p(-down / still)) == pytest.approx(
        20 * DAY, rel=2e-3
    )
    x = 50.0 - ring[:, 0].min()
    assert 0.25 / speed * (x - still * math.log1p(x / still)) == pytest.approx(
        years * YEAR, rel=2e-3
    )
    assert ring[:, 0].max() - 50.0 <= still * (1 + 1e-6)
    width = pair.flow_m3s / (pair.thickness_m * speed)
    assert np.ptp(ring[:, 1]) < width
    if years == 25.0:
        assert np.ptp(ring[:, 1]) == pytest.approx(width, rel=0.05)
