"""The rear yard is that of the largest building, by the shortest way to a street."""

from __future__ import annotations

from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from shapely import LineString, affinity

from siteplan.rules.yards import RearLine, ground_before, rear_line


def lot(buildings, streets):
    things = {
        "building": [SimpleNamespace(shape=shape) for shape in buildings],
        "street": [SimpleNamespace(shape=shape) for shape in streets],
    }
    return SimpleNamespace(of_kind=lambda kind: things[kind])


HOUSE = shapely.box(20, 10, 32, 20)
SHED = shapely.box(5, 40, 8, 43)
SOUTH, EAST = LineString([(-50, 0), (100, 0)]), LineString([(90, -50), (90, 100)])


@pytest.mark.parametrize("buildings", [[HOUSE, SHED], [SHED, HOUSE]])
def test_a_shed_behind_the_house_moves_no_rear_yard(buildings):
    line = rear_line(lot(buildings, [SOUTH]))
    # the house ends 20 m from the street, whatever stands behind it
    assert line.behind(25.0, 26.0) == pytest.approx(6.0)
    assert line.behind(25.0, 15.0) == pytest.approx(-5.0)


@pytest.mark.parametrize("streets", [[SOUTH, EAST], [EAST, SOUTH]])
def test_of_two_streets_the_nearer_one_is_the_front(streets):
    line = rear_line(lot([HOUSE], streets))
    assert line.back == pytest.approx((0.0, 1.0))


def test_without_house_or_street_there_is_no_rear_and_none_where_they_touch():
    assert rear_line(lot([], [SOUTH])) is None
    assert rear_line(lot([HOUSE], [])) is None
    assert rear_line(lot([shapely.box(0, -5, 5, 5)], [SOUTH])) is None


@pytest.mark.parametrize("far", [(0.0, 0.0), (5000.0, -3000.0)])
def test_the_ground_before_the_line_is_what_lies_nearer_to_the_street(far):
    def moved(shape):
        return shapely.transform(shape, lambda xy: xy + far)

    parcel = moved(shapely.box(0, 0, 60, 50))
    line = rear_line(lot([moved(HOUSE)], [moved(SOUTH)]))
    assert ground_before(parcel, line).area == pytest.approx(60 * 20)


@pytest.mark.parametrize("turn_deg", range(0, 360, 30))
@pytest.mark.parametrize("aside", [(0.0, 0.0), (0.0, 900.0), (-700.0, 400.0)])
def test_the_ground_before_a_line_is_all_of_it_on_that_side(turn_deg, aside):
    # a lot of 60 by 40 m lying anywhere, in its own axes: the house ends 15 m from its front
    lot_here = shapely.box(0, 0, 60, 40)
    before_here = shapely.box(0, 0, 60, 15)

    def placed(shape):
        return affinity.translate(affinity.rotate(shape, turn_deg, origin=(0, 0)), *aside)

    turn = np.radians(turn_deg)
    back = (float(-np.sin(turn)), float(np.cos(turn)))
    line = RearLine(back, float(np.dot(back, aside)) + 15.0)
    found = ground_before(placed(lot_here), line)
    assert found.symmetric_difference(placed(before_here)).area < 1e-6
    assert ground_before(placed(lot_here), RearLine(back, line.at_m - 20.0)).area == 0.0
