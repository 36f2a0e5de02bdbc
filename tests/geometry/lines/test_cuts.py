import pytest
from shapely import Point, Polygon, box

from siteplan.geometry.lines.cuts import zones_of

CORNER = Polygon([(0, 0), (9, 0), (9, 3), (3, 3), (3, 8), (0, 8)])


def test_an_l_is_cut_along_both_sides_of_its_reflex_corner():
    # Along (3, 3)-(9, 3): 9 x 3 below, 3 x 5 above; along (3, 3)-(3, 8): 3 x 8 and 6 x 3.
    areas = sorted(zone.area for zone in zones_of(CORNER, least_m=1.0, most=5))
    assert areas == pytest.approx([15, 18, 24, 27])


def test_the_two_zones_of_a_cut_make_up_the_region():
    first, second = zones_of(CORNER, least_m=1.0, most=1)
    assert first.union(second).area == pytest.approx(CORNER.area)
    assert first.intersection(second).area == pytest.approx(0)


def test_sides_on_one_line_give_one_cut():
    region = box(0, 0, 20, 10) - box(4, 4, 8, 6) - box(12, 4, 16, 6)
    # Two holes side by side: cuts at x = 4, 8, 12, 16 and at y = 4 and 6 for both together.
    assert len(zones_of(region, least_m=1.0, most=20)) == 2 * 6


def test_a_convex_region_and_short_sides_give_no_cut():
    assert zones_of(box(0, 0, 9, 9), least_m=1.0, most=5) == []
    assert zones_of(box(0, 0, 9, 9) - Point(4, 4).buffer(2), least_m=1.0, most=5) == []
