"""The least that a header needs, beside shortest trees that are known."""

from __future__ import annotations

import math

import pytest

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
