"""Pipe from the building to any place, beside straight lines on open ground."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import LineString, Point

from siteplan.layout.model import Ground
from siteplan.layout.trenches.pipe_field import PipeField
from siteplan.layout.way import ways_of
from siteplan.site.model import Entry


def open_ground(wide, deep, *holes):
    area = shapely.box(0, 0, wide, deep)
    for hole in holes:
        area = area.difference(hole)
    return Ground(area, area, (Entry("E", Point(0, 0)),), ())


@pytest.mark.parametrize(("wide", "deep"), [(73.3, 41.7), (20.2, 60.9), (33.0, 33.0)])
def test_on_open_ground_it_is_the_straight_line_up_to_the_farthest_corner(wide, deep):
    ground = open_ground(wide, deep)
    field = PipeField(ground.area, ways_of(ground))
    places = np.random.default_rng(3).uniform((0, 0), (wide, deep), (60, 2))
    places = np.vstack([places, [(wide, deep), (wide, 0.3), (0.3, deep)]])
    assert field.at(places) == pytest.approx(np.hypot(*places.T), abs=0.35, rel=0.02)


def test_behind_a_building_it_leads_round_a_corner():
    ground = open_ground(60.0, 40.0, shapely.box(10, -1, 20, 25))
    field = PipeField(ground.area, ways_of(ground))
    (round_it,) = field.at(np.array([(40.0, 0.5)]))
    # over the corners (10, 25) and (20, 25)
    way = np.hypot(10, 25) + 10 + np.hypot(20, 24.5)
    assert round_it == pytest.approx(way, rel=0.02)


def test_beside_a_header_it_is_no_farther_than_to_that():
    ground = open_ground(60.0, 40.0)
    headers = [LineString([(30, 0), (50, 0), (50, 20)]), Point(5, 35)]
    joined = PipeField(ground.area, ways_of(ground)).beside(
        [shapely.get_coordinates(header) for header in headers]
    )
    places = np.random.default_rng(5).uniform((0, 0), (60, 40), (40, 2))
    # the general library's own distances, and the straight line from the entry at the corner
    gaps = [shapely.distance(header, shapely.points(places)) for header in headers]
    wanted = np.minimum(np.hypot(*places.T), np.min(gaps, axis=0))
    assert joined.at(places) == pytest.approx(wanted, abs=0.6)
