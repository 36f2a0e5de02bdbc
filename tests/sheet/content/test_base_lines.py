"""Base lines of fields in rows: where they run, and stations and offsets worked by hand."""

import math
from itertools import pairwise

import pytest
import shapely
import sheet_lots
from shapely import LineString, Point, box

from siteplan.layout.elements import Bore, Trench
from siteplan.layout.model import Layout
from siteplan.sheet.content.setting_out import setting_out
from siteplan.sheet.content.stakes import side_of
from siteplan.site.model import Feature
from siteplan.units.systems import METRIC, US

FOOT = 0.3048
HOUSE = box(0, -10, 14, -2)


def field(elements, house=HOUSE, system="vertical", parcel=None):
    site = sheet_lots.replace(
        sheet_lots.suburban().site,
        parcel=parcel or box(-40, -40, 60, 60),
        features=(Feature("house", "building", house),),
    )
    return site, Layout(system, elements, None, 6.0, 90.0)


def lattice(columns, rows, step=6.0, at=(0.0, 6.0)):
    return tuple(
        Bore(f"B{k}", at[0] + step * (k % columns), at[1] + step * (k // columns), 0.15, 90.0)
        for k in range(columns * rows)
    )


def test_a_field_in_rows_has_one_base_line_midway_between_rows():
    # four rows at y = 6, 12, 18 and 24 m: midway between the two in the middle is y = 15 m
    out = setting_out(*field(lattice(4, 4)))
    (line,) = out.lines
    heights = {round(peg.at[1], 6) for peg in (line.start, line.end)}
    across = {round(peg.at[0], 6) for peg in (line.start, line.end)}
    assert heights == {15.0} or across == {9.0}
    # offsets are one and a half steps and a half: 9 m and 3 m, on either side
    assert {round(abs(stake.offset_m), 6) for stake in out.stakes} == {3.0, 9.0}


def test_pegs_stand_beyond_the_outermost_stakes():
    out = setting_out(*field(lattice(4, 4)))
    (line,) = out.lines
    low, high = line.stations_m
    assert low == 0.0
    assert all(low + 0.5 < stake.station_m < high - 0.5 for stake in out.stakes)


@pytest.mark.parametrize("gap_m", [1.8, 2.2, 3.2, 4.6, 6.3])
def test_no_peg_stands_within_three_feet_of_a_lot_line(gap_m):
    # on it are fences and hedges: common practice, no source
    parcel = box(-gap_m, -40.0, 18.0 + gap_m, 24.0 + gap_m)
    out = setting_out(*field(lattice(4, 4), parcel=parcel))
    (line,) = out.lines
    for peg in (line.start, line.end):
        assert Point(peg.at).distance(parcel.exterior) > 3 * FOOT


def test_station_and_offset_lead_back_to_every_stake():
    out = setting_out(*field(lattice(5, 3)))
    (line,) = out.lines
    (x, y), (p, q) = line.start.at, line.end.at
    u, v = (p - x) / math.dist((x, y), (p, q)), (q - y) / math.dist((x, y), (p, q))
    for stake in out.stakes:
        along = stake.station_m - line.first_m
        at = (x + along * u - stake.offset_m * v, y + along * v + stake.offset_m * u)
        assert at == pytest.approx(stake.at, abs=1e-9)


def test_trenches_are_set_off_from_a_line_along_them_and_not_across():
    # six trenches of 30 m at 3 m: along them offsets are 7.5 m at most, across them 15 m
    trenches = tuple(
        Trench(f"T{k}", LineString([(0, 3 * k), (30, 3 * k)]), 0.6, 1.5, 2) for k in range(1, 7)
    )
    out = setting_out(*field(trenches, system="horizontal"))
    assert len(out.lines) == 1
    assert max(abs(stake.offset_m) for stake in out.stakes) == pytest.approx(7.5)


def test_a_wide_field_has_several_lines_and_offsets_of_at_most_fifty_feet():
    site, layout = field(lattice(8, 8, at=(-20.0, 2.0)))
    out = setting_out(site, layout)
    # seven steps of 6 m are 42 m, more than twice 50 ft = 30.48 m
    assert len(out.lines) == 2
    assert max(abs(stake.offset_m) for stake in out.stakes if stake.line) <= 50 * FOOT


def test_few_bores_are_taped_one_by_one():
    out = setting_out(*field(lattice(5, 1)))
    assert out.lines == ()
    assert all(len(stake.tapes) == 2 for stake in out.stakes)


def test_no_offset_and_no_line_runs_through_a_building():
    shed = Feature("shed", "building", box(7, 7, 11, 11))
    bores = (b for b in lattice(6, 5) if shed.shape.distance(shapely.Point(b.x_m, b.y_m)) > 0.5)
    site, layout = field(tuple(bores))
    site = sheet_lots.replace(site, features=(*site.features, shed))
    out = setting_out(site, layout)
    walls = shed.shape.buffer(-0.1)
    for line in out.lines:
        start, end = line.start.at, line.end.at
        assert not LineString([start, end]).intersects(walls)
        for stake in out.stakes:
            if stake.line == line.name:
                foot = LineString([start, end]).interpolate(stake.station_m - line.first_m)
                assert not LineString([foot, stake.at]).intersects(walls)


def test_where_a_book_asks_for_fixed_points_every_stake_is_taped_from_them():
    site, layout = field(lattice(4, 4))
    out = setting_out(site, layout, 3)
    assert out.lines == ()
    houses = {tie.name for tie in out.ties if tie.what == "building corner"}
    for stake in out.stakes:
        assert sum(tape.tie in houses for tape in stake.tapes) >= 3


def test_two_fields_far_apart_have_lines_of_their_own():
    far = tuple(Bore(f"C{k}", bore.x_m + 50.0, bore.y_m, 0.15, 90.0)
                for k, bore in enumerate(lattice(3, 3)))  # fmt: skip
    site, layout = field((*lattice(3, 3, at=(-30.0, 6.0)), *far))
    out = setting_out(site, layout)
    assert len(out.lines) == 2
    ends = [sorted(x for x, _ in (line.start.at, line.end.at)) for line in out.lines]
    assert all(first[1] < other[0] for first, other in pairwise(sorted(ends)))


@pytest.mark.parametrize(("at", "side"), [((5, 8), "N"), ((5, -8), "S")])
def test_a_side_is_the_quarter_of_the_compass_it_lies_in(at, side):
    assert side_of((0.0, 0.0), (10.0, 2.0), at) == side
    # whichever of the two corners is the first
    assert side_of((10.0, 2.0), (0.0, 0.0), at) == side


def test_unit_systems_have_the_full_station_of_their_field_books():
    # common practice, no source: stations of 100 ft, and of 1 km
    assert (US.station, METRIC.station) == (100, 1000)


def test_no_peg_is_driven_into_a_drainfield() -> None:
    # a drainfield's pipes lie a foot or two deep: common practice, no source
    site, layout = field(lattice(4, 4))
    # over the place of the first peg, with free ground farther out
    x, y = setting_out(site, layout).pegs[0].at
    drained = box(x - 1.0, y - 1.0, x + 1.0, y + 1.0)
    features = (*site.features, Feature("field", "drainfield", drained))
    pegs = setting_out(sheet_lots.replace(site, features=features), layout).pegs
    assert len(pegs) == 2
    assert not any(drained.contains(Point(peg.at)) for peg in pegs)
