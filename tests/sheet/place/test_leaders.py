"""Leaders that do not meet, and names nearer to their own symbol than to another."""

from __future__ import annotations

from itertools import combinations

import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from legible import leaders, plot_faults
from planned import full_set
from shapely import LineString, Point, box, union_all
from sheet_lots import composed, crowded

from siteplan.sheet.model import Polyline, Symbol, Text, View
from siteplan.sheet.place.candidates import Among, Candidate, are_nearest_own
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.place.placer import HARD, Placer
from siteplan.sheet.plan_view.numbers import HEADING, list_numbers
from siteplan.units.systems import METRIC

WINDOW = (0.0, 0.0, 200.0, 100.0)
SIDE_MM = 90.0
PLACES = st.lists(
    st.tuples(st.integers(30, 60), st.integers(30, 60)), min_size=2, max_size=24, unique=True
)
"""Places so near to each other on paper that their names do not all stand beside them [mm]."""


def named(places):
    """A window of 90 x 90 mm at 1 : 1000 on which each place has a symbol and a name."""
    view = View(1000.0, "1:1000", 0.0, 0.0, SIDE_MM, SIDE_MM, (SIDE_MM / 2, SIDE_MM / 2))
    canvas = Canvas(view, METRIC)
    canvas.lists = True
    for at in places:
        canvas.symbol(Symbol("tie", at, 1.1, "element", "0"))
    for number, at in enumerate(places):
        canvas.put_around([Label((f"THING {number}",), 2.3, "text", "0")], at, 1.1)
    list_numbers(canvas)
    return canvas


def paths_of(canvas):
    return [
        LineString(canvas.view.to_paper(item.points))
        for item in canvas.primitives
        if isinstance(item, Polyline) and item.style == "leader"
    ]


@settings(max_examples=several(3, 25), deadline=None)
@given(PLACES)
def test_leaders_never_meet_and_no_name_is_lost_twice_or_silently(places):
    canvas = named(places)
    paths = paths_of(canvas)
    assert not any(path.intersects(other) for path, other in combinations(paths, 2))
    texts = [item.text for item in canvas.primitives if isinstance(item, Text)]
    for number in range(len(places)):
        name = f"THING {number}"
        told = [text for text in texts if text.split(") ")[-1] == name]
        assert len(told) + canvas.unplaced.count(name) == 1
    assert len(set(canvas.listed)) == len(canvas.listed)


def test_of_places_around_a_middle_one_the_name_of_the_middle_one_is_led_out():
    ring = [Point(45.0, 45.0).buffer(6.0, quad_segs=3).exterior.coords[k] for k in range(12)]
    canvas = named([*ring, (45.0, 45.0)])
    assert not canvas.unplaced
    paths = paths_of(canvas)
    assert not any(path.intersects(other) for path, other in combinations(paths, 2))


@pytest.mark.thorough
def test_a_window_with_more_names_than_room_writes_numbers_and_their_list():
    plan = composed(crowded)
    texts = [item.text for item in plan.of_type(Text)]
    tags = [text for text in texts if text.startswith("(") and text.endswith(")") and len(text) < 5]
    assert HEADING in texts
    for tag in tags:
        assert sum(text.startswith(f"{tag} THING") for text in texts) == 1
    named_things = [text for text in texts if "THING NO" in text]
    assert tags
    assert not plan.unplaced
    assert named_things


def test_a_leader_goes_round_another_though_the_way_across_is_shorter():
    placer = Placer(WINDOW)
    placer.add_leader([(50.0, 20.0), (50.0, 80.0)])
    across = Candidate((30.0, 50.0), cost=1.0, leader=(70.0, 50.0))
    longer = Candidate((110.0, 50.0), cost=500.0, leader=(70.0, 50.0))
    assert placer.best([across, longer], 10.0, 3.0) is longer


def test_a_leader_does_not_run_along_another_where_it_can_stand_off():
    placer = Placer(WINDOW)
    placer.add_leader(((20.0, 50.0), (80.0, 50.0)))
    # both to the same thing: one a millimetre beside the first for its whole way, one from above
    along = Candidate((27.4, 51.2), cost=1.0, leader=(70.0, 51.0))
    above = Candidate((70.0, 75.0), cost=300.0, leader=(70.0, 51.0))
    assert placer.best([along, above], 10.0, 1.0) is above
    # rather than lose a name it stands there
    assert placer.best([along], 10.0, 1.0) is along


def test_a_leader_crosses_a_base_line_and_does_not_run_along_it():
    placer = Placer(WINDOW)
    placer.keep_leaders_apart(((20.0, 50.0), (80.0, 50.0)))
    along = Candidate((27.4, 50.4), cost=1.0, leader=(70.0, 50.3))
    across = Candidate((60.0, 75.0), cost=300.0, leader=(70.0, 30.0))
    assert placer.best([along, across], 10.0, 1.0) is across
    # nobody takes what crosses it for a part of it: it costs nothing more
    assert placer.cheapest([across], 10.0, 1.0)[0] == 300.0
    # rather than lose a name it stands there
    assert placer.best([along], 10.0, 1.0) is along


def test_a_leader_goes_farther_rather_than_across_ten_trenches():
    canvas = Canvas(View(1000.0, "1:1000", 0.0, 0.0, 240.0, 24.0, (0.0, 0.0)), METRIC)
    for number in range(10):
        x = 4.0 + 3.0 * number
        canvas.line([(x, -20.0), (x, 20.0)], "trench", "0", ink=HARD, leader=80.0)
    # to the left no name stands either, but a leader passes
    canvas.placer.add_area(
        box(*canvas.paper((-78.0, -20.0)), *canvas.paper((3.0, 20.0))), HARD, leader_cost=0.0
    )
    assert canvas.put_around([Label(("HDR-8",), 2.3, "text", "0")], (0.0, 0.0), 1.0)
    (text,) = (item for item in canvas.primitives if isinstance(item, Text))
    assert text.at[0] < -78.0
    (path,) = paths_of(canvas)
    assert path.length > 70.0


def test_leaders_to_one_place_do_not_meet_at_its_tip():
    placer = Placer(WINDOW)
    placer.add_leader([(20.0, 50.0), (70.0, 50.0)])
    same = Candidate((110.0, 50.0), cost=1.0, leader=(70.0, 50.0))
    assert placer.best([same], 10.0, 3.0) is None


def test_a_label_does_not_lie_on_a_leader():
    placer = Placer(WINDOW)
    placer.add_leader([(20.0, 50.0), (70.0, 50.0)])
    assert placer.best([Candidate((40.0, 50.0))], 10.0, 3.0) is None


def test_a_single_symbol_has_no_rival():
    label = Among([Candidate((4.0, 0.0))], [((4.0, 2.0), (0.0, 0.0))], (0.0, 0.0), ())
    assert are_nearest_own([label]) == [[True]]


def test_the_coils_of_the_farm_pond_are_read_the_right_way_round():
    plan = full_set("farm-pond")[0]
    codes = {fault.code for fault in plot_faults(plan)}
    assert not codes & {"leader on leader", "label nearer to another symbol"}
    paths: list[LineString] = leaders(plan)
    assert not any(path.intersects(other) for path, other in combinations(paths, 2))


def test_a_leader_ends_nearer_to_what_it_names_than_to_what_stands_round_it():
    view = View(1000.0, "1:1000", 0.0, 0.0, SIDE_MM, SIDE_MM, (SIDE_MM / 2, SIDE_MM / 2))
    canvas = Canvas(view, METRIC)
    middle, radius = (45.0, 45.0), 1.9
    around = [(45.0 + dx, 45.0 + dy) for dx in (-2.2, 2.2) for dy in (-2.2, 2.2)]
    for at in around:
        canvas.symbol(Symbol("coil", at, radius, "element", "0"))
    canvas.symbol(Symbol("crossing", middle, 1.6, "contour", "0"))
    assert canvas.put_around([Label(("S5",), 2.3, "text", "0")], middle, 1.6, stand_off=0.4)
    (path,) = paths_of(canvas)
    tip = Point(path.coords[-1])
    edges = [tip.distance(Point(*view.to_paper([at])[0])) - radius for at in around]
    assert tip.distance(Point(*view.to_paper([middle])[0])) < min(edges)


def test_no_other_name_stands_in_an_area_that_has_its_own_while_there_is_room_elsewhere():
    canvas = Canvas(View(1000.0, "1:1000", 0.0, 0.0, 90.0, 90.0, (45.0, 45.0)), METRIC)
    house = box(30.0, 30.0, 60.0, 60.0)
    canvas.keep_for_own_names([house])
    label = Label(("DRIVE",), 2.3, "text", "0")
    inside = Candidate(canvas.paper((45.0, 45.0)))
    outside = Candidate(canvas.paper((20.0, 45.0)), cost=500.0)
    assert canvas.put(label, [inside, outside])
    assert canvas.put(label, [inside])
    first, second = (item for item in canvas.primitives if isinstance(item, Text))
    assert not house.contains(Point(first.at))
    assert house.contains(Point(second.at))


@pytest.mark.parametrize(("most", "makes_way"), [(HARD, False), (250.0, True)])
def test_a_label_makes_way_for_one_whose_leader_would_cross_two_symbols(most, makes_way):
    canvas = Canvas(View(1000.0, "1:1000", 0.0, 0.0, 90.0, 30.0, (45.0, 15.0)), METRIC)
    places = [canvas.paper(at) for at in ((20.0, 10.0), (20.0, 20.0), (70.0, 10.0))]
    free = [Point(place).buffer(8.0, cap_style="square") for place in places]
    window = box(0.0, 0.0, 90.0, 30.0)
    canvas.placer.add_area(window.difference(union_all(free)), HARD, leader_cost=0.0)
    symbols = [(47.0, 10.0), (53.0, 10.0)]
    for at in symbols:
        canvas.symbol(Symbol("tie", at, 1.1, "element", "0"))
    low, high, right = places
    one, other = canvas.paper((40.0, 20.0)), canvas.paper((40.0, 10.0))
    for name, spot, second in (("ONE", one, high), ("TWO", other, right)):
        near = [Candidate(low, leader=spot), Candidate(second, cost=1.0, leader=spot)]
        label = Label((name,), 2.3, "text", "0")
        assert canvas.put(label, near, most=most, makes_way=makes_way)
    drawn = union_all([Point(canvas.paper(at)).buffer(1.0) for at in symbols])
    assert len(paths_of(canvas)) == 2
    assert not any(path.intersects(drawn) for path in paths_of(canvas))
