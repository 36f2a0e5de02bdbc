"""Lines stretched over a pond, from which coils are set off; distances by hand."""

from __future__ import annotations

import math

import pytest
import shapely
from shapely import box

from siteplan.sheet.content.stakes import BaseLine, SettingOut, Stake
from siteplan.sheet.content.ties import PROPERTY_CORNER, Corner, Ground
from siteplan.sheet.content.water_lines import LONGEST_M, REACH_M, water_lines
from siteplan.sheet.tables.setting_out import STRETCHED, line_words

LOT = box(0.0, 0.0, 200.0, 200.0)
CORNERS = tuple(
    Corner(at, PROPERTY_CORNER, is_building=False)
    for at in ((0.0, 0.0), (200.0, 0.0), (200.0, 200.0), (0.0, 200.0))
)
TWO_ROWS = [[(90.0 + 3.0 * k, 80.0 + 3.0 * row)] for k in range(4) for row in range(2)]
"""Eight coils 3 m apart in two rows."""


def ground(water):
    return Ground(LOT, shapely.Polygon(), water, shapely.Polygon())


def test_coils_are_set_off_from_a_line_between_pegs_on_both_banks():
    water = box(80.0, 60.0, 120.0, 100.0)
    (line,) = water_lines(TWO_ROWS, CORNERS, ground(water))
    # midway between the rows, 1.5 m beyond either bank
    assert sorted([line.start, line.end]) == [
        pytest.approx((78.5, 81.5)), pytest.approx((121.5, 81.5))
    ]  # fmt: skip
    assert line.served == tuple(range(8))
    first, *_ = (line.station_offset(at) for (at,) in TWO_ROWS)
    assert abs(first[1]) == pytest.approx(1.5)
    assert first[0] == pytest.approx(math.dist(line.start, (90.0, 81.5)))


def test_no_line_is_longer_than_one_hangs_over_water_nor_leads_over_land():
    wide = box(50.0, 10.0, 60.0 + LONGEST_M, 190.0)
    assert all(
        math.dist(line.start, line.end) <= LONGEST_M + 3.0
        for line in water_lines(TWO_ROWS, CORNERS, ground(wide))
    )
    # an island between the coils: no line passes it
    island = box(70.0, 60.0, 130.0, 100.0) - box(93.5, 60.0, 95.5, 100.0)
    assert not [
        line
        for line in water_lines(TWO_ROWS, CORNERS, ground(island))
        if shapely.LineString([line.start, line.end]).crosses(box(93.6, 60.1, 95.4, 99.9))
    ]


def test_a_wide_field_has_several_lines_so_that_no_offset_is_long():
    coils = [[(60.0 + 8.0 * k, 60.0 + 8.0 * row)] for k in range(8) for row in range(8)]
    lines = water_lines(coils, CORNERS, ground(box(50.0, 50.0, 130.0, 130.0)))
    assert len(lines) > 1
    offsets = [abs(line.station_offset(coils[k][0])[1]) for line in lines for k in line.served]
    assert max(offsets) <= 2 * REACH_M
    assert sorted(k for line in lines for k in line.served) == list(range(64))


def test_two_coils_and_what_stands_on_land_have_no_such_line():
    water = box(80.0, 60.0, 120.0, 100.0)
    assert not water_lines(TWO_ROWS[:2], CORNERS, ground(water))
    assert not water_lines(TWO_ROWS, CORNERS, ground(box(10.0, 10.0, 40.0, 40.0)))


def test_the_sheet_says_how_such_a_line_is_used():
    line = BaseLine("BL1", Stake("BL1", (0.0, 0.0)), Stake("BL1 end", (9.0, 0.0)), is_wet=True)
    assert line_words(SettingOut(lines=(line,))).startswith(f"BL1: {STRETCHED}. Station: ")
