"""Names of a series that are looked at together stand where each would stand by itself."""

from __future__ import annotations

import random

import pytest

from siteplan.sheet.model import Symbol, View
from siteplan.sheet.place.candidates import around, led
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.series_names import SeriesName, put_names
from siteplan.units.systems import METRIC

SIZE_MM = 1.4


def drawn(step: float) -> tuple[Canvas, list[SeriesName]]:
    """A window with nine symbols so far apart and some lines across it; names of the symbols."""
    canvas = Canvas(View(1000.0, "1:1000", 0.0, 0.0, 120.0, 120.0, (60.0, 60.0)), METRIC)
    chance = random.Random(3)
    names = []
    for number in range(9):
        at = (30.0 + step * (number % 3), 30.0 + step * (number // 3))
        canvas.symbol(Symbol("bore", at, SIZE_MM, "element", "0"))
        label = Label((f"B{number + 1}",), 2.3, "text", "0", bold=True)
        near = around(canvas.paper(at), label.width, label.height, SIZE_MM)
        names.append(SeriesName(label, near, canvas.paper(at), SIZE_MM + 0.2))
    for _ in range(6):
        ends = [(chance.uniform(20, 60), chance.uniform(20, 60)) for _ in range(2)]
        canvas.line(ends, "header", "0", ink=250.0, leader=40.0)
    return canvas, names


# apart, and so close that a name takes the place of another
@pytest.mark.parametrize("step", [11.0, 7.5])
def test_names_looked_at_together_stand_as_one_by_one(step: float) -> None:
    together, names = drawn(step)
    put_names(together, names)
    single, names = drawn(step)
    for one in names:
        size = (one.label.width, one.label.height)
        single.put(one.label, [*one.near, *led(one.spot, *size, stand_off=one.stand_off)])
    assert together.primitives == single.primitives
    assert together.unplaced == single.unplaced
    leaders = [item for item in single.primitives if item.style == "leader"]
    assert 0 < len(leaders) < len(names)
