"""Limits of depth that hold near a thing alone, and sizes that are kept within them."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
import shapely
from shapely import Point

from siteplan.rule_books.when import Range
from siteplan.rules.limits import deepest, limit_by

LOT = shapely.box(0, 0, 60, 40)


def rule(distance, *, within=None, measure="depth"):
    return SimpleNamespace(distance_m=distance, within=within, measure=measure)


def thing(x, y, casing=None):
    return SimpleNamespace(shape=Point(x, y), casing_m=casing)


def limited(features, of):
    """Deepest bore on a lot where a rule of depth is asked of each thing."""
    site = SimpleNamespace(parcel=LOT, features=features)
    rules = SimpleNamespace(depth_limits=of)
    found = deepest(site, rules, "bore")
    return None if found is None else found.depth_m


@pytest.mark.parametrize(
    ("place", "ring", "holds"),
    [
        # from the lot to (100, 20) it is 40 m; the corner farthest off is 102 m away
        ((100, 20), Range(0.0, 30.0), False),
        ((100, 20), Range(0.0, 41.0), True),
        ((100, 20), Range(50.0, 60.0), True),
        ((100, 20), Range(110.0), False),
        ((30, 20), Range(0.0, 5.0), True),
    ],
)
def test_a_limit_within_a_ring_holds_where_some_of_the_lot_lies_in_it(place, ring, holds):
    only = rule(50.0, within=ring)
    assert (limited([thing(*place)], lambda _, f: [only] if f else []) == 50.0) is holds


def test_a_limit_without_a_ring_holds_wherever_the_thing_stands():
    assert limited([thing(500, 0)], lambda _, f: [rule(50.0)] if f else []) == 50.0


def test_the_least_of_all_limits_is_kept_and_none_leaves_the_depth_open():
    depths = {None: [rule(90.0)]}
    things = [thing(1, 1), thing(2, 2)]
    limits = lambda _, f: depths[None] if f is None else [rule(70.0 if f is things[1] else 80.0)]  # noqa: E731
    assert limited(things, limits) == 70.0
    assert limited([], limits) == 90.0
    assert limited([], lambda *_: []) is None


def test_below_a_casing_the_limit_is_counted_from_its_foot():
    below = rule(30.0, measure="below casing")
    assert limit_by(below, thing(0, 0, casing=12.0)) == 42.0
    assert limit_by(below, thing(0, 0)) is None
    assert limit_by(below, None) is None
    assert limit_by(rule(30.0), thing(0, 0, casing=12.0)) == 30.0
    # a well that does not say its casing limits nothing by it
    assert limited([thing(0, 0)], lambda _, f: [below] if f else []) is None
