"""Pipe lengths from the entry to places, around what is in the way."""

import math

import numpy as np
import pytest
from shapely import MultiPolygon, Point, box

from siteplan.layout.model import Ground
from siteplan.layout.way import ways_of
from siteplan.site.model import Entry


def lengths(passable, points, *entries):
    listed = tuple(Entry(f"E{k}", Point(xy)) for k, xy in enumerate(entries))
    return ways_of(Ground(passable, passable, listed)).to(np.array(points, dtype=float))


def test_in_open_ground_the_way_is_straight():
    assert lengths(box(0, 0, 10, 10), [(3, 4), (6, 8)], (0, 0)) == pytest.approx([5.0, 10.0])


def test_around_a_wall_the_way_bends_at_its_corners():
    # wall from (4, 0) to (6, 8); bends stand 0.25 m off its corners, at (3.75, 8.25), (6.25, 8.25)
    yard = box(-2, 0, 12, 20).difference(box(4, 0, 6, 8))
    found = lengths(yard, [(12, 0)], (-2, 0))
    assert found == pytest.approx([2 * math.hypot(5.75, 8.25) + 2.5], abs=1e-6)


def test_of_two_entries_the_nearer_counts():
    assert lengths(box(0, 0, 10, 10), [(9, 0)], (0, 0), (10, 0)) == pytest.approx([1.0])


def test_a_place_on_other_ground_has_no_way():
    parts = MultiPolygon([box(0, 0, 1, 1), box(5, 0, 6, 1)])
    assert np.isinf(lengths(parts, [(5.5, 0.5)], (0, 0))).all()


def test_without_an_entry_there_is_no_way():
    assert np.isinf(lengths(box(0, 0, 1, 1), [(0.5, 0.5)])).all()


def test_no_way_is_below_the_least_one_over_any_bend():
    yard = box(-2, 0, 12, 20).difference(box(4, 0, 6, 8))
    ways = ways_of(Ground(yard, yard, (Entry("E1", Point(-2, 0)),)))
    places = np.array([(12.0, 0.0), (1.0, 3.0), (9.0, 15.0), (7.0, 1.0)])
    assert (ways.to(places) >= ways.at_least(places) - 1e-9).all()
    # in sight of the entry both are the straight line
    assert ways.at_least(places[1:2]) == pytest.approx([math.hypot(3, 3)])


@pytest.mark.parametrize("count", [1, 3, 40, 500])
def test_the_nearest_of_many_places_are_as_near_as_of_all_looked_at(count: int) -> None:
    wall = box(2, 2, 3, 30)
    ground = Ground(
        box(0, 0, 60, 40), box(0, 0, 60, 40).difference(wall), (Entry("E", Point(1, 20)),)
    )
    ways = ways_of(ground)
    places = np.random.default_rng(7).uniform((0, 0), (60, 40), (500, 2))
    all_of_them = np.sort(ways.at_least(places))[:count]
    assert np.sort(ways.at_least_nearest(places, count))[:count] == pytest.approx(all_of_them)
