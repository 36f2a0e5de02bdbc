"""Which lines become one paragraph, which mask lies under it, which arrow is a leader's own."""

from __future__ import annotations

import math

import pytest

from siteplan.export.drawing.paragraphs import Gathered, Led, Paragraph, gathered
from siteplan.sheet.model import Paper, Polygon, Polyline, Primitive, Sheet, Text, View
from siteplan.units.systems import METRIC

HEIGHT = 2.0


def put_together(*items: Primitive) -> Gathered:
    view = View(1000.0, "1:1000", 10.0, 10.0, 60.0, 60.0, (0.0, 0.0))
    return gathered(Sheet("S", Paper("X", 100.0, 80.0, 5.0), view, METRIC, items, (("0", "text"),)))


def lines(step: float, count: int = 3, turn_deg: float = 0.0, anchor: str = "left") -> list[Text]:
    """Lines of 2 mm, one below the other by a step, all turned about the first one's start."""
    angle = math.radians(turn_deg)
    return [
        Text(
            "word", (50 + k * step * math.sin(angle), 40 - k * step * math.cos(angle)), HEIGHT,
            "text", "0", "paper", turn_deg, anchor,
        )
        for k in range(count)
    ]  # fmt: skip


def sizes(found: Gathered) -> list[int]:
    return [len(thing.lines) for thing in found.things if isinstance(thing, Paragraph)]


@pytest.mark.parametrize("turn_deg", [0.0, 30.0, 90.0, -60.0])
def test_lines_below_each_other_are_one_paragraph_however_they_are_turned(turn_deg: float) -> None:
    found = put_together(*lines(3.2, turn_deg=turn_deg))
    assert sizes(found) == [3]
    (paragraph,) = found.things
    assert isinstance(paragraph, Paragraph)
    assert paragraph.pitch_mm == pytest.approx(3.2)


def test_lines_too_far_apart_or_at_another_pitch_are_none() -> None:
    # more than 2.4 heights of 2 mm
    assert sizes(put_together(*lines(4.7))) == [3]
    assert sizes(put_together(*lines(4.9))) == [1, 1, 1]
    uneven = [*lines(3.0, 2), lines(3.6)[2]]
    assert sizes(put_together(*uneven)) == [2, 1]
    # upwards it is no next line
    assert sizes(put_together(*lines(-3.0))) == [1, 1, 1]


def square(west: float, south: float, east: float, north: float, style: str) -> Polygon:
    ring = ((west, south), (east, south), (east, north), (west, north))
    return Polygon((ring,), style, "0", "paper")


@pytest.mark.parametrize(("anchor", "aside"), [("left", 3.0), ("center", 0.0), ("right", -3.0)])
def test_a_mask_lies_under_the_lines_whose_middle_it_covers(anchor: str, aside: float) -> None:
    # "word" is about 6 mm wide: its middle stands 3 mm right of a left anchor
    # from 42 mm, the top of the first line, to 36.8 mm, the foot of the second: 39.4 mm
    mask = square(50 + aside - 2, 39, 50 + aside + 2, 40, "mask")
    found = put_together(mask, *lines(3.2, 2, anchor=anchor))
    (paragraph,) = found.things
    assert isinstance(paragraph, Paragraph)
    assert paragraph.mask is mask


def test_the_arrow_of_a_leader_goes_with_it_and_another_stays() -> None:
    leader = Polyline(((20.0, 20.0), (30.0, 20.0)), "leader", "0", "paper")
    own = Polygon((((30.0, 20.0), (28.0, 20.5), (28.0, 19.5)),), "ink-fill", "0", "paper")
    other = Polygon((((70.0, 20.0), (68.0, 20.5), (68.0, 19.5)),), "ink-fill", "0", "paper")
    border = Polyline(((70.0, 60.0), (70.0, 20.0)), "frame", "0", "paper")
    things = put_together(leader, own, other, border).things
    assert [type(thing) for thing in things] == [Led, Polygon, Polyline]
    assert things[1] is other


@pytest.mark.parametrize("turned", [1, -1])
def test_of_labels_near_its_foot_a_leader_leads_from_the_nearest(turned: int) -> None:
    # both within 2 mm of where the leader begins, one 0.5 mm above it and one 1.5 mm below
    near = Text("near", (20.0, 20.5), HEIGHT, "text", "0", "paper")
    far = Text("far", (20.0, 20.0 - 1.5 - HEIGHT), HEIGHT, "text", "0", "paper", bold=True)
    leader = Polyline(((21.0, 20.0), (60.0, 20.0)), "leader", "0", "paper")
    found = put_together(*(near, far)[::turned], leader)
    (led,) = (thing for thing in found.things if isinstance(thing, Led))
    assert led.label is not None
    assert [line.text for line in led.label.lines] == ["near"]
