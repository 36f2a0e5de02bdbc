import math

import numpy as np
import pytest

from siteplan.geometry.ways.comb import combs_of

GRID = np.array([[6.0 * k, 5.0 * row] for row in range(3) for k in range(4)])
ENTRY = np.array([[9.0, -4.0]])


def spots(combs, stops, spine):
    return np.concatenate([stops, combs.points])[list(spine)]


def test_a_spine_passes_straight_through_the_stops_of_all_rows():
    combs = combs_of(GRID, 0.0, anchors=ENTRY)
    assert (0, 4, 8) in combs.spines


def test_a_spine_in_line_with_the_entry_meets_the_rows_between_stops():
    combs = combs_of(GRID, 0.0, anchors=ENTRY)
    places = [spots(combs, GRID, spine).round(6).tolist() for spine in combs.spines]
    assert [[9.0, 0.0], [9.0, 5.0], [9.0, 10.0]] in places


def test_the_meeting_point_is_linked_to_the_stops_on_both_sides():
    combs = combs_of(GRID, 0.0, anchors=ENTRY)
    everything = np.concatenate([GRID, combs.points])
    lengths = [math.dist(everything[a], everything[b]) for a, b in combs.links]
    assert min(lengths) > 0.0
    middle = next(k for k, spot in enumerate(everything) if np.allclose(spot, (9, 0)))
    assert any(middle in pair for pair in combs.links.tolist())


@pytest.mark.parametrize("turn_deg", [0.0, 17.0, 120.0])
def test_the_combs_turn_with_the_rows(turn_deg):
    turn = math.radians(turn_deg)
    back = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    combs = combs_of(GRID @ back, turn_deg, anchors=ENTRY @ back)
    assert len(combs.spines) == len(combs_of(GRID, 0.0, anchors=ENTRY).spines)
    assert (0, 4, 8) in combs.spines


def test_stops_that_stand_in_no_rows_have_no_comb():
    scattered = np.array([[0.0, 0.0], [5.0, 1.0], [9.0, 3.0], [2.0, 7.0]])
    assert combs_of(scattered, 0.0, anchors=ENTRY).spines == ()
