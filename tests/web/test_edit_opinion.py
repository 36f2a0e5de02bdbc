"""The second opinion on what is drawn, while something moves over the lot."""

from __future__ import annotations

import random
import time
from dataclasses import replace
from datetime import date

import pytest
import shapely
from places import SAMPLES
from planned import unweighed
from shapely import affinity

from siteplan.checks.check import check_layout
from siteplan.checks.separations import separations
from siteplan.site.readers.site_file import read_site, site_from
from siteplan.web.opinion import Opinion

FAR_M = 15.0
"""How far a thing is moved at most [m]."""
FOOT = 0.3048
SHAPES = ("Point", "LineString", "Polygon")
SAMPLE = {"rural-acre": "horizontal", "small-suburban": "vertical", "mill-pond": "pond"}


def opinion_on(site, system) -> Opinion:
    plan = unweighed(site, system)
    return Opinion.unpacked(Opinion.packed(plan.lot.site, plan.lot.rules, plan.drawn))


def points_of(shape) -> list[list[float]]:
    ring = shape.exterior if shape.geom_type == "Polygon" else shape
    points = shapely.get_coordinates(ring).tolist()
    return points[:-1] if shape.geom_type == "Polygon" else points


def broken_on_the_whole_lot(opinion: Opinion, name: str, shape) -> set[tuple]:
    """What the checks of a plan find where one thing has another shape."""
    features = tuple(
        replace(each, shape=shape) if each.id == name else each for each in opinion.site.features
    )
    site = replace(opinion.site, features=features)
    rows = separations(site, opinion.layout, opinion.rules)
    findings = check_layout(site, opinion.layout, rows, 0.0)
    broken = {
        (*(round(x, 6) for x in row.element_point), *(round(x, 6) for x in row.feature_point))
        for row in rows if not row.meets
    }  # fmt: skip
    codes = [each.code for each in findings if each.severity == "error"]
    return broken | {(code,) for code in codes if code not in ("separation", "length")}


@pytest.mark.parametrize("name", SAMPLE)
def test_what_moves_alone_is_measured_and_the_answer_is_that_of_the_whole_lot(name):
    opinion = opinion_on(read_site(SAMPLES / name / "site.toml"), SAMPLE[name])
    rng, seen = random.Random(name), 0
    movable = [each for each in opinion.site.features if each.shape.geom_type in SHAPES]
    for feature in movable:
        for _ in range(3):
            away = rng.uniform(-FAR_M, FAR_M), rng.uniform(-FAR_M, FAR_M)
            shape = affinity.translate(feature.shape, *away)
            told = opinion.of_moved({feature.id: points_of(shape)})
            expected = broken_on_the_whole_lot(opinion, feature.id, shape)
            places = {
                tuple(round(axis, 6) for point in pair for axis in point) for pair in told["places"]
            }
            assert places == {each for each in expected if len(each) > 1}, feature.id
            assert bool(told["broken"]) == bool(expected), feature.id
            seen += bool(expected)
    assert seen > 2


def many_trees(count: int):
    """A lot of 500 by 500 ft with rows of trees along its south, and bores wanted."""
    tree = {"kind": "tree"}
    return site_from({
        "project": {"title": "t", "owner": "o", "date": date(2026, 1, 31), "units": "ft"},
        "geometry": {"parcel": [[0, 0], [500, 0], [500, 500], [0, 500]]},
        "feature": [
            {"id": "house", "kind": "building",
             "area": [[200, 200], [240, 200], [240, 230], [200, 230]]},
            {"id": "well", "kind": "potable well", "at": [300, 420]},
            *({"id": f"t{n}", **tree, "at": [4 + n % 100 * 4, 4 + n // 100 * 6]}
              for n in range(count)),
        ],
        "exchanger": {"system": "vertical", "length": {"given": "900 ft", "by": "a designer"}},
    })  # fmt: skip


@pytest.mark.thorough
def test_on_a_lot_of_two_thousand_things_it_takes_as_long_as_on_a_small_one():
    site = many_trees(100)
    small = opinion_on(site, "vertical")
    crowd = many_trees(2000)
    # the trees of both lots lie far from the bores, which are laid out on the small one
    large = replace(small, site=replace(small.site, features=crowd.features))
    at = {"well": [shapely.get_coordinates(small.layout.elements[0].axis)[0].tolist()]}
    times = {}
    for name, opinion in (("small", small), ("large", large)):
        assert "bore B1 lies on well; 50.0 ft asked" in opinion.of_moved(at)["broken"][0]["what"]
        began = time.process_time()
        for _ in range(10):
            opinion.of_moved(at)
        times[name] = time.process_time() - began
    assert times["large"] < 2 * times["small"]


def test_a_corner_of_the_lot_that_is_drawn_in_is_told_at_once():
    small = opinion_on(many_trees(0), "vertical")
    x = shapely.get_coordinates(small.layout.elements[0].axis)[0][0]
    # common practice: 10 ft from the property line to a bore; here it runs 5 ft beside one
    west = x - 5 * FOOT
    lot = [[west, 0.0], [500 * FOOT, 0.0], [500 * FOOT, 500 * FOOT], [west, 500 * FOOT]]
    told = small.of_moved({"parcel": lot})["broken"]
    assert any("outside of the property line; 10.0 ft asked" in each["what"] for each in told)
    assert small.of_moved({"parcel": points_of(small.site.parcel)})["broken"] == []


def test_all_that_is_too_near_is_told_to_be_wrong_and_nothing_else():
    opinion = opinion_on(read_site(SAMPLES / "small-suburban" / "site.toml"), "vertical")
    # common practice: 10 ft from a tree to a bore; the beech stands on the first one
    (x, y) = opinion.layout.elements[0].axis.coords[0]
    told = opinion.of_moved({"beech": [[x + 0.5, y]]})
    near = [
        each.axis.coords[0] for each in opinion.layout.elements
        if each.axis.distance(shapely.Point(x + 0.5, y)) < 10 * FOOT
    ]  # fmt: skip
    rings = [tuple(ring[0]) for ring in told["wrong"] if len(ring) == 1]
    assert sorted(rings) == [pytest.approx(each, abs=1e-3) for each in sorted(near)]


def test_what_is_dragged_onto_the_house_is_told_until_it_is_off_it():
    opinion = opinion_on(read_site(SAMPLES / "small-suburban" / "site.toml"), "vertical")
    house, shed = opinion.site.of_kind("building")
    (x, y), (to_x, to_y) = shed.shape.centroid.coords[0], house.shape.centroid.coords[0]
    for share, on in ((0.0, False), (1.0, True)):
        there = affinity.translate(shed.shape, share * (to_x - x), share * (to_y - y))
        told = opinion.of_moved({shed.id: points_of(there)})["overlaps"]
        assert [each["things"] for each in told] == [[shed.id, house.id]] * on
