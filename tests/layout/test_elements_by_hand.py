"""What a trench says of itself, against its own corners."""

from __future__ import annotations

import math

import pytest
from shapely import LineString

from siteplan.layout.elements import Trench

TRENCH = Trench("T1", LineString([(3.0, 4.0), (3.0, 10.0), (11.0, 10.0)]), 0.6, 1.8, 2)


def test_a_trench_is_staked_from_its_start_to_its_end() -> None:
    assert (TRENCH.x_m, TRENCH.y_m) == (3.0, 4.0)
    assert TRENCH.ends == ((3.0, 4.0), (11.0, 10.0))


def test_a_trench_opens_its_width_and_no_more_at_its_ends() -> None:
    straight = Trench("T1", LineString([(3.0, 4.0), (13.0, 4.0)]), 0.6, 1.8, 2)
    assert straight.footprint.bounds == pytest.approx((3.0, 3.7, 13.0, 4.3))
    # a strip of 14 m and 0.6 m, of whose bend the outer corner is rounded, the inner one counted
    # once: 0.3^2 (1 - pi / 4) less than with a sharp corner
    sharp = 14.0 * 0.6
    assert TRENCH.footprint.area == pytest.approx(sharp - 0.09 * (1 - math.pi / 4), abs=1e-3)


def test_two_pipes_lie_along_all_of_a_bent_trench() -> None:
    # 6 m north and 8 m east, there and back
    assert TRENCH.length_m == pytest.approx(14.0)
    assert TRENCH.pipe_m == pytest.approx(28.0)
