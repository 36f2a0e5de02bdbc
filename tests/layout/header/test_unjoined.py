"""Why no header joins a layout is said by what keeps it away."""

from __future__ import annotations

from dataclasses import replace

import pytest
from shapely import LineString, Point, box, union_all
from wording import in_words

from siteplan.layout.elements import Bore
from siteplan.layout.header.unjoined import why_unjoined
from siteplan.layout.model import Ground, Layout, Strip
from siteplan.site.model import Entry

NEAR, FAR = (5.0, 5.0), (35.0, 5.0)


def layout(*places: tuple[float, float]) -> Layout:
    bores = [Bore(f"B{k}", x, y, 0.15, 60.0) for k, (x, y) in enumerate(places, start=1)]
    return Layout("vertical", tuple(bores), None, 6.0, 600.0)


def ground(*parts: tuple[float, float, float, float], strips: tuple[Strip, ...] = ()) -> Ground:
    passable = union_all([box(*part) for part in parts])
    return Ground(passable, passable, (Entry("E1", Point(1, 1)),), strips=strips)


def test_bores_beyond_a_gap_are_named() -> None:
    words = in_words(why_unjoined(layout(NEAR, FAR), ground((0, 0, 20, 10), (30, 0, 40, 10))))
    assert words.startswith("the header cannot reach B2 from any entry point")


def test_where_none_can_be_reached_no_entry_opens_to_them() -> None:
    split = ground((0, 0, 20, 10), (30, 0, 40, 10))
    assert why_unjoined(layout(FAR), split).code == "no-way-for-header"


def test_entries_that_each_reach_some_do_not_join_them_all() -> None:
    split = ground((0, 0, 20, 10), (30, 0, 40, 10))
    both = replace(split, entries=(*split.entries, Entry("E2", Point(31, 1))))
    words = in_words(why_unjoined(layout(NEAR, FAR), both))
    assert words.startswith("no header from one entry point reaches them all")


@pytest.mark.parametrize("far_m", [500.0, 0.3])
def test_only_lines_that_it_would_run_along_are_named(far_m: float) -> None:
    # a lane 2 m wide with a gas line in its middle; the other line stands `far_m` off to the north,
    # within its strip or not
    lane = ((0.0, 0.0, 40.0, 2.0),)
    gas = Strip("gas", LineString([(-5, 1), (45, 1)]), 1.5, 2.0)
    water = Strip("water", LineString([(-5, 2 + far_m), (45, 2 + far_m)]), 1.5, 2.0)
    words = in_words(why_unjoined(layout((35.0, 1.0)), ground(*lane, strips=(gas, water))))
    assert ("(gas, water)" if far_m < 1 else "(gas)") in words
