"""Rows between the places that are tried at first: against every place there is, finely stepped."""

from __future__ import annotations

from random import Random

import numpy as np
import pytest
import shapely
from shapely import Point, Polygon, box
from test_blocks import OPTIONS, RULE

from siteplan.layout.model import Ground
from siteplan.layout.trenches import joined, row_sets
from siteplan.layout.trenches.block_task import BlockTask
from siteplan.layout.trenches.field import TRENCH_COST
from siteplan.layout.trenches.joined import best_blocks
from siteplan.layout.trenches.row_sets import OFFSETS, _heights
from siteplan.site.model import Entry

HOUSE = box(20, 12, 32, 22)


def task_of(seed: int) -> BlockTask:
    """An invented lot with a house, and two places that no trench comes near."""
    draw = Random(seed)
    lot = Polygon(
        [(0, 0), (draw.randint(50, 80), draw.randint(-8, 8)),
         (draw.randint(50, 85), draw.randint(40, 70)), (draw.randint(-8, 8), draw.randint(40, 70))]
    )  # fmt: skip
    well = Point(draw.randint(8, 45), draw.randint(30, 50)).buffer(7, quad_segs=4)
    tree = Point(draw.randint(40, 55), draw.randint(5, 30)).buffer(5, quad_segs=4)
    kept_off = (HOUSE.buffer(3, join_style="mitre"), well, tree)
    area = lot.buffer(-3).difference(shapely.union_all(kept_off))
    entry = Entry("entry-1", Point(26, 22))
    ground = Ground(area, lot.buffer(-1).difference(HOUSE), (entry,))
    target_m = draw.choice([120.0, 180.0, 240.0, 300.0])
    return BlockTask(ground, area, RULE, target_m, OPTIONS, TRENCH_COST)


@pytest.mark.parametrize("seed", [2, 5, 6, 8, 12])
def test_no_fine_step_finds_rows_that_are_clearly_cheaper(seed, monkeypatch):
    found = best_blocks(task_of(seed))
    with monkeypatch.context() as patch:
        # six times as many places of each direction, 6 cm apart, and none looked at again
        patch.setattr(joined, "_moved", lambda _, best: best)
        patch.setattr(row_sets, "OFFSETS", 6 * OFFSETS)
        fine = best_blocks(task_of(seed))
    assert found.cost_m <= 1.01 * fine.cost_m


@pytest.mark.parametrize("about_m", [0.0, 17.3, 41.0])
def test_rows_about_a_height_lie_no_farther_from_it_than_the_next_place_tried(about_m):
    heights, sets, rows = _heights(0.0, 50.0, 3.0, about_m)
    # one of the rows of each set, or one that would lie beyond the edge, is that near
    beside = np.array([(heights[sets == k] - about_m)[0] % 3.0 for k in range(OFFSETS)])
    assert np.minimum(beside, 3.0 - beside).max() < 3.0 / (OFFSETS - 2)
    assert len(set(rows.tolist())) == len(rows)
