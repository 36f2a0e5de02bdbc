"""Division into equal groups, beside trying everything and beside an integer programme."""

import itertools
import random

import numpy as np
import pytest
from scipy.optimize import Bounds, LinearConstraint, milp

from siteplan.hydraulics.balance import divide


def tried_all(lengths, count, most):
    best = None
    for choice in itertools.product(range(count), repeat=len(lengths)):
        totals = [sum(x for x, at in zip(lengths, choice, strict=True) if at == k)
                  for k in range(count)]  # fmt: skip
        if min(totals) > 0 and max(totals) <= most:
            spread = max(totals) - min(totals)
            best = spread if best is None else min(best, spread)
    return best


@pytest.mark.parametrize("seed", range(12))
def test_the_spread_is_the_least_of_all_divisions(seed):
    chance = random.Random(seed)
    count = chance.randint(1, 4)
    lengths = [chance.randint(100, 600) / 10 for _ in range(chance.randint(count, 7))]
    most = chance.uniform(60, 150)
    found, expected = divide(lengths, count, most), tried_all(lengths, count, most)
    assert (found is None) == (expected is None)
    if found is not None:
        assert found.proven
        assert found.spread_m == pytest.approx(expected, abs=2e-3)


def programme(lengths, count):
    """Least spread by mixed-integer programming (HiGHS)."""
    items, size = len(lengths), len(lengths) * count
    cost = np.zeros(size + 2)
    cost[-2:] = 1.0, -1.0  # greatest less smallest total
    rows = []
    for item in range(items):
        row = np.zeros(size + 2)
        row[item * count : (item + 1) * count] = 1.0
        rows.append(LinearConstraint(row, 1.0, 1.0))
    for group in range(count):
        row = np.zeros(size + 2)
        row[group:size:count] = lengths
        low, high = row.copy(), row.copy()
        high[-2], low[-1] = -1.0, -1.0
        rows += [LinearConstraint(high, -np.inf, 0.0), LinearConstraint(low, 0.0, np.inf)]
    whole = np.concatenate([np.ones(size), np.zeros(2)])
    bounds = Bounds(np.zeros(size + 2), np.concatenate([np.ones(size), np.full(2, np.inf)]))
    return float(milp(cost, integrality=whole, bounds=bounds, constraints=rows).fun)


@pytest.mark.parametrize("count", [2, 3, 4])
def test_the_spread_is_that_of_an_integer_programme(count):
    chance = random.Random(count)
    lengths = [chance.randint(200, 600) / 10 for _ in range(9)]
    found = divide(lengths, count, 1e4)
    assert found.proven
    assert found.spread_m == pytest.approx(programme(lengths, count), abs=2e-3)


def test_every_length_is_in_exactly_one_group():
    lengths = [10.0 + 0.37 * k for k in range(11)]
    found = divide(lengths, 4, 1e3)
    assert sorted(itertools.chain(*found.groups)) == list(range(11))


def test_no_group_passes_the_most():
    # 3 x 40 into two groups of at most 79 cannot be
    assert divide([40.0, 40.0, 40.0], 2, 79.0) is None
    assert divide([40.0, 40.0, 40.0], 2, 80.0).spread_m == pytest.approx(40.0)


def test_a_search_cut_short_says_that_it_proves_nothing():
    chance = random.Random(5)
    lengths = [chance.uniform(20, 60) for _ in range(20)]
    assert not divide(lengths, 7, 1e3, nodes=200).proven


def test_there_are_never_more_groups_than_lengths():
    assert divide([1.0, 2.0], 3, 10.0) is None
