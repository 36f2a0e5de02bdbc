"""The strip that sloped sides open on the sheet: drawn, named, and dimensioned from its edge."""

from __future__ import annotations

from dataclasses import replace

import pytest
import shapely
from drawn_once import compose
from legible import plot_faults
from sheet_lots import rural

from siteplan.checks.separations import separations
from siteplan.rules.ruleset import rules_of
from siteplan.sheet.model import Dimension, Polyline, Text
from siteplan.sheet.plan_view.strips import strips
from siteplan.sheet.style.styles import layer
from siteplan.site.sheet_options import SheetOptions


def sloped(protection="slope", depth_m=2.0):
    """The rural lot, its trenches 0.9 m wide and 2 m deep in soil A: 3/4 to 1, 1.5 m beyond."""
    content = rural(sheet=SheetOptions("Arch D"))
    wanted = content.site.exchanger
    options = replace(wanted.horizontal, soil="A", protection=protection, depth_m=depth_m)
    site = replace(content.site, exchanger=replace(wanted, horizontal=options), books=())
    trenches = tuple(replace(one, depth_m=depth_m) for one in content.layout.elements)
    layout = replace(content.layout, elements=trenches[::3])
    rows = separations(site, layout, rules_of(site))
    return replace(content, site=site, layout=layout, separations=rows)


def words(sheet):
    return [item.text for item in sheet.of_type(Text)]


def edges(sheet):
    where = layer("trench-strip")
    return [one for one in sheet.of_type(Polyline) if one.layer == where and one.space == "model"]


def test_the_strip_reaches_as_far_beyond_every_side_as_the_slope_asks():
    # Table B-1, soil A: 3/4 x 2 m = 1.5 m; the first trench runs from (26, 46) to (88, 46)
    content = sloped()
    west, south, _, _ = strips(content.site, content.layout).bounds
    assert (west, south) == pytest.approx((26 - 1.5, 46 - 0.45 - 1.5))


def test_the_edge_of_the_strip_is_drawn_on_its_own_layer_and_in_the_legend():
    sheet = compose(sloped())
    assert len(edges(sheet)) == 3  # rows 15 m apart: a strip each
    assert "EDGE OF SLOPED" in " ".join(words(sheet))
    assert plot_faults(sheet) == ()


def test_upright_sides_have_no_strip():
    sheet = compose(sloped("shield"))
    assert edges(sheet) == []
    assert not any("STRIP" in one for one in words(sheet))


def test_a_distance_of_the_strip_is_called_so_and_its_arrow_ends_on_the_edge():
    content = sloped()
    sheet = compose(content)
    row = next(one for one in content.separations if one.strip_m > 1.4)
    edge = strips(content.site, content.layout).boundary
    assert any(f"{row.element} STRIP" in one for one in words(sheet))
    drawn = {tuple(end) for one in sheet.of_type(Dimension) for end in (one.start, one.end)}
    kept = [one for one in content.separations if one.strip_m > 1.4 and one.element_point in drawn]
    assert kept
    for one in kept:
        # the drawn arcs lie at most 1 % of 1.5 m inside the true ones
        assert edge.distance(shapely.Point(one.element_point)) < 0.015


def test_the_table_says_what_a_strip_is():
    assert any("the strip that the sloped" in one for one in words(compose(sloped())))
