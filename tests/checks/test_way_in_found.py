"""The way in measured again: where it may begin, what it must keep off, what it gets to."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
import shapely
from shapely import LineString, Point

from siteplan.checks.access import access_findings
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.model import Access, Layout
from siteplan.site.model import Feature

PARCEL = shapely.box(0, 0, 60, 40)
STREET = Feature("s", "street", LineString([(-20, -5), (80, -5)]))
BORE = Bore("B1", 30.0, 30.0, 0.15, 60.0)
WIDE = 4.0


def codes(path, *features, gates=(), boom_m=0.0, machine="rig", elements=(BORE,)):
    rig = SimpleNamespace(gates=gates, boom_m=boom_m)
    site = SimpleNamespace(
        parcel=PARCEL,
        features=features,
        of_kind=lambda kind: [each for each in features if each.kind == kind],
        exchanger=SimpleNamespace(rig=rig, excavator=rig),
    )
    access = Access(LineString(path), WIDE, machine=machine)
    system = "vertical" if machine == "rig" else "horizontal"
    layout = Layout(system, elements, None, 5.0, 0.0, access=access)
    return {found.code: found for found in access_findings(site, layout)}


def test_a_straight_way_from_the_street_to_the_bore_is_right():
    assert codes([(30, 0), (30, 30)], STREET) == {}


@pytest.mark.parametrize(("y", "right"), [(-5.0, True), (-19.9, True), (-20.1, False)])
def test_a_street_farther_off_than_20_m_is_not_where_it_begins(y, right):
    # common practice, no source
    street = Feature("s", "street", LineString([(-20, y), (80, y)]))
    assert ("way-in-start" not in codes([(30, 0), (30, 30)], street)) is right


@pytest.mark.parametrize(("x", "right"), [(10.0, True), (17.9, True), (18.1, False)])
def test_a_way_from_a_gate_begins_within_two_widths_of_it(x, right):
    found = codes([(x, 0), (x, 20), (30, 30)], gates=[Point(10, 0)])
    assert ("way-in-start" not in found) is right


@pytest.mark.parametrize(("x", "right"), [(30.0, True), (36.9, True), (37.1, False)])
def test_a_way_from_a_driveway_begins_within_its_own_width_and_that_of_the_driveway(x, right):
    # the machine is 4 m wide, the driveway 3 m
    driveway = Feature("d", "driveway", LineString([(30, -9), (30, 15)]), width_m=3.0)
    assert ("way-in-start" not in codes([(x, 0), (x, 30), (30, 30)], driveway)) is right


BETWEEN_LOT_AND_STREET = [(30, 0), (30, 10), (45, 10), (45, -1.5), (55, -1.5), (55, 30), (30, 30)]
AROUND_THE_WEST_CORNER = [(30, 0), (30, 10), (-3, 10), (-3, 2), (10, 2), (10, 30), (30, 30)]


@pytest.mark.parametrize(
    ("path", "right"), [(BETWEEN_LOT_AND_STREET, True), (AROUND_THE_WEST_CORNER, False)]
)
def test_a_way_leaves_the_lot_only_towards_the_street(path, right):
    # the street lies 5 m off and the machine is 4 m wide: no corner may be farther off than 9 m,
    # and at the west corner some are, up to 17 m
    assert ("way-in-off-the-lot" not in codes(path, STREET)) is right


def test_a_way_that_begins_inside_the_lot_or_at_no_street_is_told():
    assert "way-in-start" in codes([(30, 5), (30, 30)], STREET)
    assert "way-in-start" in codes([(30, 40), (30, 30)], STREET)


@pytest.mark.parametrize(("gap", "right"), [(2.01, True), (2.0, True), (1.99, False)])
def test_half_the_width_is_kept_from_a_house(gap, right):
    house = Feature("h", "building", shapely.box(30 + gap, 8, 45, 20))
    found = codes([(30, 0), (30, 30)], STREET, house)
    assert ("way-in-blocked" not in found) is right
    if not right:
        assert found["way-in-blocked"].measured_m == pytest.approx(gap)
        assert found["way-in-blocked"].required_m == WIDE / 2


def test_a_way_that_leaves_the_lot_is_told_with_how_far():
    # half the machine's width, and 3 m of the way, beyond the eastern line
    found = codes([(50, 0), (50, 10), (63, 10), (63, 25), (50, 25), (30, 30)], STREET)
    assert found["way-in-off-the-lot"].measured_m == pytest.approx(5.0, abs=0.1)


def wall(gap):
    """Houses across the whole lot but for a gap."""
    return (
        Feature("w", "building", shapely.box(0, 14, 20, 18)),
        Feature("e", "building", shapely.box(20 + gap, 14, 60, 18)),
    )


@pytest.mark.parametrize(("gap", "right"), [(4.2, True), (4.0, True), (3.9, False)])
def test_nothing_behind_a_gap_narrower_than_the_machine_is_reached(gap, right):
    at = 20 + gap / 2
    found = codes([(at, 0), (at, 10)], STREET, *wall(gap))
    assert ("no-way-in" not in found) is right


@pytest.mark.parametrize(("gap", "right"), [(4.2, True), (3.9, False)])
def test_half_of_what_a_line_is_wide_is_taken_on_each_of_its_sides(gap, right):
    # streams 4 m wide: 2 m on each side of their lines and beyond their ends
    streams = (
        Feature("w", "stream", LineString([(-9, 16), (18, 16)]), width_m=4.0),
        Feature("e", "stream", LineString([(20 + gap + 2, 16), (69, 16)]), width_m=4.0),
    )
    at = 20 + gap / 2
    found = codes([(at, 0), (at, 10)], STREET, *streams)
    assert ("no-way-in" not in found) is right


@pytest.mark.parametrize(("x", "right"), [(30.0, True), (30.4, True), (30.6, False)])
def test_a_driveway_over_a_stream_carries_a_machine_as_far_as_it_is_wide(x, right):
    # common practice, no source: a culvert is as wide as the driveway on it, here 2.5 m to each
    # side of x = 30; the machine takes 2 m to each side of its way
    stream = Feature("w", "stream", LineString([(-9, 16), (69, 16)]), width_m=2.0)
    driveway = Feature("d", "driveway", LineString([(30, -9), (30, 22)]), width_m=5.0)
    found = codes([(x, 0), (x, 30)], STREET, stream, driveway)
    assert ("way-in-blocked" not in found) is right
    assert "way-in-blocked" in codes([(x, 0), (x, 30)], STREET, stream)


@pytest.mark.parametrize(("boom", "right"), [(9.0, True), (3.0, False)])
def test_a_trench_is_reached_as_far_as_the_boom_gets(boom, right):
    # the houses begin at y = 14 and the trench lies at y = 22
    trench = Trench("T1", LineString([(10, 22), (50, 22)]), 0.6, 1.5, 2)
    found = codes(
        [(30, 0), (30, 11)], STREET, *wall(0.5), boom_m=boom, machine="excavator",
        elements=(trench,),
    )  # fmt: skip
    assert ("no-way-in" not in found) is right


def test_no_way_at_all_reaches_nothing_without_a_street():
    found = codes([], elements=(BORE,))
    assert set(found) == {"no-way-in"}


def test_an_existing_well_is_not_reached_for():
    from siteplan.layout.elements import Well

    old = Well("W1", 30.0, 30.0, 0.2, 40.0, "supply", existing="w")
    assert codes([], elements=(old,)) == {}


def test_a_machine_drives_over_a_storm_drain_along_a_line_and_not_over_its_inlet():
    way = [(30, 0), (30, 30)]
    along = Feature("d", "storm drain", LineString([(0, 15), (60, 15)]))
    inlet = Feature("d", "storm drain", Point(30, 15))
    basin = Feature("d", "storm drain", shapely.box(28, 14, 32, 16))
    assert codes(way, STREET, along) == {}
    for solid in (inlet, basin):
        assert codes(way, STREET, solid)
