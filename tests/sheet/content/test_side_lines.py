"""Lot lines as base lines: when a stake is set off from one, and by what figures."""

import math

import pytest
import sheet_lots
from shapely import LineString, Polygon, box

from siteplan.layout.elements import Bore, Trench
from siteplan.layout.model import Layout
from siteplan.sheet.content.setting_out import record_ties, setting_out, tied_from
from siteplan.sheet.tables.setting_out import setting_cells, setting_words
from siteplan.site.model import Feature
from siteplan.units.systems import METRIC

HOUSE = box(150, 10, 162, 20)
LOT = box(0, 0, 170, 60)


def staked(*elements, parcel=LOT, house=HOUSE, more=(), asked=0):
    site = sheet_lots.replace(
        sheet_lots.suburban().site,
        parcel=parcel,
        features=(Feature("house", "building", house), *more),
    )
    layout = Layout("vertical", elements, None, 6.0, 90.0)
    return site, layout, setting_out(site, layout, asked)


def bore(name, x, y):
    return Bore(name, x, y, 0.15, 90.0)


def test_a_stake_with_long_tapes_alone_is_set_off_from_a_lot_line():
    # 60 m from either corner in the west and 90 m from the house: 150 ft are 45.7 m
    out = staked(bore("B1", 60.0, 52.0))[2]
    stake, ties = out.by_name["B1"], {tie.name: tie.at for tie in out.ties}
    assert not stake.tapes
    first, other = stake.line.split("-")
    # the north line, from its nearer corner: 60 m along it, 8 m off to the left
    assert (ties[first], ties[other]) == ((0.0, 60.0), (170.0, 60.0))
    assert (stake.station_m, stake.offset_m) == pytest.approx((60.0, -8.0))
    cells = setting_cells(stake, out, METRIC)
    assert cells == (stake.line, "0+060.00", "8.00 m R")
    words = setting_words(out, METRIC)
    assert f"{stake.line}: lot line from corner {first} to {other}." in words
    assert "from its first corner" in words


def test_a_row_of_bores_shares_one_line():
    out = staked(*(bore(f"B{k}", 50.0 + 6.0 * k, 50.0) for k in range(5)))[2]
    assert len({stake.line for stake in out.stakes}) == 1
    assert {round(abs(stake.offset_m), 6) for stake in out.stakes} == {10.0}


def test_a_stake_within_reach_of_two_corners_is_taped():
    stake = staked(bore("B1", 140.0, 40.0))[2].by_name["B1"]
    assert not stake.line
    assert len(stake.tapes) == 2


def test_no_offset_is_longer_than_fifty_feet():
    # both long lines are 30 m away
    stake = staked(bore("B1", 75.0, 30.0))[2].by_name["B1"]
    assert not stake.line
    assert len(stake.tapes) == 2


def test_no_line_runs_through_a_building_and_no_offset_over_water():
    shed = Feature("shed", "building", box(20, 57, 26, 61))
    pond = Feature("pond", "pond", box(60, 4, 90, 10))
    high, low = bore("B1", 70.0, 52.0), bore("B2", 75.0, 12.0)
    out = staked(high, low, more=(shed, pond))[2]
    # the shed stands over the north line, the pond between the stake and the south line
    assert not any(stake.line for stake in out.stakes)


def test_a_curve_is_no_base_line():
    # a quarter circle of 60 m radius in the north-west; its chord passes 3.5 m beside the stake
    arc = [(60 - 60 * math.cos(t), 60 * math.sin(t)) for t in
           (math.radians(3 * k) for k in range(31))]  # fmt: skip
    parcel = Polygon([(170, 0), (170, 60), *arc[::-1]])
    stake = staked(bore("B1", 25.0, 30.0), parcel=parcel)[2].by_name["B1"]
    assert not stake.line
    # with a straight line in its place it serves
    straight = Polygon([(170, 0), (170, 60), (60, 60), (0, 0)])
    assert staked(bore("B1", 35.0, 25.0), parcel=straight)[2].by_name["B1"].line


def test_where_a_book_asks_for_fixed_points_no_lot_line_serves():
    out = staked(bore("B1", 60.0, 52.0), asked=3)[2]
    assert not any(stake.line for stake in out.stakes)


def test_pegs_of_a_base_line_are_set_off_too():
    field = [bore(f"B{k}", 75.0 + 6.0 * (k % 4), 43.0 + 6.0 * (k // 4)) for k in range(8)]
    out = staked(*field)[2]
    assert out.lines
    assert all("-" in peg.line for peg in out.pegs)


def test_a_record_has_the_same_line_as_long_as_its_corners_are_known():
    site, layout, out = staked(bore("B1", 60.0, 52.0))
    record = tied_from(site, layout, record_ties(site, layout))
    assert record.by_name["B1"] == out.by_name["B1"]


def test_blocks_of_trenches_that_run_otherwise_have_lines_of_their_own():
    # four to the east and west, four turned by 30 degrees: all within one field
    level = [Trench(f"T{k}", LineString([(60, 4 * k), (90, 4 * k)]), 0.6, 1.5, 2)
             for k in range(1, 5)]  # fmt: skip
    u, v = math.cos(math.radians(30)), math.sin(math.radians(30))
    starts = [(94 - 4 * k * v, 8 + 4 * k * u) for k in range(4)]
    turned = [Trench(f"R{k}", LineString([(x, y), (x + 30 * u, y + 30 * v)]), 0.6, 1.5, 2)
              for k, (x, y) in enumerate(starts)]  # fmt: skip
    house = box(100, 0, 112, 8)
    site, _, _ = staked(bore("B1", 0, 0), house=house)
    out = setting_out(site, Layout("horizontal", (*level, *turned), None, 6.0, 90.0))
    assert len(out.lines) == 2
    for line in out.lines:
        (x, y), (p, q) = line.start.at, line.end.at
        served = {stake.name[0] for stake in out.stakes if stake.line == line.name}
        turn = math.degrees(math.atan2(q - y, p - x)) - (30 if served == {"R"} else 0)
        assert served in ({"R"}, {"T"})
        assert min(turn % 90, 90 - turn % 90) < 0.1
