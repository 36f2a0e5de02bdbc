"""Change of the ground at the property line, against point sources and their mirror images."""

from __future__ import annotations

import math

import pytest
from scipy.integrate import dblquad
from scipy.special import erfc
from shapely import LineString

from siteplan.demand.at_the_line import SEASON_S, SECONDS_A_YEAR, change_at_line
from siteplan.demand.ground_loads import pulses_of
from siteplan.layout.elements import Bore
from siteplan.site.energy import BoreLoop, Earth, Energy, Fluid, Loads

EARTH = Earth(11.0, 2.0, 1e-6)


def mean_rise(distance: float, per_metre: float, top: float, end: float, time_s: float) -> float:
    """Mean along an equal line of what a line of point sources does, the surface held [K].

    Carslaw and Jaeger, Conduction of Heat in Solids, 10.4 (2) (from memory): a continuous point
    source of q gives q / (4 pi k r) erfc(r / sqrt(4 a t)).
    """
    root = math.sqrt(4 * EARTH.diffusivity_m2s * time_s)

    def both(z: float, s: float) -> float:
        near, image = math.hypot(distance, z - s), math.hypot(distance, z + s)
        return float(erfc(near / root) / near - erfc(image / root) / image)

    whole, _ = dblquad(both, top, end, top, end, epsabs=1e-6, epsrel=1e-6)
    return per_metre / (4 * math.pi * EARTH.conductivity) * whole / (end - top)


def energy(heating_w: float, cooling_w: float) -> Energy:
    loads = Loads(heating_w, cooling_w, 1800, 600, 4.0, 13.648, 0.2, 0.3)
    return Energy(
        loads, EARTH, Fluid(0.0, 30.0), BoreLoop(0.0334, 11.0, 0.4, 0.0, 0.025, 1.5, 1.2), 10
    )


@pytest.mark.parametrize(("heating_w", "cooling_w"), [(8e3, 0.0), (0.0, 8e3)])
def test_the_change_is_that_of_point_sources(heating_w: float, cooling_w: float) -> None:
    wanted = energy(heating_w, cooling_w)
    top = wanted.loop.top_m
    bore = Bore("B1", 0.0, 0.0, 0.15, 80.0)
    line = LineString([(6.0, 0.0), (6.0, 0.001)])
    pulses = pulses_of(wanted, "heating" if heating_w else "cooling")
    length = 80.0 - top
    by_hand = mean_rise(6.0, pulses.year_w / length, top, 80.0, 10 * SECONDS_A_YEAR)
    by_hand += mean_rise(6.0, (pulses.month_w - pulses.year_w) / length, top, 80.0, SEASON_S)
    sign = -1.0 if heating_w else 1.0
    assert change_at_line(wanted, [bore], line) == pytest.approx(sign * by_hand, rel=1e-4)


def test_farther_off_it_is_less_and_two_bores_share_the_heat() -> None:
    wanted = energy(8e3, 0.0)
    one = [Bore("B1", 0.0, 0.0, 0.15, 80.0)]
    near, far = (change_at_line(wanted, one, LineString([(x, 0.0), (x, 0.1)])) for x in (3.0, 12.0))
    assert near < far < 0
    # at the same distance of both, two bores that share the heat do what one of them does
    pair = [Bore("B1", -6.0, 0.0, 0.15, 80.0), Bore("B2", 6.0, 0.0, 0.15, 80.0)]
    middle = LineString([(0.0, 0.0), (0.0, 0.001)])
    alone = change_at_line(wanted, one, LineString([(6.0, 0.0), (6.0, 0.001)]))
    assert change_at_line(wanted, pair, middle) == pytest.approx(alone, rel=1e-6)
    assert change_at_line(wanted, [], middle) == 0.0
