"""On a large lot not every way is traced, and the field is the one that all ways give."""

from __future__ import annotations

import numpy as np
import pytest
from shapely import Point, box, union_all

from siteplan.layout import block
from siteplan.layout.in_rows import Placement, place_in_rows
from siteplan.layout.model import Ground
from siteplan.site.model import Entry


def placed(seed: int, count: int) -> Placement:
    rng = np.random.default_rng(seed)
    # a house-sized thing every here and there, none at the entry
    corners = rng.uniform((10, 10), (170, 110), (25, 2))
    walls = union_all([box(x, y, x + 8, y + 5) for x, y in corners if abs(x - 90) > 15])
    open_ground = box(0, 0, 180, 120).difference(walls)
    entry = Entry("E", Point(90, 0))
    ground = Ground(open_ground.buffer(-2), open_ground, (entry,))
    return place_in_rows(ground, ground.area, spacing_m=6.0, count=count)


@pytest.mark.parametrize("seed", range(4))
@pytest.mark.parametrize("count", [2, 9])
def test_the_same_field_as_with_every_way_traced(
    seed: int, count: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(block, "MOST_TRACED", 1e12)
    every = placed(seed, count)
    monkeypatch.setattr(block, "MOST_TRACED", 0)
    some = placed(seed, count)
    assert some.points == pytest.approx(every.points)
    assert some.header is not None
    assert every.header is not None
    assert some.header.length_m == pytest.approx(every.header.length_m)
