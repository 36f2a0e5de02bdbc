"""No name stands in ground that would be taken for what it names."""

from __future__ import annotations

from types import SimpleNamespace

from shapely import Point, box

from siteplan.sheet.model import Text, View
from siteplan.sheet.place.canvas import Canvas
from siteplan.sheet.plan_view.features import label_features
from siteplan.site.model import Feature
from siteplan.units.systems import METRIC


def places_of(*features: Feature) -> dict[str, Point]:
    """Where the names stand on a plan 1:1000 whose ground beside a drainfield is hatched."""
    canvas = Canvas(View(1000.0, "1:1000", 0.0, 0.0, 90.0, 90.0, (45.0, 45.0)), METRIC)
    canvas.placer.add_area(box(0, 0, 90, 90).difference(FIELD.shape), 20.0)
    label_features(canvas, SimpleNamespace(features=features, unit=METRIC))
    return {item.text: Point(item.at) for item in canvas.primitives if isinstance(item, Text)}


FIELD = Feature("field", "drainfield", box(40, 30, 70, 60))


def test_the_name_of_a_shed_does_not_stand_in_the_drainfield_beside_it():
    shed = Feature("shed", "building", box(35, 44, 38, 47), "SHED")
    found = places_of(shed, FIELD)
    assert not FIELD.shape.contains(found["SHED"])
    assert FIELD.shape.contains(found["DRAINFIELD"])


def test_the_name_of_what_stands_in_it_may_stand_there():
    tree = Feature("tree", "tree", Point(55, 45), "OAK")
    assert FIELD.shape.contains(places_of(tree, FIELD)["OAK"])
