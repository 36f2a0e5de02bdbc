"""Circuits, take-off and trench pipes on the sheet."""

import math
from dataclasses import replace

import pytest
from planned import planned
from shapely import LineString
from sheet_lots import FT

from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Trench
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Text
from siteplan.sheet.pages.advice import paper_advice
from siteplan.sheet.pages.compose import arranged, compose
from siteplan.sheet.plan_view.trench_pipes import pipe_paths
from siteplan.sheet.style.paper import paper
from siteplan.site.sheet_options import SheetOptions

INCH = FT / 12


@pytest.fixture(scope="module")
def acre():
    return planned("rural-acre")


def texts(sheet):
    return [item.text for item in sheet.primitives if isinstance(item, Text)]


def on(plan, size):
    content = plan.content()
    return replace(content, site=replace(content.site, sheet=SheetOptions(size)))


def test_a_large_sheet_has_the_take_off(acre):
    found = texts(compose(on(acre, "ANSI D")))
    assert "TAKE-OFF" in found
    assert "CIRCUITS" in found
    assert "TRACER WIRE" in found


def test_pipes_cost_neither_scale_nor_rows(acre):
    content = on(acre, "ANSI B")
    bare = replace(content.layout, piping=None, circuits=())
    page = paper("ANSI B").shrunk()
    with composing():
        with_pipes = arranged(content, page)
        without = arranged(replace(content, layout=bare), page)
    assert with_pipes.view.ratio == without.view.ratio
    assert with_pipes.plan.most_rows == without.plan.most_rows


@pytest.mark.thorough
def test_where_the_take_off_has_no_room_a_paper_is_named_that_has(acre):
    content = on(acre, "ANSI B")
    sheet = compose(content)
    if "TAKE-OFF" not in texts(sheet):
        advice = paper_advice(sheet, content)
        assert "takeoff.csv" in advice
        size = advice.split('"')[1]
        assert "TAKE-OFF" in texts(compose(on(acre, size)))


def test_pipes_of_a_pit_come_back_in_bends_no_tighter_than_allowed():
    # pipes 24 in apart, first to fourth 72 in: a bend of 36 in; 25 x 1.05 in are 26.25 in
    pit = Trench("T1", LineString([(0, 0), (30, 0)]), 12 * FT, 5 * FT, 6, "wide pit")
    paths = pipe_paths(pit, pipes()["3/4 in"])
    assert len(paths) == 3
    for path in paths:
        # a fitting would leave four points: both ends, and two corners
        assert len(path) > 4
        arc = path[1:-1]
        middle = ((arc[0][0] + arc[-1][0]) / 2, (arc[0][1] + arc[-1][1]) / 2)
        assert [math.dist(at, middle) for at in arc] == pytest.approx([36 * INCH] * len(arc))
        assert max(x for x, _ in path) < 30.0


def test_two_pipes_in_a_narrow_trench_turn_square_through_a_fitting():
    (path,) = pipe_paths(
        Trench("T1", LineString([(0, 0), (0, 30)]), 2 * FT, 5 * FT, 2), pipes()["3/4 in"]
    )
    assert len(path) == 4
    assert [x for x, _ in path] == pytest.approx([9 * INCH, 9 * INCH, -9 * INCH, -9 * INCH])


def test_stacked_pipes_and_coils_are_not_seen_from_above():
    for kind in ("two pipes stacked", "flat coil"):
        trench = Trench("T1", LineString([(0, 0), (30, 0)]), 1 * FT, 5 * FT, 2, kind)
        assert pipe_paths(trench, pipes()["3/4 in"]) == []
