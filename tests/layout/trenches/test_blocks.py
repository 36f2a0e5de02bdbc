"""Even blocks of trenches: what they cost is worked out by hand or by looking at every run."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from campaign import several
from pipe_fields import trenches
from shapely import LineString, MultiLineString, Point, Polygon, box
from wording import in_words

from siteplan.checks.header_in_trench import IN_TRENCH, header_in_trench_findings
from siteplan.design.evaluate import _dug_twice
from siteplan.geometry.lines.rows import RowRule
from siteplan.geometry.offset import grow
from siteplan.layout.model import Ground, Header
from siteplan.layout.trenches.blocks import (
    Sided,
    Wanted,
    _least_header,
    blocks,
    joined_at_one_side,
    window,
)
from siteplan.layout.trenches.clear_header import inside_trenches
from siteplan.layout.trenches.field import lay_out_trenches
from siteplan.layout.trenches.pipe_field import PipeField
from siteplan.layout.trenches.row_sets import Chord, row_sets
from siteplan.layout.way import ways_of
from siteplan.site.model import Entry, HorizontalOptions

OPTIONS = HorizontalOptions(
    spacing_m=3.0, depth_m=1.5, width_m=0.6, pipes=2, shortest_m=9.0, longest_m=60.0
)
RULE = RowRule(3.0, 9.0, 60.0)


def lot_of(area: Polygon, entry: tuple[float, float]) -> Ground:
    passable = area.buffer(2.0, join_style="mitre")
    house = Point(entry).buffer(0.5)
    way = LineString([entry, area.centroid.coords[0]]).buffer(1.0)
    return Ground(area, passable.union(house).union(way), (Entry("entry-1", Point(entry)),))


def test_a_block_beside_the_entry_takes_a_straight_header_along_its_ends():
    # the entry on the edge of a field 40 m wide: 234 m are 6 trenches of 39 m, 5 spacings apart,
    # which begin at the entry's side: the header is 15 m along their ends, and nothing more
    ground = lot_of(box(0, 0, 40, 30), (0.0, 12.0))
    layout = lay_out_trenches(ground, OPTIONS, 234.0)
    lengths = [trench.length_m for trench in layout.elements]
    # a total of whole feet is dug
    assert lengths == pytest.approx([math.ceil(234 / 0.3048) * 0.3048 / 6] * 6)
    assert layout.header.length_m == pytest.approx(15.0, abs=1e-6)


@pytest.mark.parametrize("target_m", [150.0, 90.0, 200.0][: several(1, 3)])
def test_the_cheapest_block_comes_first_of_all_that_there_are(target_m):
    area = Polygon([(0, 0), (55, 3), (60, 28), (30, 40), (5, 30)])
    ground = lot_of(area, (-2.0, 10.0))
    field = PipeField(area, ways_of(ground))
    sets = row_sets(area, RULE, (0.0, 90.0, 30.0), field)
    wanted = Wanted(target_m, 2.0)
    found = list(blocks(sets, RULE, wanted))
    costs = [block.cost_m for block in found]
    # ways are known at places 3 m apart, and led on straight from there: to half a metre in order
    assert all(later >= earlier - 0.5 for earlier, later in pairwise(costs))
    for block in found[:20]:
        lengths = [line.length for line in block.lines]
        assert sum(lengths) == pytest.approx(target_m)
        assert min(lengths) >= 0.95 * max(lengths) - 1e-6
        assert all(area.buffer(1e-6).covers(line) for line in block.lines)
        # what it says to cost is no less than a straight way to the nearest end and along all
        ends = np.array([line.coords[0] for line in block.lines])
        along = float(np.hypot(*np.diff(ends, axis=0).T).sum())
        nearest = min(math.dist(end, (-2.0, 10.0)) for end in ends)
        assert block.cost_m >= nearest + along + 2.0 * len(lengths) - 1e-6


def test_a_lot_of_two_arms_takes_a_block_in_each():
    # two arms 10 m wide: four rows in each, and no direction of which one run holds 8 x 40 m
    area = box(0, 0, 10, 50).union(box(10, 0, 60, 10))
    ground = lot_of(area, (0.0, 0.0))
    layout = lay_out_trenches(ground, OPTIONS, 300.0)
    assert layout.obstacle is None
    lengths = [trench.length_m for trench in layout.elements]
    assert max(lengths) - min(lengths) <= 0.05 * max(lengths)
    directions = {
        round(
            math.degrees(
                math.atan2(
                    trench.line.coords[-1][1] - trench.line.coords[0][1],
                    trench.line.coords[-1][0] - trench.line.coords[0][0],
                )
            )
        )
        % 180
        for trench in layout.elements
    }
    assert directions == {0, 90}


@pytest.mark.parametrize("seed", [0, 3, 4, 6, 7, 10, 11, 1, 2, 5, 8, 9][: several(4, 12)])
def test_no_header_runs_in_a_trench_and_no_two_trenches_are_too_near(seed):
    dice = np.random.default_rng(seed)
    angles = np.sort(dice.uniform(0, 2 * math.pi, 7))
    radii = dice.uniform(25, 45, 7)
    area = Polygon(np.stack([radii * np.cos(angles), radii * np.sin(angles)], axis=1)).buffer(0)
    middle = area.representative_point()
    house = middle.buffer(4.0, quad_segs=1)
    ground = Ground(
        area.difference(house.buffer(3.0)),
        area.buffer(1.0).difference(house),
        (Entry("entry-1", house.exterior.interpolate(0)),),
    )
    layout = lay_out_trenches(ground, OPTIONS, 250.0)
    lines = [trench.line for trench in layout.elements]
    for number, line in enumerate(lines):
        assert all(line.distance(other) >= 3.0 - 1e-6 for other in lines[:number])
    if layout.obstacle is None:
        assert not list(header_in_trench_findings(layout))


def layout_with(*runs):
    # four trenches from x = 0 to 30 m, at y = 3, 6, 9 and 12 m
    layout = trenches([30.0] * 4)
    header = Header(tuple(LineString(run) for run in runs), Entry("entry-1", Point(runs[0][0])))
    return replace(layout, header=header)


def test_a_header_along_the_ends_is_no_fault():
    assert list(header_in_trench_findings(layout_with([(0, 0), (0, 12)]))) == []


def test_a_header_in_the_ground_of_a_trench_is_one():
    # 20 m along the second trench, 0.3 m off its middle line
    layout = layout_with([(0, 3), (0, 4.5), (10, 4.5), (10, 6.3), (30, 6.3)])
    (found,) = header_in_trench_findings(layout)
    assert found.subject == "T2"
    # from where it comes within a width of the middle line on
    width = layout.elements[0].width_m
    assert found.measured_m == pytest.approx(20 + 0.3 + width, abs=0.05)


def test_round_an_end_that_the_header_joins_three_feet_are_one_pit_and_no_more():
    # common practice, no source: 3 ft; the header leaves the end along the trench for 8 m
    (found,) = header_in_trench_findings(layout_with([(0, 3), (8, 3)]))
    assert found.measured_m == pytest.approx(8 - 3 * 0.3048, abs=0.05)
    assert list(header_in_trench_findings(layout_with([(0, 3), (0.9, 3)]))) == []


def test_a_square_crossing_is_none_and_an_oblique_one_is():
    width = trenches([30.0] * 4).elements[0].width_m
    square = layout_with([(0, 3), (0, 4.4), (15, 4.4), (15, 7.6)])
    assert [one.subject for one in header_in_trench_findings(square)] == []
    # at 15 degrees the common ground is (2 x half a width on both sides) / sin 15, more than
    # twice what 60 degrees give
    slope = math.tan(math.radians(15))
    reach = 2 * width / slope
    oblique = layout_with([(15 - reach, 6 - reach * slope), (15 + reach, 6 + reach * slope)])
    assert [one.subject for one in header_in_trench_findings(oblique)] == ["T2"]


def test_a_layout_whose_header_is_dug_in_a_trench_does_not_fit_and_says_so():
    layout = layout_with([(0, 3), (0, 4.5), (10, 4.5), (10, 6.3), (30, 6.3)])
    findings = tuple(header_in_trench_findings(layout))
    assert {one.code for one in findings} == {IN_TRENCH}
    stopped = _dug_twice(layout, findings)
    assert "runs in the ground of a loop trench (T2" in in_words(stopped.obstacle)


def test_the_engine_measures_what_the_check_measures():
    layout = layout_with([(0, 3), (0, 4.5), (10, 4.5), (10, 6.3), (30, 6.3)])
    lines = [trench.line for trench in layout.elements]
    (found,) = [one for one in header_in_trench_findings(layout) if one.subject == "T2"]
    measured = inside_trenches(layout.header, lines, layout.elements[0].width_m)
    assert measured == pytest.approx(found.measured_m, abs=1.0)
    assert MultiLineString(lines).is_valid


@pytest.mark.parametrize("entry", [(35.0, 12.0), (36.0, 13.0), (30.0, 20.0), (40.0, 15.0)])
def test_rows_follow_lines_that_were_drawn_and_no_arc_of_a_setback(entry):
    # all that is drawn here runs along the axes; the setback of 8 m has round corners, and rows
    # along a piece of those would spare a header of 10 m less than a metre
    setback = grow(box(48, 30, 62, 38), 8)
    area = box(2, 2, 54, 98).difference(setback)
    ground = Ground(area, box(0, 0, 56, 100), (Entry("entry-1", Point(entry)),))
    layout = lay_out_trenches(ground, replace(OPTIONS, longest_m=90.0), 226.0)
    for trench in layout.elements:
        (x0, y0), (x1, y1) = trench.line.coords
        assert min(abs(x1 - x0), abs(y1 - y0)) == pytest.approx(0, abs=1e-6)


def test_the_bound_of_a_header_is_met_where_it_leads_straight_across_all_rows():
    # four rows 3 m apart, each 20 m long and dug whole, the building 5 m before the first one in
    # line with their ends: by hand 5 m to the nearest and 3 x 3 m across
    places = np.array([0.0, 20.0])
    chords = tuple(
        Chord(3.0 * k, 0.0, 20.0, places, np.hypot(places, 5 + 3.0 * k)) for k in range(4)
    )
    windows = tuple(window(chord, 20.0, at_end=False) for chord in chords)
    assert _least_header(windows, 3.0) == pytest.approx(14.0)
    block = joined_at_one_side(Sided(chords, 0.0, windows, False), RowRule(3.0, 0.0), 0.0)
    assert block.cost_m == pytest.approx(14.0)
    # with a building beside the middle of the rows the tree is half the way round at the least
    ways = [12.0, 10.0, 10.0, 12.0]
    beside = [
        window(replace(chord, ways=np.full(2, way)), 20.0, at_end=False)
        for chord, way in zip(chords, ways, strict=True)
    ]
    assert _least_header(beside, 3.0) == pytest.approx(10.0 + 9.0)
