import math

import numpy as np
import pytest
from campaign import several
from shapely import LineString, MultiLineString, MultiPolygon, Point, Polygon, affinity, box
from trench_areas import AREAS, straight

from siteplan.errors import GeometryError
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.trenches.fit import fit_trenches, total_length, trench_bound

# Longest total found for rows at equal gaps of 3 m, any direction: own reference calculation,
# made once by a scan of 0.1 degrees with refinement, without and with a shortest length of 15 m.
ANY_LENGTH = dict(
    zip("ABCDEFGH", (120.1, 240.8, 382.2, 478.7, 523.1, 709.1, 720.4, 1695.2), strict=True)
)
AT_LEAST_15 = dict(
    zip("ABCDEFGH", (120.1, 215.3, 320.1, 472.1, 438.6, 600.5, 647.3, 1588.5), strict=True)
)


def assert_keeps(lines, area, *, spacing, shortest=0.0, longest=math.inf):
    """Inside, apart, and of a length allowed."""
    assert area.buffer(TOLERANCE).covers(MultiLineString(lines))
    for index, line in enumerate(lines):
        assert shortest - TOLERANCE <= line.length <= longest + TOLERANCE
        assert all(line.distance(other) >= spacing - TOLERANCE for other in lines[:index])


@pytest.mark.parametrize("name", "ABCDEFGH")
@pytest.mark.parametrize(("shortest", "reference"), [(0.0, ANY_LENGTH), (15.0, AT_LEAST_15)])
def test_straight_rows_reach_the_reference_calculation(name, shortest, reference):
    lines = fit_trenches(AREAS[name], 3.0, shortest=shortest)
    assert_keeps(lines, AREAS[name], spacing=3.0, shortest=shortest)
    assert total_length(lines) >= 0.999 * reference[name]


def test_straight_lines_all_have_one_direction():
    lines = fit_trenches(AREAS["F"], 3.0, shortest=10.0)
    steps = np.array([np.subtract(line.coords[1], line.coords[0]) for line in lines])
    angles = np.degrees(np.arctan2(steps[:, 1], steps[:, 0])) % 180
    assert np.ptp(angles) < 1e-6


def test_long_rows_are_cut():
    lines = fit_trenches(AREAS["H"], 3.0, shortest=10.0, longest=40.0)
    assert_keeps(lines, AREAS["H"], spacing=3.0, shortest=10.0, longest=40.0)


def test_turning_and_moving_the_area_changes_no_length():
    here = total_length(straight("C"))
    for turn_deg in (13.7, 90.0, 211.1):
        moved = affinity.translate(affinity.rotate(AREAS["C"], turn_deg), 700.0, -300.0)
        there = total_length(fit_trenches(moved, 3.0, shortest=15.0))
        assert there == pytest.approx(here, rel=1e-6)


@pytest.mark.parametrize("name", "BACGE"[: several(2, 5)])
def test_more_ground_or_a_looser_rule_never_loses_straight_rows(name):
    area = AREAS[name]
    here = total_length(straight(name))
    west, south, east, north = area.bounds
    for spot in ((west, south), ((west + east) / 2, (south + north) / 2), (east, north)):
        more = area.union(Point(*spot).buffer(4.0))
        assert total_length(fit_trenches(more, 3.0, shortest=15.0)) >= 0.9999 * here
    assert total_length(fit_trenches(area, 2.9, shortest=15.0)) >= here
    assert total_length(fit_trenches(area, 3.0, shortest=14.0)) >= here - 1e-6


def test_straight_rows_come_within_a_thousandth_of_a_sweep_of_directions_and_heights():
    # Every half a degree and 5 cm, gaps of 3 m or more, written without the package's sweep. The
    # finer sweep of 0.05 degrees and 1 cm is a benchmark.
    coords = np.array(AREAS["B"].exterior.coords)
    turns = np.linspace(0.0, math.pi, 360, endpoint=False)
    best = max(swept(coords, turn) for turn in turns)
    assert best > 200.0
    assert total_length(straight("B")) >= 0.999 * best


def swept(coords, turn, grid=0.05):
    """Longest rows of one direction in a polygon without holes, on a grid of heights."""
    along, across = np.array([[math.cos(turn), math.sin(turn)], [-math.sin(turn), math.cos(turn)]])
    x, y = coords @ along, coords @ across
    heights = np.arange(y.min() + grid / 2, y.max(), grid)[:, None]
    crossed = (y[:-1] <= heights) != (y[1:] <= heights)
    rise = np.where(y[1:] == y[:-1], 1.0, y[1:] - y[:-1])
    cuts = x[:-1] + (heights - y[:-1]) / rise * (x[1:] - x[:-1])
    # as many edges are crossed on the way in as on the way out: what is left over is paired too
    cuts = np.sort(np.where(crossed, cuts, 1e9), axis=1)
    pairs = cuts.shape[1] // 2
    chords = cuts[:, 1 : 2 * pairs : 2] - cuts[:, 0 : 2 * pairs : 2]
    best = [0.0] * 60
    for row in np.where(chords >= 15.0, chords, 0.0).sum(axis=1):
        best.append(max(best[-1], row + best[-60]))
    return best[-1]


def test_each_part_gets_its_own_direction_where_that_holds_more():
    # Two strips 20 m long and 2 m wide at right angles: one row each way holds one strip only.
    strips = MultiPolygon([box(0, 0, 20, 2), box(40, 0, 42, 20)])
    assert total_length(fit_trenches(strips, 3.0, shortest=10.0)) == pytest.approx(20, abs=0.2)
    best = fit_trenches(strips, 3.0, shortest=10.0, shape="best")
    assert total_length(best) >= 40.0


def test_an_l_gets_rows_along_each_leg():
    # Legs 20 x 3 and 3 x 20: two rows along one leg and, a spacing off, two along the other.
    # One direction holds two rows of 20 m only, the other leg being 3 m wide.
    corner = box(0, 0, 20, 3).union(box(0, 0, 3, 20))
    assert total_length(fit_trenches(corner, 3.0, shortest=10.0)) == pytest.approx(40, rel=0.02)
    best = fit_trenches(corner, 3.0, shortest=10.0, shape="best")
    assert_keeps(best, corner, spacing=3.0, shortest=10.0)
    # 2 x 20 m and, from 3 m above the upper row on, 2 x 14 m.
    assert total_length(best) >= 40 + 28 - 1e-6


def test_parts_nearer_than_the_spacing_are_kept_apart():
    parts = MultiPolygon([box(0, 0, 30, 2), box(0, 2.5, 30, 4), box(30.5, 0, 32, 30)])
    lines = fit_trenches(parts, 3.0, shortest=5.0, shape="best")
    assert_keeps(lines, parts, spacing=3.0, shortest=5.0)


def test_an_empty_area_holds_no_trench():
    assert fit_trenches(Polygon(), 3.0, shortest=5.0) == []
    assert fit_trenches(Polygon(), 3.0, shortest=5.0, shape="best") == []
    assert trench_bound(Polygon(), 3.0) == 0.0


def test_an_area_too_small_for_the_shortest_length_holds_no_trench():
    assert fit_trenches(box(0, 0, 3, 4), 3.0, shortest=5.1) == []
    assert len(fit_trenches(box(0, 0, 3, 4), 3.0, shortest=5.0)) == 1


def test_the_bound_of_a_rectangle_is_the_widened_area_over_the_spacing():
    # (20 x 16 + 72 x 1.5 + pi 1.5²) / 3 = (320 + 108 + 7.0686) / 3 = 145.02 m
    exact = (20 * 16 + 72 * 1.5 + math.pi * 1.5**2) / 3
    assert exact <= trench_bound(box(0, 0, 20, 16), 3.0) <= 1.0003 * exact


@pytest.mark.parametrize("spacing", [0.0, -3.0, math.nan, math.inf])
def test_a_spacing_that_is_not_positive_is_refused(spacing):
    with pytest.raises(GeometryError, match=r"spacing is .* m; give a positive distance"):
        fit_trenches(box(0, 0, 9, 9), spacing, shortest=1.0)


@pytest.mark.parametrize("shortest", [-1.0, math.nan, math.inf])
def test_a_shortest_length_below_zero_is_refused(shortest):
    with pytest.raises(GeometryError, match=r"shortest is .* m; give a length of zero or more"):
        fit_trenches(box(0, 0, 9, 9), 3.0, shortest=shortest)


@pytest.mark.parametrize("longest", [0.0, 4.9, math.nan])
def test_a_longest_length_below_the_shortest_is_refused(longest):
    with pytest.raises(GeometryError, match=r"longest is .* m, shortest 5.0 m; give"):
        fit_trenches(box(0, 0, 9, 9), 3.0, shortest=5.0, longest=longest)


def test_no_trench_can_be_asked_to_have_no_length():
    with pytest.raises(GeometryError, match=r"longest is 0.0 m, shortest 0.0 m; give"):
        fit_trenches(box(0, 0, 9, 9), 3.0, shortest=0.0, longest=0.0)


def test_an_area_that_crosses_itself_is_refused():
    with pytest.raises(GeometryError, match="not a valid shape; mend"):
        fit_trenches(Polygon([(0, 0), (9, 9), (9, 0), (0, 9)]), 3.0, shortest=1.0)


def test_an_unknown_shape_is_refused():
    with pytest.raises(GeometryError, match="shape is 'round'; give one of straight, best"):
        fit_trenches(box(0, 0, 9, 9), 3.0, shortest=1.0, shape="round")


def test_a_spacing_in_the_wrong_unit_is_noticed():
    with pytest.raises(GeometryError, match="give both in metres"):
        fit_trenches(box(0, 0, 100_000, 80_000), 3.0, shortest=5.0)


def test_a_line_is_no_area_and_holds_no_trench():
    assert fit_trenches(LineString([(0, 0), (9, 0)]), 3.0, shortest=1.0) == []


@pytest.mark.parametrize("away", [(4e6, 0.0), (0.0, 6e6), (-3e6, -5e6)])
def test_ground_far_from_the_origin_is_no_larger_for_it(away: tuple[float, float]) -> None:
    there = affinity.translate(box(0, 0, 20, 12), *away)
    assert total_length(fit_trenches(there, 3.0, shortest=0.0)) == pytest.approx(100.0, abs=1e-3)
