"""Coils in the ground against the two ends: one ring alone, and a strip of pipe."""

import math

import numpy as np
import pytest
from scipy.integrate import dblquad, quad

from siteplan.demand.coil_resistance import BuriedCoil, coil_pulse, coil_resistance
from siteplan.demand.trench_length import PEAK_S, Soil, pulses
from siteplan.demand.trench_resistance import trench_resistance
from siteplan.site.trench_kinds import CoilShape

RADIUS, DEPTH, K = 0.419, 1.45, 1.5


def coil(
    pitch: float, pipe: float = 0.0133, lies: str = "flat", depth: float = DEPTH
) -> BuriedCoil:
    return BuriedCoil(CoilShape(2 * RADIUS, pitch, lies), depth, pipe)


def test_a_ring_far_from_all_others_has_the_resistance_of_a_thin_torus():
    # capacity of a thin torus, textbooks of electrostatics (from memory):
    # R = ln(8 R/r) / (4 pi2 R k); with an image 1 km off there is nothing else
    deep = coil(1000.0, depth=500.0)
    alone = math.log(8 * RADIUS / 0.0133) / (4 * math.pi**2 * RADIUS * K)
    assert coil_resistance(deep, K) / 1000.0 == pytest.approx(alone, rel=5e-3)


def test_thin_rings_one_beside_the_other_are_a_strip():
    # rings seen along the trench have the density of the equilibrium of an interval, whose
    # logarithmic capacity is half its half-width, textbooks of potential theory (from memory):
    # R = (ln(2/R) + mean ln d') / (2 pi k)
    aside = RADIUS * np.cos(np.pi * (np.arange(400) + 0.5) / 400)
    image = np.hypot(aside[:, None] - aside[None], 2 * DEPTH)
    strip = (math.log(2 / RADIUS) + np.log(image).mean()) / (2 * math.pi * K)
    assert coil_resistance(coil(0.05, 0.001), K) == pytest.approx(strip, rel=2e-3)


def test_a_usual_coil_lies_between_two_and_six_straight_pipes():
    found = coil_resistance(coil(0.457), K)
    two = trench_resistance([(-0.23, DEPTH), (0.23, DEPTH)], 0.0133, K)
    six = trench_resistance([(x, DEPTH) for x in np.linspace(-0.42, 0.42, 6)], 0.0133, K)
    assert 0.97 * six < found < two


@pytest.mark.parametrize("lies", ["flat", "upright"])
def test_a_pulse_grows_to_the_steady_state(lies):
    one = coil(0.457, lies=lies)
    steady = coil_resistance(one, K)
    grown = [coil_pulse(one, K, reach) for reach in (0.1, 0.5, 2.0, 10.0, 200.0)]
    assert grown == sorted(grown)
    assert grown[-1] == pytest.approx(steady, rel=0.01)


def test_a_short_pulse_sees_only_straight_pipe():
    # a few minutes: rings far apart, so each is a pipe of pi D in every pitch, E1(r2/4at)/(4 pi k)
    from scipy.special import exp1

    reach = 0.03
    alone = exp1((0.0133 / reach) ** 2) / (4 * math.pi * K) * 2.0 / (2 * math.pi * RADIUS)
    assert coil_pulse(coil(2.0), K, reach) == pytest.approx(alone, rel=0.02)


def test_more_pipe_in_a_metre_lowers_the_resistance():
    found = [coil_resistance(coil(pitch), K) for pitch in (0.3, 0.5, 1.0, 2.0)]
    assert found == sorted(found)


@pytest.mark.parametrize("pitch", [1.0, 1.6])
def test_rings_of_point_sources_integrated_meet_it(pitch):
    # a point source gives 1/(4 pi k d), its mirror image the same with the other sign; both are
    # integrated round the rings by scipy, where the code takes elliptic integrals and sums
    def own(turn, away):
        return 1 / math.hypot(2 * RADIUS * math.sin(turn / 2), away)

    def between(turn, other, shift, deep):
        along = shift + RADIUS * (math.cos(turn) - math.cos(other))
        return 1 / math.hypot(along, RADIUS * (math.sin(turn) - math.sin(other)), deep)

    whole, options = 2 * math.pi, {"limit": 400, "points": [0.02, 0.2]}
    total = 2 * quad(own, 0.0, math.pi, (0.0133,), **options)[0] / whole
    total -= 2 * quad(own, 0.0, math.pi, (2 * DEPTH,))[0] / whole
    for step in range(1, 60):
        for sign, deep in ((1, 0.0), (-1, 2 * DEPTH)):
            mean, _ = dblquad(
                between, 0.0, whole, 0.0, whole, (step * pitch, deep), epsabs=1e-6, epsrel=1e-6
            )
            total += sign * 2 * mean / whole**2
    # beyond the 59th ring on either side a source less its image is 2 z2/s3; the sum of 1/n3 from
    # 60 on is about 1 / (2 59.5^2)
    total += 2 * DEPTH**2 / pitch**3 / 59.5**2
    expected = total * pitch / (4 * math.pi * K)
    # the code lays rings two radii one above the other, which rings 0.16 m apart feel a little
    assert coil_resistance(coil(pitch), K) == pytest.approx(expected, rel=1e-3)


@pytest.mark.parametrize("lies", ["flat", "upright"])
def test_a_spline_over_few_times_is_the_response_itself(lies):
    ring = coil(0.457, lies=lies)
    months = 730.5 * 3600.0 * np.array([0.0, 0.5, 1.0, 3.0, 8.0, 20.0, 65.0]) + PEAK_S
    for soil in (Soil(K, 3.7e-7), Soil(K, 6e-7), Soil(K, 1.1e-6)):
        reaches = np.sqrt(4 * soil.diffusivity_m2s * months)
        exact = [coil_pulse(ring, K, float(reach)) for reach in reaches]
        assert pulses(ring, soil, months) == pytest.approx(exact, rel=2e-5)
