"""Rows of the table of separations between parts, and from the house's rear, by every pair."""

from __future__ import annotations

import math
from itertools import combinations
from types import SimpleNamespace

import numpy as np
import pytest
import shapely
from shapely import LineString

from siteplan.checks.limits import limit_rows
from siteplan.layout.elements import Bore, Trench, Well
from siteplan.layout.model import Layout
from siteplan.rule_books.model import EACH_OTHER, Rule

HOUSE, STREET = shapely.box(20, 10, 32, 20), LineString([(-50, 0), (100, 0)])


def rule(part, distance_m, says="at least"):
    return Rule("r", EACH_OTHER, (part,), distance_m, "", "county", "s", says=says)


def rows(*elements, apart=(), back=None, rear=None):
    """Rows of elements, of the rules for parts of a kind, for wells and for the rear yard."""
    things = {"building": [SimpleNamespace(shape=HOUSE)], "street": [SimpleNamespace(shape=STREET)]}
    site = SimpleNamespace(parcel=shapely.box(0, 0, 60, 80), features=(), of_kind=things.get)
    told = {one.parts[0]: one for one in apart}
    rules = SimpleNamespace(
        depth_limits=lambda *_: (), apart=told.get, nearest_return=lambda: back,
        rear_yard=lambda part: rear if part == "bore" else None,
    )  # fmt: skip
    return list(limit_rows(site, Layout("vertical", elements, None, 6.0, 0.0), rules))


@pytest.mark.parametrize("count", [2, 7, 49, 50, 51, 300])
def test_of_many_bores_the_row_is_that_of_the_nearest_pair_of_all(count):
    at = np.random.default_rng(count).uniform(0, 200, (count, 2))
    bores = [Bore(f"B{k}", float(x), float(y), 0.15, 60.0) for k, (x, y) in enumerate(at)]
    (row,) = rows(*bores, apart=[rule("bore", 4.0)])
    nearest = min(
        combinations(range(count), 2), key=lambda pair: math.dist(at[pair[0]], at[pair[1]])
    )
    assert row.provided_m == pytest.approx(math.dist(at[nearest[0]], at[nearest[1]]))
    assert {row.element, row.feature} == {f"B{k}" for k in nearest}
    assert {row.element_point, row.feature_point} == {tuple(at[k]) for k in nearest}


@pytest.mark.parametrize("count", [2, 60])
def test_bores_that_lean_towards_each_other_are_measured_where_they_are_nearest(count):
    # from 10 m apart both lean by 5 degrees towards each other: 2 x 60 sin 5 = 10.5 m nearer
    pair = [
        Bore("A", 0.0, 0.0, 0.15, 50.0, 5.0, 90.0),
        Bore("B", 10.0, 0.0, 0.15, 50.0, 5.0, 270.0),
    ]
    far = [Bore(f"F{k}", 9.0 * k, 500.0, 0.15, 50.0) for k in range(count - 2)]
    (row,) = rows(*far, *pair, apart=[rule("bore", 4.0)])
    assert {row.element, row.feature} == {"A", "B"}
    assert row.provided_m == pytest.approx(10.0 - 2 * 50.0 * math.sin(math.radians(5.0)))


def test_each_kind_of_part_has_a_row_of_its_own_and_other_kinds_are_no_pair():
    trenches = [
        Trench(f"T{k}", LineString([(0, 3.5 * k), (30, 3.5 * k)]), 0.6, 1.5, 2) for k in range(3)
    ]
    bore = Bore("B1", 10.0, 1.0, 0.15, 60.0)
    found = rows(*trenches, bore, apart=[rule("trench", 3.0), rule("bore", 6.0)])
    assert [(row.part, row.provided_m) for row in found] == [("trench", pytest.approx(3.5))]
    assert rows(*trenches, bore) == []


def test_wells_are_measured_from_casing_to_casing_and_one_alone_is_not():
    supply, back = (
        Well("S", 0.0, 0.0, 0.3, 40.0, "supply"), Well("R", 12.0, 5.0, 0.1, 30.0, "return"),
    )  # fmt: skip
    asks = rule("return well", 10.0)
    (row,) = rows(supply, back, back=asks)
    # 12 and 5 m are 13 m from centre to centre, less 0.15 and 0.05 m
    assert row.provided_m == pytest.approx(12.8)
    assert (row.part, row.element, row.feature) == ("return well", "R", "S")
    assert rows(supply, back=asks) == []
    assert rows(supply, back) == []


def test_a_bore_lies_behind_the_house_as_far_as_its_foremost_part():
    # the house ends 20 m from the street; one bore leans forward by 30 degrees from 40 m: 15 m
    asks = rule("bore", 5.0, says="rear yard only")
    upright = Bore("U", 30.0, 34.0, 0.2, 60.0)
    leaning = Bore("L", 30.0, 50.0, 0.2, 30.0, 30.0, 180.0)
    (row,) = rows(upright, rear=asks)
    assert row.provided_m == pytest.approx(34.0 - 20.0 - 0.1)
    (row,) = rows(leaning, rear=asks)
    assert row.provided_m == pytest.approx(50.0 - 30.0 * math.sin(math.radians(30.0)) - 20.0 - 0.1)
    assert rows(Well("S", 30.0, 34.0, 0.3, 40.0, "supply"), rear=asks) == []
