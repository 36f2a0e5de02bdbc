"""What bores near one another cost, told before they have a place.

Measured by the length calculated for the bores where they stand, whose neighbours are compared with
point sources integrated along the bores in ``test_line_source.py``.
"""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.demand.calculated import calculate_bores
from siteplan.demand.neighbours import neighbours_of
from siteplan.layout.elements import Bore

LOADS = """
[loads]
heating = "12 kW"
heating_hours = 2000
cop = 4.0

[ground]
temperature = "10 C"
conductivity = "2.0 W/m.K"
diffusivity = "1e-6 m2/s"
"""
COOLED = LOADS.replace("[ground]", 'cooling = "14 kW"\ncooling_hours = 2500\neer = 14\n\n[ground]')


def field(spacing_m: float, columns: int, rows: int) -> np.ndarray:
    across, along = np.divmod(np.arange(columns * rows), columns)
    return spacing_m * np.column_stack([along, across]).astype(float)


@pytest.mark.parametrize(
    ("heating", "spacing_m", "columns", "rows"),
    [("8 kW", 6.1, 2, 1), ("30 kW", 6.1, 3, 3), ("34 kW", 7.5, 9, 1), ("22 kW", 12.0, 3, 2)],
)
def test_what_neighbours_cost_is_what_the_calculation_finds(
    heated_site, heating, spacing_m, columns, rows
):
    exchanger = heated_site(LOADS.replace("12 kW", heating)).exchanger
    energy, points = exchanger.energy, field(spacing_m, columns, rows)
    deep = exchanger.vertical.depth_most_m
    bores = [Bore(f"B{k}", float(x), float(y), 0.15, deep) for k, (x, y) in enumerate(points)]
    alone, there = (calculate_bores(energy, 0.15, some).sizing.length_m for some in ((), bores))
    # as few bores as there may be, so nearly as deep as they may be
    assert 0.6 * deep < there / len(bores) < 1.2 * deep
    assert neighbours_of(exchanger).of(points) == pytest.approx(there - alone, rel=0.15)


def test_fewer_rows_and_wider_steps_cost_less(heated_site):
    near = neighbours_of(heated_site(LOADS).exchanger)
    cost = [near.of(field(*shape)) for shape in ((6.1, 3, 3), (6.1, 9, 1), (12.2, 9, 1))]
    assert cost == sorted(cost, reverse=True)


def test_far_apart_they_cost_nothing(heated_site):
    near = neighbours_of(heated_site(LOADS).exchanger)
    assert near.of(field(400.0, 3, 3)) == near.of(field(6.1, 1, 1)) == 0.0


def test_of_many_bores_some_stand_for_all(heated_site):
    near = neighbours_of(heated_site(LOADS).exchanger)
    apart = field(6.1, 20, 12)
    steps = apart[:, None] - apart[None]
    distances = np.hypot(steps[..., 0], steps[..., 1]) + np.diag(np.full(len(apart), np.inf))
    felt = np.interp(distances, near.distances_m, near.longer_m, right=0.0)
    assert near.of(apart) == pytest.approx(felt.sum() / len(apart), rel=0.02)


def test_nothing_is_told_where_the_length_is_given_or_the_years_give_back_more(heated_site):
    given = LOADS + '\n[vertical]\nlength = { given = "900 ft", by = "the designer" }\n'
    assert neighbours_of(heated_site(given).exchanger) is None
    # cooled so much in summer that neighbours warm the ground: for a year's heating they help
    cooled = heated_site(COOLED).exchanger
    assert calculate_bores(cooled.energy, 0.15).decides == "cooling"
    assert neighbours_of(cooled) is not None
