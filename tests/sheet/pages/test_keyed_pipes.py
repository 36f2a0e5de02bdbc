"""The list of pipes of header pieces on a part of the plan: whole, or it says where it goes on."""

from __future__ import annotations

import re
from dataclasses import replace
from itertools import pairwise

import pytest
from campaign import thorough
from sheet_lots import suburban

from siteplan.sheet.content.content import PART, PLAN, TABLES
from siteplan.sheet.marks import KEYED
from siteplan.sheet.model import Text, View
from siteplan.sheet.pages.key_plan import key_block
from siteplan.sheet.pages.strip import part_strip
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.plan_view.numbers import PIPES_HEADING, list_header_pipes
from siteplan.sheet.style.paper import paper
from siteplan.units.systems import METRIC

PAGE = paper("ANSI B").shrunk()
VIEW = View(240.0, "1\" = 20'", 10.0, 10.0, 100.0, 100.0, (0.0, 0.0))


def pieces(count):
    """So many pieces of header, each with pipes of its own."""
    return [(f"HDR-{number}", f"{number} × 1 in (S)") for number in range(1, count + 1)]


def listed(count, page=PAGE):
    """Texts of the list for so many pieces, as they stand in the strip of a part."""
    content = replace(suburban(), titles=(PLAN, PART, TABLES))

    def key(width, tall_mm):
        return key_block(content, width, tall_mm=tall_mm)

    strip = part_strip(content, page, VIEW, key=key, number=1, keyed=pieces(count))
    return [
        text
        for text in strip
        if isinstance(text, Text) and text.mark is not None and text.mark.block == KEYED
    ]


def told(texts):
    return {text.text for text in texts if re.match(r"HDR-\d+: ", text.text)}


@pytest.mark.parametrize("count", [1, 5, 20, 50])
def test_every_piece_is_listed_where_one_column_or_two_have_room(count):
    texts = listed(count)
    assert told(texts) == {f"{name}: {pipes}" for name, pipes in pieces(count)}
    assert not any("L2" in text.text for text in texts)


def test_a_long_list_stands_in_two_columns_that_do_not_touch():
    rows = [text for text in listed(50) if text.text.startswith("HDR-")]
    lefts = {round(text.at[0], 3) for text in rows}
    assert len(lefts) == 2
    for left in lefts:
        ys = sorted(text.at[1] for text in rows if round(text.at[0], 3) == left)
        assert all(high - low > rows[0].height_mm for low, high in pairwise(ys))


@pytest.mark.parametrize("count", [120, thorough(400)])
def test_a_list_without_room_for_all_says_on_which_sheet_it_goes_on(count):
    texts = listed(count)
    words = " ".join(text.text for text in texts)
    assert words.endswith("Other pieces: L2, HEADER PIPES.")
    some = told(texts)
    assert 3 <= len(some) < count
    # the first ones, from the entry outwards, and none of them twice
    assert some == {f"{name}: {pipes}" for name, pipes in pieces(len(some))}
    # on the paper, above the title block
    assert min(text.at[1] for text in texts) > PAGE.margin_mm


@pytest.mark.thorough
def test_on_small_paper_the_sheet_that_has_the_list_is_named_at_least():
    texts = listed(400, paper("ANSI A").shrunk())
    assert "L2, HEADER PIPES." in " ".join(text.text for text in texts)


@pytest.mark.parametrize("where", ["L3", ""])
def test_the_plan_names_the_sheet_of_a_list_for_which_its_window_is_too_low(where):
    canvas = Canvas(View(1000.0, "", 0.0, 0.0, 200.0, 40.0, (0.0, 0.0)), METRIC)
    canvas.keyed += pieces(60)
    # an only sheet has no other to name
    assert list_header_pipes(canvas, where) is bool(where)
    words = [item.text for item in canvas.primitives if isinstance(item, Text)]
    assert words == ([f"{PIPES_HEADING}: {where}, HEADER PIPES."] if where else [])
