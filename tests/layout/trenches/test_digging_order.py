"""In what order trenches are dug: field by field, and in a field from the entry on."""

from __future__ import annotations

import itertools

import pytest
from shapely import LineString, Point, affinity

from siteplan.layout.trenches.digging import digging_order

ENTRY = Point(0.0, 0.0)
NEAR = [LineString([(5, 3 * k), (25, 3 * k)]) for k in range(4)]
"""A field of four rows 3 m apart, the first nearest to the entry."""


@pytest.mark.parametrize("given", list(itertools.permutations(range(4)))[::5])
@pytest.mark.parametrize("turn", [0.0, 37.0, 180.0])
def test_rows_of_a_field_are_dug_from_the_side_of_the_entry(given, turn):
    rows = [affinity.rotate(line, turn, ENTRY) for line in NEAR]
    found = digging_order([rows[k] for k in given], ENTRY, spacing_m=3.0)
    assert [rows.index(line) for line in found] == [0, 1, 2, 3]


def test_a_field_is_dug_to_its_end_before_another_is_begun():
    # beyond a gap of two spacings lies another field; its rows lie between those of the first
    # by their distances from the entry
    far = [LineString([(5, -6 - 3 * k), (25, -6 - 3 * k)]) for k in range(3)]
    found = digging_order([*far, *NEAR], ENTRY, spacing_m=3.0)
    assert found == [*NEAR, *far]


def test_rows_of_another_direction_are_another_field():
    across = [LineString([(26, 0), (26, 12)]), LineString([(29, 0), (29, 12)])]
    assert digging_order([*across, *NEAR], ENTRY, spacing_m=3.0) == [*NEAR, *across]


@pytest.mark.parametrize("bends", [[(15, 3.5)], [(12, 3.5), (18, 3.5)]])
def test_a_line_with_bends_is_dug_by_itself(bends):
    # a row whose ends lie like those of the second, bent by half a metre on its way
    bent = LineString([(5, 3), *bends, (25, 3)])
    rows = [NEAR[0], bent, *NEAR[2:]]
    # the first row has no neighbour then: the others stand two spacings off
    assert digging_order(rows, ENTRY, spacing_m=3.0) == [NEAR[0], bent, *NEAR[2:]]
    found = digging_order([*NEAR, bent], ENTRY, spacing_m=3.0)
    assert found == [*NEAR, bent]


def test_a_point_given_twice_is_no_bend():
    doubled = LineString([(5, 3), (5, 3), (25, 3)])
    found = digging_order([NEAR[3], doubled, NEAR[0], NEAR[2]], ENTRY, spacing_m=3.0)
    assert [line.coords[0][1] for line in found] == [0, 3, 6, 9]
