"""Coils in neighbouring trenches: what they add to the rise of one another, summed here."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.special import exp1

from siteplan.demand.trench_length import (
    PipedTrench,
    Soil,
    Steps,
    drawn_per_metre,
    steady_per_metre,
)
from siteplan.site.trench_kinds import trench_kinds

SOIL = Soil(1.5, 0.6e-6)
DAY_S = 86_400.0
COILS = [kind for kind in trench_kinds().values() if kind.coil is not None]


def resistance(kind, spacing_m, age_s):
    trench = PipedTrench(kind, kind.depth_m, spacing_m, 0.0167, 0.09)
    return 1.0 / drawn_per_metre(trench, SOIL, np.array([1.0]), Steps((1.0,), (age_s,)))


@pytest.mark.parametrize("kind", COILS, ids=lambda kind: kind.name)
@pytest.mark.parametrize("days", [30.0, 180.0, 3650.0])
def test_trenches_on_either_side_add_line_sources_and_their_images(kind, days):
    # H. S. Carslaw and J. C. Jaeger, Conduction of Heat in Solids, section 10.4: a line source
    # raises the ground by q E1(r2 / 4 a t) / (4 pi k); its image above the ground takes that back
    age = days * DAY_S
    depth = PipedTrench(kind, kind.depth_m, 3.0, 0.0167, 0.09).places[0][1]
    added = 0.0
    for number in range(1, 13):
        real = 3.0 * number
        image = math.hypot(real, 2 * depth)
        scale = 4 * SOIL.diffusivity_m2s * age
        both = exp1(real**2 / scale) - exp1(image**2 / scale)
        added += 2 * both / (4 * math.pi * SOIL.conductivity)
    apart = resistance(kind, 3.0, age) - resistance(kind, 900.0, age)
    assert apart == pytest.approx(added, rel=0.02, abs=1e-9)


@pytest.mark.parametrize("kind", COILS, ids=lambda kind: kind.name)
def test_for_ever_they_add_the_logarithm_of_image_over_real(kind):
    def steady(spacing_m):
        trench = PipedTrench(kind, kind.depth_m, spacing_m, 0.0167, 0.09)
        return 1.0 / steady_per_metre(trench, SOIL, np.array([1.0]), 1.0)

    depth = PipedTrench(kind, kind.depth_m, 3.0, 0.0167, 0.09).places[0][1]
    reals = 3.0 * np.arange(1, 13)
    logs = np.log(np.hypot(reals, 2 * depth) / reals).sum()
    added = 2 * logs / (2 * math.pi * SOIL.conductivity)
    assert steady(3.0) - steady(9000.0) == pytest.approx(added, rel=0.01)
