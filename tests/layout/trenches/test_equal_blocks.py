"""Blocks of trenches of one length, against every run and every place looked at in turn."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import shapely
from shapely import LineString, Point, Polygon, box

from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.memory import Memory
from siteplan.layout.model import Ground
from siteplan.layout.trenches import equal_blocks
from siteplan.layout.trenches.block_task import BlockTask
from siteplan.layout.trenches.blocks import SHIFT_COST
from siteplan.layout.trenches.equal_blocks import EqualRows
from siteplan.layout.trenches.pipe_field import PipeField
from siteplan.layout.trenches.row_sets import row_sets
from siteplan.layout.trenches.together import MOST_BLOCKS, drafts_of
from siteplan.layout.way import ways_of
from siteplan.site.model import Entry, HorizontalOptions

RULE = RowRule(3.0, 9.0, 60.0)
OPTIONS = HorizontalOptions(
    spacing_m=3.0, depth_m=1.5, width_m=0.6, pipes=2, shortest_m=9.0, longest_m=60.0
)
EACH_M = 2.0
BENT = Polygon([(0, 0), (55, 3), (60, 28), (30, 40), (5, 30)])


def ground_of(area, entry):
    return Ground(area, area.buffer(2.0), (Entry("entry-1", Point(entry)),), memory=Memory())


def rows_of(area, directions, length_m, entry=(-1.0, 10.0)):
    pipes = PipeField(area, ways_of(ground_of(area, entry)))
    return EqualRows.of(row_sets(area, RULE, directions, pipes), RULE, length_m)


def cheapest_of_all(rows, number):
    """Least cost of any run of so many rows, joined at any of the places known on each row."""
    sets, length = rows.sets, rows.length_m
    after = {}
    for lower, upper in sets.pairs.tolist():
        after.setdefault(lower, []).append(upper)
    runs = [[k] for k in range(len(sets.row))]
    for _ in range(number - 1):
        runs = [[*run, more] for run in runs for more in after.get(run[-1], [])]
    best = math.inf
    for run in runs:
        if min(sets.length[run]) < length - 1e-9:
            continue
        for at_end in (False, True):
            options = []
            for k in run:
                chord = sets.chord(k)
                low = chord.start + length if at_end else chord.start
                high = max(low, chord.end if at_end else chord.end - length)
                inside = [p for p in chord.places.tolist() if low + 1e-9 < p < high - 1e-9]
                places = [low, *inside, high]
                options.append(
                    list(zip(places, np.interp(places, chord.places, chord.ways), strict=True))
                )
            for chosen in itertools.product(*options):
                string = sum(
                    math.hypot(RULE.spacing_m, b[0] - a[0]) + SHIFT_COST * abs(b[0] - a[0])
                    for a, b in itertools.pairwise(chosen)
                )
                best = min(best, string + min(way for _, way in chosen) + number * EACH_M)
    return best


@pytest.mark.parametrize(("number", "length_m"), [(1, 45.0), (2, 40.0), (3, 38.0)])
def test_the_cheapest_block_is_the_cheapest_of_all_runs_and_places(number, length_m):
    # a lot so small that every place of every run can be looked at
    area = Polygon([(0, 0), (48, 2), (50, 11), (3, 13)])
    rows = rows_of(area, (0.0, 90.0), length_m)
    block = rows.cheapest(number, EACH_M, math.inf)
    assert block.cost_m == pytest.approx(cheapest_of_all(rows, number), abs=1e-6)
    assert [line.length for line in block.lines] == pytest.approx([length_m] * number)
    assert all(area.buffer(1e-6).covers(line) for line in block.lines)


@pytest.mark.parametrize("length_m", [9.0, 14.0, 21.0])
def test_the_least_way_to_a_trench_is_that_of_the_nearest_place_of_its_window(length_m):
    # the way is straight between two known places, so that it is least at one of them or at an end
    # of the window; the building lies beside the rows, so that it is often one within
    rows = rows_of(BENT, (0.0, 90.0, 30.0), length_m, entry=(33.0, 0.5))
    within = 0
    for number in range(len(rows.sets.row)):
        chord = rows.sets.chord(number)
        for at_end in (False, True):
            way = rows.ways[int(at_end)][number]
            if chord.length < length_m - 1e-9:
                assert way == math.inf
                continue
            low = chord.start + length_m if at_end else chord.start
            high = chord.end if at_end else chord.end - length_m
            ends = np.interp([low, high], chord.places, chord.ways)
            known = chord.ways[(chord.places >= low) & (chord.places <= high)]
            assert way == pytest.approx(min(*ends, *known), abs=1e-9)
            within += min(known, default=math.inf) < min(ends) - 1e-6
    assert within > 5


def test_what_costs_too_much_is_no_block():
    rows = rows_of(BENT, (0.0, 90.0, 30.0), 25.0)
    block = rows.cheapest(4, EACH_M, math.inf)
    assert rows.cheapest(4, EACH_M, block.cost_m) is None
    assert rows.cheapest(4, EACH_M, block.cost_m + 1e-6).cost_m == block.cost_m


def test_most_side_by_side_is_what_a_rectangle_holds():
    # 31 m across rows 3 m apart: 11 of them; no trench is longer than the 40 m of the rectangle
    area = box(0, 0, 40, 31)
    assert rows_of(area, (0.0,), 40.0).most == 11
    assert rows_of(area, (0.0,), 40.1).most == 0
    assert rows_of(area, (0.0, 90.0), 30.0).most == 14


def test_rows_too_short_for_a_trench_join_no_run():
    # a wedge 40 m wide below and 31 m high: by hand it is 20 m wide or more up to 15.5 m, where six
    # rows 3 m apart lie, and 30 m or more up to 7.75 m, where three do
    wedge = Polygon([(0, 0), (40, 0), (0, 31)])
    assert rows_of(wedge, (0.0,), 20.0).most == 6
    assert rows_of(wedge, (0.0,), 30.0).most == 3


def test_of_very_many_runs_those_near_the_building_are_kept(monkeypatch):
    rows = rows_of(BENT, (0.0, 90.0, 30.0), 20.0)
    whole = rows.cheapest(5, EACH_M, math.inf)
    monkeypatch.setattr(equal_blocks, "MOST_RUNS", 20)
    few = rows_of(BENT, (0.0, 90.0, 30.0), 20.0)
    assert len(few.runs_of(5)) <= 20
    assert few.cheapest(5, EACH_M, math.inf).cost_m == pytest.approx(whole.cost_m, rel=0.05)


@pytest.mark.parametrize("seed", range(4))
def test_drafts_hold_the_length_in_trenches_apart_from_one_another(seed):
    # two fields of ground on both sides of a strip, which no single block can take together
    dice = np.random.default_rng(seed)
    gap = float(dice.uniform(8, 20))
    area = shapely.union_all(
        [box(0, 0, 40, float(dice.uniform(12, 25))), box(40 + gap, 0, 80 + gap, 18)]
    ).union(box(40, 0, 40 + gap, 2))
    target_m = float(dice.uniform(330, 420))
    ground = ground_of(area, (20.0, -1.0))
    task = BlockTask(ground, area, RULE, target_m, OPTIONS, EACH_M)
    pipes = PipeField(area, ways_of(ground))
    sets = row_sets(area, RULE, (0.0, 90.0), pipes)
    drafts = list(drafts_of(task, sets, pipes, math.inf))
    assert drafts
    for draft in drafts:
        lines = [line for block in draft.blocks for line in block.lines]
        assert 2 <= len(draft.blocks) <= MOST_BLOCKS
        assert [line.length for line in lines] == pytest.approx(
            [target_m / len(lines)] * len(lines)
        )
        assert all(area.buffer(1e-6).covers(line) for line in lines)
        for first, second in itertools.combinations(lines, 2):
            assert first.distance(second) >= RULE.spacing_m - 1e-6
        # no header is shorter than one along the ends of each block, and each trench is set up
        ends = [
            LineString([line.coords[0] for line in b.lines]).length
            for b in draft.blocks
            if len(b.lines) > 1
        ]
        assert draft.cost_m >= sum(ends) + EACH_M * len(lines) - 1e-6


def test_an_odd_pipe_comes_home_so_that_every_block_has_an_even_number():
    area = box(0, 0, 40, 17).union(box(40, 0, 50, 2)).union(box(50, 0, 90, 17))
    ground = ground_of(area, (20.0, -1.0))
    task = BlockTask(ground, area, RULE, 330.0, replace(OPTIONS, pipes=1), EACH_M)
    pipes = PipeField(area, ways_of(ground))
    drafts = list(drafts_of(task, row_sets(area, RULE, (0.0, 90.0), pipes), pipes, math.inf))
    assert drafts
    assert all(len(block.lines) % 2 == 0 for draft in drafts for block in draft.blocks)


@pytest.mark.parametrize("number", [2, 3])
def test_no_block_has_less_header_than_is_known_before_it_is_laid(number):
    rows = rows_of(BENT, (0.0,), 48.0)
    runs = cheapest_of_all(rows, number) - EACH_M * number
    assert rows.least_header(number) <= runs + 1e-6
    # shifts cost a little more than their pipe, and the header a tree through all ends at least
    assert rows.least_header(number) >= 0.5 * runs


def test_on_long_ground_blocks_lie_one_behind_the_other_along_it():
    # six rows of 290 m: trenches of 60 m across it aslant take more header than along it
    area = box(0, 0, 290, 16)
    ground = ground_of(area, (-1.0, 8.0))
    task = BlockTask(ground, area, RULE, 900.0, OPTIONS, EACH_M)
    pipes = PipeField(area, ways_of(ground))
    slant = math.degrees(math.asin(15.0 / 60.0))
    sets = row_sets(area, RULE, (0.0, slant, 180.0 - slant), pipes)
    best = min(drafts_of(task, sets, pipes, math.inf), key=lambda draft: draft.cost_m)
    lines = [line for block in best.blocks for line in block.lines]
    assert {block.direction_deg for block in best.blocks} == {0.0}
    # by hand: 18 trenches of 50 m in three blocks of six rows, 5 steps of 3 m along the ends of
    # each, and the blocks a trench and a gap of 3 m behind one another
    by_hand = 18 * EACH_M + 3 * 5 * 3.0 + 2 * 53.0
    assert len(lines) <= 18
    assert best.cost_m <= by_hand + 12.0
