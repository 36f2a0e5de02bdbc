"""Sweeps and fillings of row pieces against counting by hand and by brute force."""

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st

from siteplan.geometry.points.row_filling import (
    fill,
    filled_counts,
    independent_groups,
    on_grid,
    sweep,
)
from siteplan.geometry.points.scanline import Chords


def chords(*pieces, family=None):
    """Pieces ``(row, start, end)`` of one family, or of the families given."""
    row, start, end = (np.array(values) for values in zip(*pieces, strict=True))
    owner = np.zeros(len(pieces), dtype=np.int64) if family is None else np.array(family)
    return Chords(owner, row.astype(np.int64), start.astype(float), end.astype(float))


def test_three_rows_that_need_one_phase_get_it():
    # each row is one period long and starts at 0.3 of it: two points each, in that phase only
    pieces = chords((0, 0.3, 1.3), (1, 5.3, 6.3), (2, -0.7, 0.3))
    counts, phases = sweep(pieces, 1, period=1.0, shift=0.0)
    assert counts[0] == 6
    assert phases[0] == pytest.approx(0.3, abs=1e-7)


def test_staggered_rows_count_with_half_a_period_of_shift():
    # row 1 begins half a period later: both rows hold four in one phase
    pieces = chords((0, 0.0, 3.1), (1, 0.5, 3.6))
    assert sweep(pieces, 1, period=1.0, shift=0.5)[0][0] == 8
    assert sweep(pieces, 1, period=1.0, shift=0.0)[0][0] == 7


@settings(max_examples=several(37, 150), deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(0, 5), st.floats(-40, 40), st.floats(0, 20)), min_size=1, max_size=9
    ),
    st.floats(0.7, 5.0),
)
def test_the_swept_count_is_what_no_tried_phase_exceeds_and_its_own_phase_reaches(rows, period):
    # as in use, no piece is shorter than the widening of the area on both sides
    pieces = chords(*[(row, start, start + length + 1e-6) for row, start, length in rows])
    counts, phases = sweep(pieces, 1, period=period, shift=period / 2)

    def held(phase, slack=0.0):
        along = phase + np.mod(pieces.row, 2) * period / 2
        last = np.floor((pieces.end + slack - along) / period)
        return int((last - np.ceil((pieces.start - slack - along) / period) + 1).sum())

    assert counts[0] >= max(held(phase) for phase in np.linspace(0, period, 200))
    assert held(phases[0], slack=2e-8) >= counts[0]


def test_each_family_is_counted_on_its_own():
    pieces = chords((0, 0.0, 3.5), (0, 0.0, 1.5), family=[0, 2])
    assert sweep(pieces, 3, period=1.0, shift=0.0)[0].tolist() == [4, 0, 2]
    assert filled_counts(pieces, 3, spacing=1.0).tolist() == [4, 0, 2]


def test_a_row_filled_from_its_start_keeps_the_spacing_over_a_gap():
    # 0, 1, 2 in the first piece; 2.4 to 4.5 takes 3 and 4
    pieces = chords((0, 0.0, 2.2), (0, 2.4, 4.5))
    along, piece = fill(pieces, 1.0)
    assert along.tolist() == [0, 1, 2, 3, 4]
    assert piece.tolist() == [0, 0, 0, 1, 1]
    assert filled_counts(pieces, 1, spacing=1.0)[0] == 5


def test_two_pieces_are_of_one_row_whatever_rows_lie_before_it():
    # by hand: 0, 1, 2 in row 0; in row 1 the same, then 3 and 4 in the piece that begins at 2.4
    pieces = chords((0, 0.0, 2.2), (1, 0.0, 2.2), (1, 2.4, 4.5))
    assert filled_counts(pieces, 1, spacing=1.0)[0] == 8
    assert fill(pieces, 1.0)[0].tolist() == [0, 1, 2, 0, 1, 2, 3, 4]


@settings(max_examples=several(25, 100), deadline=None)
@given(
    st.lists(st.tuples(st.floats(0.01, 5), st.floats(0.0, 8)), min_size=1, max_size=6),
    st.floats(0.7, 4.0),
)
def test_filling_places_as_many_as_it_counts_and_keeps_the_spacing(gaps, spacing):
    ends = np.cumsum(np.ravel(gaps))
    pieces = chords(*[(0, start, end) for start, end in ends.reshape(-1, 2)])
    along, piece = fill(pieces, spacing)
    assert len(along) == filled_counts(pieces, 1, spacing=spacing)[0]
    assert len(along) < 2 or np.diff(along).min() >= spacing - 1e-9
    assert (along >= pieces.start[piece] - 1e-9).all()
    assert (along <= pieces.end[piece] + 1e-9).all()


def test_grid_positions_lie_inside_their_pieces():
    along, piece = on_grid(chords((0, 0.4, 2.6), (1, 0.4, 0.6)), np.array([0.0, 0.5]), spacing=1.0)
    assert along.tolist() == [1.0, 2.0, 0.5]
    assert piece.tolist() == [0, 0, 1]


@pytest.mark.parametrize(
    ("pieces", "groups"),
    [
        ([(0, 0, 4), (1, 4.4, 8)], 1),  # neighbouring rows, gap below half a spacing
        ([(0, 0, 4), (1, 4.6, 8)], 2),
        ([(0, 0, 4), (0, 4.9, 8)], 1),  # the same row, gap below a spacing
        ([(0, 0, 4), (0, 5.1, 8)], 2),
        ([(0, 0, 4), (2, 0, 4)], 2),  # a row between
        ([(0, 0, 4), (1, 0, 4), (2, 0, 4)], 1),
    ],
)
def test_pieces_are_bound_together_when_points_could_come_too_near(pieces, groups):
    assert independent_groups(chords(*pieces), 1.0).max() + 1 == groups
