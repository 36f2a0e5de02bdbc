import numpy as np
import pytest
import shapely
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, MultiPolygon, Point, Polygon, affinity, box

from siteplan.geometry.lines.sweep import (
    chords_at,
    frame_of,
    polygonal,
    rings_of,
    sweep_edges,
    swept,
)


def chord_lengths(shape, heights, *, above, direction_deg=0.0):
    edges = sweep_edges(rings_of(shape), direction_deg)
    chords = chords_at(edges, np.asarray(heights, dtype=float), above=above)
    return np.bincount(chords.line, chords.length, minlength=len(heights))


def test_a_line_through_a_hole_gives_two_chords():
    ring = box(0, 0, 10, 10) - box(4, 4, 6, 6)
    chords = chords_at(sweep_edges(rings_of(ring), 0.0), np.array([5.0]), above=True)
    assert chords.start.tolist() == [0, 6]
    assert chords.end.tolist() == [4, 10]


def test_the_line_along_the_upper_edge_is_a_chord_from_below():
    assert chord_lengths(box(0, 0, 7, 3), [3.0], above=False).tolist() == [7]
    assert chord_lengths(box(0, 0, 7, 3), [3.0], above=True).tolist() == [0]


def test_along_the_step_of_an_l_the_wide_side_counts_from_below():
    corner = Polygon([(0, 0), (10, 0), (10, 4), (3, 4), (3, 9), (0, 9)])
    assert chord_lengths(corner, [4.0], above=False).tolist() == [10]
    assert chord_lengths(corner, [4.0], above=True).tolist() == [3]


@pytest.mark.parametrize("turn_deg", [0.1, 17.3, 33.333, 89.99, 123.456])
def test_edges_along_the_lines_stay_along_them_in_a_turned_frame(turn_deg):
    # 24.4 m edge turned: rounding must neither lose the row on it nor give it a slope.
    turned = affinity.rotate(box(0, 0, 24.4, 6.1), turn_deg, origin=(100, -50))
    edges = sweep_edges(rings_of(turned), turn_deg)
    assert len(edges.levels) == 2
    for height, above in ((edges.levels[0], True), (edges.levels[1], False)):
        chords = chords_at(edges, np.array([height]), above=above)
        assert chords.length == pytest.approx([24.4])


def test_the_frame_turns_there_and_back():
    points = np.array([[3.0, -4.0], [10.5, 2.0]])
    assert points @ frame_of(37.0) @ frame_of(37.0).T == pytest.approx(points)


def test_only_the_polygons_of_a_mixed_shape_are_kept():
    mixed = shapely.GeometryCollection([LineString([(0, 0), (1, 1)]), box(0, 0, 1, 1), Point(5, 5)])
    assert polygonal(mixed).equals(box(0, 0, 1, 1))


def test_a_precision_grid_is_taken_off():
    assert shapely.get_precision(polygonal(shapely.set_precision(box(0, 0, 1, 1), 1e-3))) == 0


def test_the_inside_is_on_the_left_of_every_ring():
    outer, hole = rings_of(box(0, 0, 9, 9) - box(3, 3, 6, 6))
    assert Polygon(outer).exterior.is_ccw
    assert not Polygon(hole).exterior.is_ccw


@settings(max_examples=several(20, 80), deadline=None, derandomize=True)
@given(
    st.lists(st.tuples(st.floats(0, 40), st.floats(0, 30), st.floats(1, 8)), max_size=5),
    st.floats(-12, 42),
    st.floats(0, 180),
)
def test_chords_are_as_long_as_the_common_part_of_line_and_region(holes, height, direction_deg):
    region = MultiPolygon([box(0, 0, 40, 12), box(0, 15, 30, 30)])
    for x, y, size in holes:
        region -= Point(x, y).buffer(size, 4)
    region = polygonal(region)
    turned = affinity.rotate(region, -direction_deg, origin=(0, 0))
    line = LineString([(-200, height), (200, height)])
    if any(abs(height - y) < 1e-6 for _, y in shapely.get_coordinates(turned)):
        return
    found = chord_lengths(region, [height], above=True, direction_deg=direction_deg)
    assert found[0] == pytest.approx(turned.intersection(line).length, abs=1e-6)


def test_a_height_belongs_to_the_direction_whose_band_it_lies_in():
    # each direction has the heights of the lot as it is seen along it: 10 m and 30 m, by hand
    edges, bands = swept(rings_of(box(0, 0, 30, 10)), (0.0, 90.0))
    assert bands.high - bands.low == pytest.approx((10.0, 30.0))
    for number in (0, 1):
        heights = np.array([bands.low[number], bands.high[number]])
        assert bands.of(heights).tolist() == [number, number]
        assert bands.of(heights.mean(keepdims=True)).tolist() == [number]
    assert edges.levels.min() == pytest.approx(bands.low.min())
