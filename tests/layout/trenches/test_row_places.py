"""Where rows are tried: along both edges of the ground, and the same from either side."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.layout.trenches.row_sets import HAIR_M, OFFSETS, _heights


@pytest.mark.parametrize(("low", "high"), [(0.0, 50.0), (-3.7, 41.1), (10.0, 12.0), (0.0, 60.0)])
def test_rows_lie_along_both_edges_and_are_the_same_from_the_other_side(
    low: float, high: float
) -> None:
    heights, sets, rows = _heights(low, high, 3.0)

    assert heights.min() == low
    assert heights.max() == pytest.approx(high - HAIR_M, abs=1e-9)
    mirrored = np.sort(low + high - HAIR_M - heights)
    assert np.abs(mirrored - heights) == pytest.approx(0.0, abs=1e-9)
    assert len(set(rows.tolist())) == len(rows)
    for number in range(OFFSETS):
        of_set = heights[sets == number]
        assert np.diff(of_set) == pytest.approx(3.0)
        # rows of one set stand side by side, and those of two sets do not
        assert np.diff(rows[sets == number]).tolist() == [1] * (len(of_set) - 1)
    firsts = [
        int(rows[sets == number].min()) for number in range(OFFSETS) if (sets == number).any()
    ]
    lasts = [int(rows[sets == number].max()) for number in range(OFFSETS) if (sets == number).any()]
    assert all(first > last + 1 for first, last in zip(firsts[1:], lasts, strict=False))
