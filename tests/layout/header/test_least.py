"""The least that a header needs, beside shortest trees that are known."""

from __future__ import annotations

import math

import numpy as np
import pytest
from scipy.sparse.csgraph import minimum_spanning_tree
from scipy.spatial.distance import cdist

from siteplan.layout.header.least import least_header


def polygon(corners: int) -> list[tuple[float, float]]:
    """Corners of a regular polygon of radius one."""
    turns = [2 * math.pi * k / corners for k in range(corners)]
    return [(math.cos(turn), math.sin(turn)) for turn in turns]


@pytest.mark.parametrize(
    ("corners", "shortest"),
    [
        # R. Courant, H. Robbins, What Is Mathematics?, chapter VII, section 5 (from memory): three
        # legs from the middle; two points of branching; all sides but one
        (3, 3.0),
        (4, (1 + math.sqrt(3)) * math.sqrt(2)),
        (6, 5.0),
    ],
)
def test_no_known_shortest_tree_is_shorter(corners: int, shortest: float) -> None:
    assert 0.82 * shortest <= least_header(polygon(corners)) <= shortest


def test_an_element_at_the_entry_takes_nothing() -> None:
    assert least_header([(3.0, 4.0), (3.0, 4.0)]) == 0.0


FIELDS = {
    "scattered": np.random.default_rng(4).uniform(0.0, 300.0, (250, 2)),
    # all corners of a square lie on one circle: no triangulation is the only one
    "in rows": np.array([(6.1 * k, 6.1 * row) for k in range(15) for row in range(15)]),
    "on a line": np.array([(3.0 * k, 7.0 * k) for k in range(150)]),
}


@pytest.mark.parametrize("name", FIELDS)
def test_of_many_spots_it_is_that_of_all_distances(name: str) -> None:
    spots = FIELDS[name]
    # scipy's shortest tree over the whole table, and 0.824 of it (Chung and Graham 1985)
    shortest = minimum_spanning_tree(cdist(spots, spots)).sum()
    found = least_header([(float(x), float(y)) for x, y in spots])
    assert found == pytest.approx(0.824 * shortest, rel=1e-9)
    assert {"in rows": 224 * 6.1, "on a line": 149 * math.hypot(3.0, 7.0)}.get(
        name, shortest
    ) == pytest.approx(shortest)
