"""Pipe sizes against published tables."""

import pytest

from siteplan.hydraulics.pipes import fill_volume, pipes

INCH, FT, GALLON = 0.0254, 0.3048, 231 * 0.0254**3


@pytest.mark.parametrize("size", pipes())
def test_inner_diameters_follow_from_a_wall_of_an_eleventh(size):
    # ASTM D3035: wall = OD / 11, so ID = OD x 9/11
    pipe = pipes()[size]
    assert pipe.inner_m / INCH == pytest.approx(pipe.outer_m * 9 / 11 / INCH, abs=1.2e-3)


@pytest.mark.parametrize(
    ("size", "gallons"),
    # a pump manual, SDR-11 IPS, US gallons in 100 ft
    [("3/4 in", 3.0), ("1 in", 4.7), ("1-1/4 in", 7.5), ("1-1/2 in", 9.8), ("2 in", 15.4)],
)
def test_fill_volumes_meet_the_published_table(size, gallons):
    assert fill_volume(pipes()[size], 100 * FT) / GALLON == pytest.approx(gallons, abs=0.06)
