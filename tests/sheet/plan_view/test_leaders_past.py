"""Leaders of header points and pipe sizes: past buildings, and not along the header."""

from __future__ import annotations

import pytest
from legible import leaders, text_box
from planned import full_set
from planned import planned as planned_sample
from shapely import LineString, Point, Polygon, box
from shapely import transform as moved

from siteplan.sheet.model import Dimension, Polyline, Text, View
from siteplan.sheet.place.candidates import Candidate
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.place.label import Label
from siteplan.sheet.plan_view.measures import finish_dimension
from siteplan.sheet.plan_view.ways_past import WALL_MM, apart, houses_of, past
from siteplan.units.systems import METRIC

NAME = Label(("H4",), 2.05, "text-header", "0")
TARGET = (50.0, 50.0)


@pytest.fixture
def canvas() -> Canvas:
    """A window of 100 x 100 mm at 1 : 1000."""
    return Canvas(View(1000.0, "1:1000", 0.0, 0.0, 100.0, 100.0, (50.0, 50.0)), METRIC)


def shape_on(canvas: Canvas, low: tuple[float, float], high: tuple[float, float]):
    return box(*canvas.model(low), *canvas.model(high))


def test_a_leader_to_a_wall_comes_from_outside(canvas: Canvas) -> None:
    house = shape_on(canvas, (20.0, 40.0), (50.0, 60.0))
    inside = Candidate((10.0, 50.0), leader=TARGET)
    outside = Candidate((70.0, 50.0), leader=TARGET)
    beside = Candidate((55.0, 50.0))
    assert past([inside, outside, beside], NAME, canvas, house) == [outside, beside]


def test_no_name_of_the_header_stands_in_a_house(canvas: Canvas) -> None:
    house = shape_on(canvas, (20.0, 40.0), (50.0, 60.0))
    in_it, on_its_wall = Candidate((45.0, 50.0)), Candidate((50.0, 50.0), 90.0)
    assert past([in_it, on_its_wall], NAME, canvas, house) == []
    assert past([], NAME, canvas, house) == []


def test_a_leader_may_cross_a_header_but_not_lie_on_it(canvas: Canvas) -> None:
    run = LineString([canvas.model((10.0, 50.0)), canvas.model((90.0, 50.0))])
    along = Candidate((70.0, 50.0), leader=TARGET)
    across = Candidate((60.0, 70.0), leader=(58.0, 40.0))
    assert apart([along, across], NAME, canvas, [run]) == [across]


def test_no_name_of_a_header_point_is_led_through_the_house_of_the_well_pair() -> None:
    site, names = planned_sample("good-aquifer").site, set()
    for sheet in full_set("good-aquifer"):
        walls = moved(houses_of(site), sheet.view.to_paper).buffer(-2 * WALL_MM)
        marked = [text for text in sheet.of_type(Text) if text.mark is not None]
        named = [text for text in marked if text.mark and text.mark.column == "header-point"]
        names.update(text.text for text in named)
        assert not any(text_box(text, sheet).intersects(walls) for text in named)
        assert not any(path.intersects(walls) for path in leaders(sheet))
    assert names >= {"H1", "H2", "H3", "H4"}


def test_no_figure_of_a_distance_stands_in_a_house_or_is_led_through_one() -> None:
    view = View(1000.0, "1:1000", 0.0, 0.0, 90.0, 90.0, (45.0, 45.0))
    house = box(30.0, 20.0, 60.0, 40.0)
    for walled in (True, False):
        canvas = Canvas(view, METRIC)
        canvas.houses = house if walled else Polygon()
        # a short distance to the wall, and no room beside it nor above
        for taken in (box(35, 43.5, 44, 60), box(46, 41, 55, 60), box(35, 46, 55, 60)):
            canvas.placer.add_area(taken)
        finish_dimension(canvas, ((45.0, 40.0), (45.0, 44.0)), "4.00 m")
        (drawn,) = (item for item in canvas.primitives if isinstance(item, Dimension))
        paths = [
            LineString(item.points)
            for item in canvas.primitives
            if isinstance(item, Polyline) and item.style == "leader"
        ]
        inside = house.contains(Point(drawn.text_at))
        through = any(path.intersection(house).length > 0.5 for path in paths)
        assert (inside or through) == (not walled)
