import numpy as np
import pytest
import shapely
from hypothesis import given
from hypothesis import strategies as st
from shapely import MultiPolygon, Point, Polygon, box

from siteplan.errors import GeometryError
from siteplan.sheet.style.hatching import hatch_lines, rings_of


def test_hatch_of_a_square_at_45_degrees_has_the_lines_and_lengths_worked_by_hand():
    # square of side 4, lines x - y = k gap sqrt 2 through the origin grid; gap = sqrt 2: k gap
    # sqrt 2 = -2, 0, 2 cut chords of length 2 sqrt 2, 4 sqrt 2, 2 sqrt 2
    lines = hatch_lines([[(0, 0), (4, 0), (4, 4), (0, 4)]], np.sqrt(2), 45.0)
    lengths = sorted(np.hypot(*(lines[:, 1] - lines[:, 0]).T))
    assert lengths == pytest.approx([2 * np.sqrt(2), 2 * np.sqrt(2), 4 * np.sqrt(2)])


def test_a_hole_stays_free_of_lines():
    ring = Polygon(box(0, 0, 20, 20).exterior, [box(5, 5, 15, 15).exterior])
    hole = box(5, 5, 15, 15).buffer(-1e-9)
    lines = shapely.linestrings(hatch_lines(rings_of(ring), 1.3, 45.0))
    assert len(lines) > 10
    assert not shapely.intersects(hole, lines).any()


def test_neighbouring_areas_share_one_grid_of_lines():
    left, right, both = box(0, 0, 5, 7), box(5, 0, 11, 7), box(0, 0, 11, 7)
    apart = [hatch_lines(rings_of(one), 0.9, 30.0) for one in (left, right)]
    total = sum(np.hypot(*(lines[:, 1] - lines[:, 0]).T).sum() for lines in apart)
    joint = hatch_lines(rings_of(both), 0.9, 30.0)
    assert total == pytest.approx(np.hypot(*(joint[:, 1] - joint[:, 0]).T).sum())


@given(seed=st.integers(0, 1000), gap=st.floats(0.05, 0.3), angle=st.floats(-90, 90))
def test_line_length_times_gap_comes_near_the_area(seed, gap, angle):
    rng = np.random.default_rng(seed)
    area = shapely.union_all([Point(*rng.uniform(0, 20, 2)).buffer(4.0) for _ in range(4)])
    lines = hatch_lines(rings_of(area), gap, angle)
    length = np.hypot(*(lines[:, 1] - lines[:, 0]).T).sum()
    assert length * gap == pytest.approx(area.area, rel=0.05)
    inside = area.buffer(1e-6)
    assert shapely.covers(inside, shapely.linestrings(lines)).all()


def test_rings_of_a_multipolygon_are_those_of_all_its_parts():
    assert len(rings_of(MultiPolygon([box(0, 0, 1, 1), box(2, 0, 3, 1)]))) == 2


def test_nothing_to_hatch_gives_no_lines():
    assert hatch_lines([], 1.0, 45.0).shape == (0, 2, 2)


def test_a_gap_of_zero_is_refused():
    with pytest.raises(GeometryError, match="gap above 0"):
        hatch_lines([[(0, 0), (1, 0), (0, 1)]], 0.0, 45.0)
