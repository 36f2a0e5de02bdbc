import math

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiLineString, Point, Polygon, affinity, box

from siteplan.geometry.lines.rows import RowRule, best_rows, row_pieces
from siteplan.geometry.lines.sweep import polygonal, rings_of
from siteplan.geometry.tolerance import TOLERANCE


def rows_in(shape, rule, direction_deg=0.0):
    rings = rings_of(shape)
    (rows,) = best_rows(rings, rule, (direction_deg,))
    return rows, [LineString(piece) for piece in row_pieces(rings, rule, rows)]


def test_the_first_and_last_row_lie_on_the_edge():
    # 9 m hold 4 rows 3 m apart: 0, 3, 6, 9.
    rows, lines = rows_in(box(0, 0, 20, 9), RowRule(3.0, 0.0))
    assert rows.heights == pytest.approx((0, 3, 6, 9))
    assert rows.total_m == pytest.approx(80)
    assert [line.length for line in lines] == pytest.approx([20] * 4)


def test_gaps_widen_where_a_row_is_longer_on_an_edge():
    # An L: 10 wide up to 4, then 3 wide up to 9. Rows at 0 or 1 and at 4 take the wide part
    # (10 + 10), rows at 7 the narrow one; equal gaps of 3 from 0 (0, 3, 6, 9) hold as much plus
    # one row more: 10 + 10 + 3 + 3 = 26, from 1 (1, 4, 7) only 23.
    corner = Polygon([(0, 0), (10, 0), (10, 4), (3, 4), (3, 9), (0, 9)])
    assert rows_in(corner, RowRule(3.0, 0.0))[0].total_m == pytest.approx(26)
    # With 4 m: 0, 4, 8 is 10 + 10 + 3.
    assert rows_in(corner, RowRule(4.0, 0.0))[0].total_m == pytest.approx(23)
    # With 3.9 m equal gaps give (0, 3.9, 7.8) or (0.1, 4, 7.9): 23; any gap will do.
    assert rows_in(corner, RowRule(3.9, 0.0))[0].total_m == pytest.approx(23)


def test_unequal_gaps_beat_equal_ones_where_two_wide_bands_lie_off_the_spacing():
    # Two bands 20 m wide at heights 0-0.5 and 4-4.5, joined by a neck 1 m wide; spacing 3 m.
    # Equal gaps reach one band at most with the next row in the neck; rows at 0 and 4 take both.
    barbell = box(0, 0, 20, 0.5).union(box(0, 0, 1, 4.5)).union(box(0, 4, 20, 4.5))
    rows, _ = rows_in(barbell, RowRule(3.0, 5.0))
    assert rows.total_m == pytest.approx(40)


def test_rows_shorter_than_the_shortest_are_left_out():
    # A right triangle 12 by 12: a row at height h is 12 - h long.
    triangle = Polygon([(0, 0), (12, 0), (0, 12)])
    rows, lines = rows_in(triangle, RowRule(3.0, 5.0))
    # Heights 0, 3, 6: 12 + 9 + 6 = 27; the next would be 3 m.
    assert rows.total_m == pytest.approx(27)
    assert min(line.length for line in lines) >= 5.0


def test_a_row_may_be_exactly_the_shortest_length():
    triangle = Polygon([(0, 0), (12, 0), (0, 12)])
    rows, lines = rows_in(triangle, RowRule(3.0, 6.0))
    assert rows.total_m == pytest.approx(27)
    assert min(line.length for line in lines) == pytest.approx(6.0, abs=TOLERANCE)


def test_two_pieces_of_one_row_keep_the_spacing_too():
    # A wall 1 m thick in the middle of 21 m: 10 + 10, less the 2 m lacking to 3 m.
    split = box(0, 0, 10, 1).union(box(11, 0, 21, 1))
    rows, lines = rows_in(split, RowRule(3.0, 2.0))
    assert rows.total_m == pytest.approx(18)
    assert lines[0].distance(lines[1]) == pytest.approx(3.0)


def test_the_shorter_of_two_pieces_is_dropped_where_trimming_costs_more():
    split = box(0, 0, 20, 1).union(box(20.5, 0, 22, 1))
    rows, lines = rows_in(split, RowRule(3.0, 0.0))
    # Trimming costs 2.5 m, the second piece is worth 1.5 m.
    assert rows.total_m == pytest.approx(20)
    assert [line.length for line in lines] == pytest.approx([20])


@pytest.mark.parametrize(
    ("length", "pieces"),
    [
        (30.0, [30.0]),
        # 31 m, at most 30, 3 m between: one of 30 beats two of 14.
        (31.0, [30.0]),
        # 63 m = 30 + 3 + 30.
        (63.0, [30.0, 30.0]),
        # 50 m: two of 23.5 (47) beat one of 30.
        (50.0, [23.5, 23.5]),
    ],
)
def test_a_long_row_is_cut_into_equal_pieces(length, pieces):
    rows, lines = rows_in(box(0, 0, length, 1), RowRule(3.0, 5.0, 30.0))
    assert [line.length for line in lines] == pytest.approx(pieces)
    assert rows.total_m == pytest.approx(sum(pieces))
    if len(lines) > 1:
        assert lines[0].distance(lines[1]) >= 3.0 - TOLERANCE


def test_an_area_without_width_holds_no_rows():
    flat = Polygon([(0, 0), (10, 0), (10, 1e-12), (0, 1e-12)])
    assert rows_in(flat, RowRule(3.0, 0.0))[0].heights == ()


@settings(max_examples=several(15, 60), deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(st.floats(0, 40), st.floats(0, 30), st.floats(1, 8)), max_size=4),
    st.floats(0, 180),
    st.sampled_from([0.0, 6.0, 15.0]),
    st.sampled_from([math.inf, 16.0]),
)
def test_rows_stay_inside_keep_the_spacing_and_beat_equal_gaps(holes, direction, shortest, longest):
    lot = Polygon([(0, 0), (41, 2), (38, 27), (17, 33), (14, 18), (2, 19)])
    for x, y, size in holes:
        lot -= Point(x, y).buffer(size, 4)
    rule = RowRule(3.0, shortest, longest)
    rows, lines = rows_in(polygonal(lot), rule, direction)
    assert lot.buffer(TOLERANCE).covers(MultiLineString(lines))
    for index, line in enumerate(lines):
        assert shortest - TOLERANCE <= line.length <= longest + TOLERANCE
        assert all(line.distance(other) >= 3.0 - TOLERANCE for other in lines[:index])
    total = sum(line.length for line in lines)
    # the total by which rows are chosen is what the pieces have, or more by what trimming met at a
    # corner, and by two pieces that it left too short to dig
    assert total >= rows.total_m - 3.0 - 2 * shortest
    if not holes and longest == math.inf:
        assert total >= equal_gap_rows(lot, direction, shortest) - 1e-6
        assert total == pytest.approx(rows.total_m, abs=1e-5)


@pytest.mark.parametrize("seed", range(6))
@pytest.mark.parametrize("shortest", [0.0, 19.0])
def test_no_rows_of_any_heights_hold_more_where_arcs_bite_into_the_sides(seed, shortest):
    # each row is one piece, so that its length is a matter of its height alone
    draw = np.random.default_rng(seed)
    lot = Polygon([(0, 0), (31, 1), (29, 18), (27, 21), (2, 22), (1, 9)])
    for side in (0.0, 30.0):
        lot -= Point(side, draw.uniform(2, 20)).buffer(draw.uniform(2, 9), 16)
    rows, _ = rows_in(polygonal(lot), RowRule(2.0, shortest))
    assert rows.total_m >= best_of_a_fine_comb(lot, shortest) - 1e-6


@pytest.mark.parametrize(("base", "height"), [(30.0, 7.0), (40.0, 10.0), (26.0, 1.5)])
@pytest.mark.parametrize(("longest", "spacing"), [(6.0, 2.0), (9.0, 3.0), (7.0, 1.5)])
@pytest.mark.parametrize("up", [True, False])
def test_rows_cut_in_pieces_hold_what_a_comb_of_heights_finds(base, height, longest, spacing, up):
    # a wedge that is widest at one side alone: a row of length L holds the most of n pieces of
    # the longest length and of what n pieces leave of L, a spacing between each two
    corners = [(0, 0), (base, height), (0, height)]
    wedge = Polygon(corners if up else [(x, height - y) for x, y in corners])
    step = 0.01
    pieces = np.arange(1, 12)
    best = [0.0]
    for number in range(round(height / step) + 1):
        length = base * number * step / height
        held = max(0.0, np.minimum(pieces * longest, length - (pieces - 1) * spacing).max())
        best.append(max(best[-1], held + best[max(0, number + 1 - round(spacing / step))]))
    rows, _ = rows_in(wedge, RowRule(spacing, 0.0, longest))
    assert rows.total_m == pytest.approx(best[-1], abs=0.1)


def best_of_a_fine_comb(lot, shortest):
    """Most that rows 2 m apart hold at heights of a comb of 2 cm, lengths measured by shapely."""
    step, spacing = 0.02, 2.0
    west, south, east, north = lot.bounds
    lengths = []
    for height in np.arange(south, north, step):
        length = lot.intersection(LineString([(west - 1, height), (east + 1, height)])).length
        lengths.append(length if length >= shortest else 0.0)
    best = [0.0]
    for number, length in enumerate(lengths):
        best.append(max(best[-1], length + best[max(0, number + 1 - round(spacing / step))]))
    return best[-1]


def equal_gap_rows(lot, direction_deg, shortest):
    """Best of 30 offsets of rows 3 m apart, measured with shapely on the turned lot."""
    turned = affinity.rotate(lot, -direction_deg, origin=(0, 0))
    west, south, east, north = turned.bounds
    totals = []
    for offset in np.linspace(0, 3, 30, endpoint=False):
        total = 0.0
        for height in np.arange(south + offset, north, 3.0):
            common = turned.intersection(LineString([(west - 1, height), (east + 1, height)]))
            parts = sorted(getattr(common, "geoms", [common]), key=lambda part: part.bounds)
            long = [part for part in parts if part.length >= shortest]
            # Leave out what would stand too near to its neighbour in the row.
            kept = []
            for part in long:
                if not kept or kept[-1].distance(part) >= 3.0:
                    kept.append(part)
            total += sum(part.length for part in kept)
        totals.append(total)
    return max(totals)
