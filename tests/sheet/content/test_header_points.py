from dataclasses import replace

import pytest
from shapely import LineString, Point
from sheet_lots import FT, ft, suburban, thin_lot

from siteplan.layout.elements import Bore
from siteplan.layout.model import Header, Layout
from siteplan.sheet.content.header_points import header_points
from siteplan.sheet.tables.elements import header_title
from siteplan.site.model import Entry
from siteplan.units.systems import US


def laid(*runs, bores=()):
    elements = tuple(Bore(f"B{k}", x, y, 0.15, 90.0) for k, (x, y) in enumerate(bores, 1))
    header = Header(tuple(map(LineString, runs)), Entry("E1", Point(runs[0][0])))
    return Layout("vertical", elements, header, 6.0, 0.0)


def places(layout):
    return [(point.name, point.at) for point in header_points(layout)]


def test_the_entry_comes_first_then_bends_and_branches_along_the_way():
    layout = laid([(0, 0), (0, 5), (4, 5), (9, 5)], [(4, 5), (4, 9)], bores=[(9, 5), (4, 9)])
    assert places(layout) == [("H1", (0, 0)), ("H2", (0, 5)), ("H3", (4, 5))]


def test_a_point_at_an_element_is_staked_with_the_element():
    assert places(laid([(0, 0), (0, 5), (5, 5)], bores=[(0, 5), (5, 5)])) == [("H1", (0, 0))]


def test_a_straight_crossover_needs_no_stake():
    layout = laid([(0, 0), (5, 0)], [(5, 0), (9, 0)], bores=[(9, 0)])
    assert places(layout) == [("H1", (0, 0))]


def test_a_leg_that_starts_on_a_run_branches_there():
    layout = laid([(0, 0), (10, 0)], [(4, 0), (4, 3)], bores=[(10, 0), (4, 3)])
    assert places(layout) == [("H1", (0, 0)), ("H2", (4, 0))]


def test_the_longest_way_is_the_main():
    layout = laid([(0, 0), (5, 0), (5, 9), (9, 9)], [(5, 0), (8, 0), (8, 2)])
    main = {point.at for point in header_points(layout) if point.main}
    assert main == {(0, 0), (5, 0), (5, 9), (9, 9)}
    assert header_points(layout)[0].at == (0, 0)
    assert len(header_points(layout)) == 6


def test_no_header_has_no_points():
    assert header_points(replace(laid([(0, 0), (1, 0)]), header=None)) == ()


def test_the_suburban_header_is_staked_at_its_bends_and_branches():
    # worked by hand from the runs: entry, two bends, and a branch on each row of bores
    expected = ft((100, 91), (100, 100), (115, 105), (115, 110), (115, 130), (115, 150))
    found = [point.at for point in header_points(suburban().layout)]
    assert found == [pytest.approx(point) for point in expected]


def test_the_length_of_the_header_is_rounded_up():
    header = laid([(0, 0), (10.01 * FT, 0)]).header
    assert header_title(header, US) == "HEADER TRENCH 10.1 ft TO ENTRY E1"


def test_a_leg_at_every_trench_is_found():
    # entry, bend, then a branch at each of 60 trenches; the last of them is the end of the run
    assert len(header_points(thin_lot().layout)) == 62
