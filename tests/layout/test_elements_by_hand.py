"""What a trench says of itself, against its own corners."""

from __future__ import annotations

import pytest
from shapely import LineString

from siteplan.layout.elements import Trench

TRENCH = Trench("T1", LineString([(3.0, 4.0), (3.0, 10.0), (11.0, 10.0)]), 0.6, 1.8, 2)


def test_a_trench_is_staked_from_its_start_to_its_end() -> None:
    assert (TRENCH.x_m, TRENCH.y_m) == (3.0, 4.0)
    assert TRENCH.ends == ((3.0, 4.0), (11.0, 10.0))


def test_two_pipes_lie_along_all_of_a_bent_trench() -> None:
    # 6 m north and 8 m east, there and back
    assert TRENCH.length_m == pytest.approx(14.0)
    assert TRENCH.pipe_m == pytest.approx(28.0)
