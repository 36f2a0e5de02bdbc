"""Sizes of groups of circuits, beside every division that there is."""

from __future__ import annotations

import math

import pytest

from siteplan.layout.piping.groups import _cut, _parted, _sizes, _together, even_sizes


@pytest.mark.parametrize("most", [2, 5, 12])
@pytest.mark.parametrize("count", [1, 2, 5, 11, 12, 13, 24, 25, 61])
def test_even_groups_are_the_fewest_that_hold_all_and_differ_by_one_at_most(count, most):
    sizes = even_sizes(count, most)
    assert sum(sizes) == count
    assert max(sizes) <= most
    assert max(sizes) - min(sizes) <= 1
    assert len(sizes) == math.ceil(count / most)
    assert list(sizes) == sorted(sizes, reverse=True)


def divisions(count, number, most):
    """Every way of so many groups, none of less than half of the most."""
    least = max(most // 2, 1)
    if number == 0:
        return [()] if count == 0 else []
    return [
        (size, *rest)
        for size in range(least, min(most, count) + 1)
        for rest in divisions(count - size, number - 1, most)
    ]


def cost(parted, sizes):
    ends = [sum(sizes[: at + 1]) for at in range(len(sizes) - 1)]
    return sum(parted[end] for end in ends)


TRENCHES = [
    [("A",), ("A",), ("B",), ("B",), ("C",), ("C",), ("D",), ("D",), ("E",), ("E",)],
    [("A",), ("A",), ("A",), ("B",), ("B",), ("C",), ("C",), ("C",), ("C",), ("D",), ("D",)],
    [("A",), ("A", "B"), ("B", "C"), ("C",), ("D",), ("D",), ("E",), ("F",), ("F",)],
]


@pytest.mark.parametrize("most", [4, 5, 6])
@pytest.mark.parametrize("trenches", TRENCHES)
def test_no_division_parts_fewer_trenches_nor_is_more_even_at_that(trenches, most):
    runs = [frozenset(each) for each in trenches]
    parted = _parted(range(len(runs)), runs)
    sizes = _sizes(parted, most)
    needed = math.ceil(len(runs) / most)
    every = [way for more in (0, 1) for way in divisions(len(runs), needed + more, most)]
    assert sizes in every
    least = min(cost(parted, way) for way in every)
    assert cost(parted, sizes) == least
    best = [way for way in every if cost(parted, way) == least]
    fewest = min(map(len, best))
    assert len(sizes) == fewest
    squares = min(sum(s * s for s in way) for way in best if len(way) == fewest)
    assert sum(size * size for size in sizes) == squares


def test_a_cut_parts_what_has_circuits_on_both_sides_of_it():
    runs = [frozenset(each) for each in (("A",), ("A", "B"), ("B",), ("C",))]
    assert _parted([0, 1, 2, 3], runs) == [0, 1, 1, 0]
    assert _parted([1, 3, 0, 2], runs) == [0, 2, 2, 1]


def test_what_shares_a_trench_comes_right_behind_the_first_of_it():
    runs = [frozenset(each) for each in (("A",), ("B",), ("A",), ("C",), ("B",))]
    assert _together([0, 1, 2, 3, 4], runs) == [0, 2, 1, 4, 3]
    assert _cut([4, 0, 2, 1, 3], (2, 3)) == ((0, 4), (1, 2, 3))
