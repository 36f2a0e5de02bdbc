"""A window that may lose some names and no more, and names along lines."""

from __future__ import annotations

import pytest
from shapely import LineString, box

from siteplan.sheet.model import Text, View
from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.exchange import NoRoomError
from siteplan.sheet.place.label import Label
from siteplan.sheet.plan_view.features import beside_line
from siteplan.sheet.plan_view.groups import label_groups
from siteplan.sheet.plan_view.ways_past import past
from siteplan.units.systems import METRIC

OUTSIDE = [Candidate((500.0, 500.0))]
"""A place beyond the window."""


@pytest.fixture
def window() -> Canvas:
    """A window of 100 x 100 mm at 1 : 1000: a metre of ground is a millimetre of paper."""
    return Canvas(View(1000.0, "1:1000", 0.0, 0.0, 100.0, 100.0, (50.0, 50.0)), METRIC)


def named(name: str) -> Label:
    return Label((name,), 2.3, "text", "0")


def test_a_window_that_needs_no_name_loses_any_number_of_them(window):
    for name in ("B1", "B2", "B3"):
        assert not window.put(named(name), OUTSIDE)
    assert window.unplaced == ["B1", "B2", "B3"]


@pytest.mark.parametrize("may_lose", [0, 1, 2])
def test_a_window_that_may_lose_so_many_names_is_given_up_at_the_next(window, may_lose):
    window.needed, window.may_lose = frozenset({"B1", "B2", "B3"}), may_lose
    assert not window.put(named("OTHER"), OUTSIDE)
    for number in range(may_lose):
        assert not window.put(named(f"B{number + 1}"), OUTSIDE)
    with pytest.raises(NoRoomError):
        window.put(named(f"B{may_lose + 1}"), OUTSIDE)


def test_names_stand_beside_a_line_every_five_millimetres_where_all_of_them_lies_along_it():
    label = named("AB")
    assert 5.0 < 2 * label.width < 15.0
    # middles at 2.5, 7.5 ... 37.5; half of the name does not lie beyond an end of the line
    places = beside_line(LineString([(0, 0), (40, 0)]), label, gap=1.0)
    half = label.width / 2
    along = [x for x in (2.5 + 5.0 * k for k in range(8)) if half <= x <= 40.0 - half]
    off = label.height / 2 + 1.0
    expected = [(x, side * off) for x in along for side in (1.0, -1.0)]
    assert [place.center for place in places] == [pytest.approx(at) for at in expected]
    assert {place.angle_deg for place in places} == {0.0}
    # the middle of the line costs least
    assert min(places, key=lambda place: place.cost).center[0] in (17.5, 22.5)


def test_no_name_stands_along_a_corner():
    label = named("A LONG NAME")
    bent = LineString([(0, 0), (30, 0), (30, 30)])
    for place in beside_line(bent, label):
        x, y = place.center
        # clear of the corner by half of the name, less what a slight bend would give
        assert min(abs(x - 30.0), abs(y)) < 4.0
        assert max(abs(x - 30.0), abs(y)) > 0.4 * label.width


@pytest.mark.parametrize("at", [(3.0, 50.0), (80.0, 50.0), (50.0, 3.0), (50.0, 80.0)])
def test_places_on_either_side_of_a_house_are_kept_and_none_in_it(window, at):
    house = box(*window.model((30.0, 30.0)), *window.model((60.0, 60.0)))
    far, inside = Candidate(at), Candidate((45.0, 45.0))
    assert past([far], named("H1"), window, house) == [far]
    assert past([far, inside], named("H1"), window, house) == [far]
    # a leader through it, whose ends lie clear of it on either side
    through = Candidate((10.0, 45.0), leader=(90.0, 45.0))
    assert past([through], named("H1"), window, house) == []


def test_a_group_that_the_window_cuts_is_named_along_its_own_outline(window):
    # from the middle of the window far beyond its right edge, which is at 99 mm
    area = box(*window.model((40.0, 40.0)), *window.model((300.0, 60.0)))
    label_groups(window, {"G1": area}, (0.0, 0.0))
    (text,) = [item for item in window.primitives if isinstance(item, Text)]
    x, y = window.paper(text.at)
    edges = LineString([(99.0, 40.0), (40.0, 40.0), (40.0, 60.0), (99.0, 60.0)])
    name = LineString([(x - 3.0, y), (x + 3.0, y)])
    assert text.text == "G1"
    assert name.distance(edges) < 3.0
    assert x < 96.0


def test_a_group_beyond_the_window_is_not_named(window):
    label_groups(window, {"G1": box(1000.0, 1000.0, 1100.0, 1100.0)}, (0.0, 0.0))
    assert window.primitives == []
