"""Drift of the supply against a solution along streamlines with loss to cap and base."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.special import erfc

from siteplan.groundwater.doublet import Doublet, arrivals, breakthrough_s
from siteplan.groundwater.drift import MONTH_S, Rock, Season, supply_drift
from siteplan.groundwater.grid import grid_around, sides_of

PAIR = Doublet(1e-3, 50.0, 10.0, 0.6)
STEADY = Season((1e-3,) * 12, (-4.0,) * 12)
ROCK = Rock(aquifer=0.6 * 4.19e6, beside=2.3e6, conductivity=2.0)
WINTER = Season(
    tuple(1e-3 * share for share in (0, 0, 0.02, 0.1, 0.3, 0.5, 0.6, 0.5, 0.3, 0.1, 0.02, 0)),
    (-4.0,) * 12,
)


def along_streamlines(rock: Rock, months: int) -> np.ndarray:
    """Change of the water pumped, month by month, where water of -4 K goes in from the start.

    Along each streamline heat is lost to both sides without end: erfc(sqrt(k c) tau / (C b
    sqrt(t - tau))), H. A. Lauwerier 1955; over all streamlines of a pair A. C. Gringarten and
    J. P. Sauty 1975, both from memory: they follow from the Laplace transform of the balance.
    """
    times = (np.arange(months) + 1) * MONTH_S
    under_way = arrivals(PAIR, times[-1])
    found = []
    for time in times:
        there = under_way[under_way < time]
        root = math.sqrt(rock.conductivity * rock.beside) / (rock.aquifer * PAIR.thickness_m)
        found.append(-4.0 * erfc(root * there / np.sqrt(time - there)).sum() / len(under_way))
    return np.array(found)


@pytest.mark.parametrize("years", [2, 10])
def test_a_constant_return_is_felt_as_the_solution_along_streamlines_says(years: int) -> None:
    expected = along_streamlines(ROCK, 12 * years)
    found = supply_drift(PAIR, STEADY, ROCK, years, cells=32, feeds_back=False)
    # 4 % of the 4 K: the grid mixes a sharp front
    assert np.abs(found - expected).max() < 0.16
    assert found[-1] == pytest.approx(expected[-1], rel=0.04)


def test_without_loss_the_front_arrives_when_the_closed_form_says() -> None:
    still = Rock(ROCK.aquifer, beside=1.0, conductivity=1e-6)
    found = supply_drift(PAIR, STEADY, still, 2, cells=64, feeds_back=False)
    months = breakthrough_s(PAIR) / MONTH_S
    # nothing much before, and most of what the streamlines bring within three months after
    assert abs(found[math.floor(months) - 3]) < 0.15
    assert abs(found[math.ceil(months) + 3]) > 1.0


def test_coarse_and_fine_grids_agree_on_years_of_seasons() -> None:
    coarse, usual, fine = (
        supply_drift(PAIR, WINTER, ROCK, 10, cells=cells)[-12:] for cells in (8, 16, 32)
    )
    assert np.abs(usual - fine).max() < 0.02
    assert np.abs(coarse - fine).max() < 0.04


def test_what_is_fed_back_makes_the_drift_greater() -> None:
    alone = supply_drift(PAIR, WINTER, ROCK, 10, feeds_back=False)
    assert supply_drift(PAIR, WINTER, ROCK, 10).min() < alone.min() < 0


def test_as_much_heat_in_summer_as_in_winter_leaves_little_drift() -> None:
    flows = tuple(5e-4 for _ in range(12))
    changes = tuple(-4.0 if 3 <= month < 9 else 4.0 for month in range(12))
    both = supply_drift(PAIR, Season(flows, changes), ROCK, 10)[-12:]
    winter = supply_drift(PAIR, Season(flows, tuple(min(k, 0.0) for k in changes)), ROCK, 10)[-12:]
    assert abs(both.mean()) < 0.1 * abs(winter.mean())


def test_groundwater_that_flows_on_carries_the_cold_away() -> None:
    still = supply_drift(PAIR, WINTER, ROCK, 10).min()
    away = supply_drift(replace(PAIR, past=(-1e-6, 0.0)), WINTER, ROCK, 10).min()
    back = supply_drift(replace(PAIR, past=(1e-6, 0.0)), WINTER, ROCK, 10).min()
    assert back < still < away < 0
    assert away > 0.1 * still


def test_twice_the_change_is_twice_the_drift() -> None:
    double = Season(WINTER.flows_m3s, tuple(2 * change for change in WINTER.changes_k))
    once, twice = (supply_drift(PAIR, season, ROCK, 3) for season in (WINTER, double))
    assert twice == pytest.approx(2 * once, rel=1e-9)


def test_wells_farther_apart_drift_less() -> None:
    far = supply_drift(replace(PAIR, separation_m=100.0), WINTER, ROCK, 10)
    assert abs(far.min()) < abs(supply_drift(PAIR, WINTER, ROCK, 10).min())


def test_no_cell_but_those_of_the_wells_gains_or_loses_water() -> None:
    grid = grid_around(50.0, 200.0, 8)
    sides = sides_of(grid, replace(PAIR, past=(3e-7, -2e-7)))
    balance = np.zeros(grid.areas.size)
    np.add.at(balance, sides.first, sides.through)
    np.add.at(balance, sides.other, -sides.through)
    np.add.at(balance, sides.rim, sides.leaves)
    given = PAIR.flow_m3s / PAIR.thickness_m
    assert balance[grid.back] == pytest.approx(given, rel=1e-9)
    assert balance[grid.supply] == pytest.approx(-given, rel=1e-9)
    balance[[grid.back, grid.supply]] = 0.0
    assert np.abs(balance).max() < 1e-15 * 1e3 * given + 1e-16
