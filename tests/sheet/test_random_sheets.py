"""Sheets of a few random lots can be read; ``tests/benchmarks/legibility.py`` looks at 200."""

from __future__ import annotations

from pathlib import Path

import pytest
from campaign import several
from random_sheets import drawn_lot, faults_of
from test_random_lots import random_lot

LOTS = (10, 33, 44, 69, 39, 16, 70, 84, 116, 177)[: several(4, 10)]
"""All loop types, feet and metres, small and large paper; on all but the first text was hidden.
The first four are quick."""


@pytest.mark.parametrize("seed", LOTS)
def test_everything_on_the_sheets_of_a_random_lot_can_be_read(seed: int, tmp_path: Path) -> None:
    content = drawn_lot(seed, random_lot(seed), tmp_path)
    assert content is not None
    assert faults_of(content) == []
