"""Numbers taken once, against Python's own sets."""

from __future__ import annotations

import numpy as np
import pytest

from siteplan.geometry.distinct import distinct


@pytest.mark.parametrize("count", [0, 1, 2, 500])
def test_each_number_is_there_once_in_rising_order(count: int) -> None:
    numbers = np.random.default_rng(count).integers(-20, 60, count)

    assert distinct(numbers).tolist() == sorted(set(numbers.tolist()))
