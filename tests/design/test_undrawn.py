"""A field that holds less than half of what is required is not drawn as a plan."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from planned import unweighed
from shapely import LineString, box
from sheet_lots import pond_farm

from siteplan.available.area import KeepOut
from siteplan.design.undrawn import without_hopeless_field
from siteplan.findings.words import words_of
from siteplan.plan import SitePlan
from siteplan.rule_books.model import Rule
from siteplan.sheet.content.ground_left import ground_left
from siteplan.sheet.model import Text
from siteplan.sheet.tables.taken import taken_block, taken_ground
from siteplan.site.readers.site_file import read_site


def planned(lot_text: str, write_site: Callable[..., Path], feet: int) -> SitePlan:
    # a grid of two bores of 350 ft holds 700 ft, whatever is required
    length = f'length = {{ given = "{feet} ft", by = "test" }}'
    grid = '[vertical]\ngrid = { rows = 1, columns = 2, spacing = "20 ft" }\n'
    text = lot_text.replace('capacity = "2 ton"', length) + grid
    plan = unweighed(read_site(write_site(text)), "vertical")
    shown = without_hopeless_field(plan.lot, plan.drawn)
    return replace(plan, trials=(shown,), drawn=shown)


def test_less_than_half_leaves_the_available_area_and_what_takes_the_rest(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    plan = planned(lot_text, write_site, 1500)
    layout = plan.drawn.layout
    assert layout is not None
    assert not layout.elements
    assert layout.header is None
    (told,) = [finding for finding in plan.findings if finding.code == "field-not-drawn"]
    assert "700 ft of bore, less than half of the 1,500 ft" in words_of(told, plan.site.unit)
    assert taken_block(plan.content(), 100.0) is not None


def test_half_or_more_is_drawn(lot_text: str, write_site: Callable[..., Path]) -> None:
    plan = planned(lot_text, write_site, 1400)
    assert not plan.fits
    assert plan.drawn.layout is not None
    assert len(plan.drawn.layout.elements) == 2
    assert taken_block(plan.content(), 100.0) is None


def test_what_a_rule_takes_alone_is_what_no_other_takes() -> None:
    # of 10 x 10 the one rule takes the left 6, the other the right 7: 60 and 70, alone 30 and 40
    first = Rule("first", "well", ("bore",), 3.0, "3 m", "b", "s")
    second = Rule("second", "pond", ("bore",), 2.0, "2 m", "b", "s")
    keep_outs = (
        KeepOut(first, "w", box(-5, -5, 6, 15)),
        KeepOut(second, "p", box(3, -5, 15, 15)),
    )
    rows = taken_ground(box(0, 0, 10, 10), keep_outs)
    assert [(row.rule.id, row.area_m2, row.alone_m2) for row in rows] == [
        ("second", pytest.approx(70), pytest.approx(40)),
        ("first", pytest.approx(60), pytest.approx(30)),
    ]


def test_a_keep_out_that_is_a_line_takes_no_ground_of_another_beyond_the_lot() -> None:
    # of 10 x 10 the first rule takes the left 4; the fence crosses the lot, the pond is beyond it
    rules = [
        Rule(name, name, ("bore",), 0.0, "0 m", "b", "s") for name in ("well", "fence", "pond")
    ]
    shapes = (box(-5, -5, 4, 15), LineString([(7, -5), (7, 15)]), box(20, 0, 30, 10))
    keep_outs = tuple(KeepOut(rule, "x", shape) for rule, shape in zip(rules, shapes, strict=True))
    (row,) = taken_ground(box(0, 0, 10, 10), keep_outs)
    assert (row.rule.id, row.area_m2, row.alone_m2) == (
        "well",
        pytest.approx(40),
        pytest.approx(40),
    )


def test_of_a_field_in_a_pond_the_pond_is_what_there_is() -> None:
    content = pond_farm()
    assert content.layout is not None
    undrawn = replace(content, layout=replace(content.layout, elements=(), header=None))
    (pond,) = content.site.of_kind("pond")
    left = ground_left(undrawn)
    assert left.area > 0.0
    assert pond.shape.buffer(1e-6).covers(left)
    block = taken_block(undrawn, 100.0)
    assert block is not None
    said = " ".join(item.text for item in block.items if isinstance(item, Text))
    size = content.site.unit.area.text(float(pond.shape.area))
    assert f"of {size} of pond" in said
