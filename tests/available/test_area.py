"""Available area: the parcel less named keep-outs, exactly."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely

from siteplan.available.area import available_area, header_area, wall_entries, why_not
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.rule_books.model import Rule
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

FT = 0.3048


@pytest.fixture
def site(lot_text: str, write_site: Callable[..., Path]) -> Site:
    return read_site(write_site(lot_text))


def test_each_cut_is_named(site: Site) -> None:
    area = available_area(site, rules_of(site), "bore")
    assert [(cut.feature, cut.rule.id) for cut in area.keep_outs] == [
        ("parcel", "property-line"),
        ("house", "building"),
        ("well", "potable-well"),
        ("field", "drainfield-bore"),
    ]


def test_a_bare_parcel_loses_exactly_the_setback(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    bare = lot_text.partition("[[feature]]")[0] + lot_text[lot_text.index("[exchanger]") :]
    site = read_site(write_site(bare))
    # 10 ft setback on all sides of 200 x 200 ft: 180 x 180 ft
    area = available_area(site, rules_of(site), "bore").shape.area
    assert area == pytest.approx((180 * FT) ** 2, rel=1e-9)


def test_a_hand_worked_area_with_house_and_well(site: Site) -> None:
    # Trench: 180 x 180 ft inside the lines, less house (40 x 30 ft widened by 10: rectangle
    # + 2 x 10 x (40 + 30) + pi 10^2), less field widened by 25 ft inside x 125-190, y 10-75,
    # its upper corner a quarter circle, its lower one cut 10 ft below the field's edge,
    # less the well's circle of 50 ft round (20, 180) cut at x 10 and y 190.
    house = 40 * 30 + 2 * 10 * 70 + math.pi * 100
    below = 25 * 10 - (10 / 2 * math.sqrt(25**2 - 10**2) + 25**2 / 2 * math.asin(10 / 25))
    field = 65 * 65 - (25**2 - math.pi * 25**2 / 4) - below
    line, root = 190.0 - 180.0, math.sqrt(50**2 - 10**2)
    # circle sector right of x = 10 and below y = 190: quarter + two strips to x = 10, y = 190
    strip = 10 * root / 2 + 50**2 / 2 * math.asin(10 / 50)
    well = math.pi * 50**2 / 4 + 2 * strip + line * 10
    expected = (180**2 - house - field - well) * FT**2
    area = available_area(site, rules_of(site), "trench").shape.area
    assert area == pytest.approx(expected, rel=2e-4)


@pytest.mark.parametrize("part", ["bore", "trench", "supply well"])
def test_no_point_of_the_area_is_nearer_than_its_rules_allow(site: Site, part: str) -> None:
    rules, reach = rules_of(site), 0.3
    shape = available_area(site, rules, part, reach_m=reach).shape  # type: ignore[arg-type]
    corners = shapely.points(shapely.get_coordinates(shapely.segmentize(shape, 0.5)))
    line = rules.deciding(part, None)  # type: ignore[arg-type]
    assert line is not None
    to_line = shapely.distance(corners, site.parcel.boundary)
    assert to_line.min() >= line.distance_m + reach - TOLERANCE
    for feature in site.features:
        rule = rules.deciding(part, feature)  # type: ignore[arg-type]
        assert rule is not None
        gaps = shapely.distance(corners, feature.shape)
        assert gaps.min() >= rule.distance_m + reach - TOLERANCE


def test_adding_a_feature_never_enlarges_the_area(
    site: Site, lot_text: str, write_site: Callable[..., Path]
) -> None:
    before = available_area(site, rules_of(site), "bore").shape
    tree = '[[feature]]\nkind = "tree"\nat = [120, 150]\n[exchanger]'
    more = read_site(write_site(lot_text.replace("[exchanger]", tree)))
    after = available_area(more, rules_of(more), "bore").shape
    assert after.difference(before).area == pytest.approx(0, abs=1e-9)
    # a circle drawn by tangents, at most half a centimetre outside it
    circle = math.pi * (10 * FT) ** 2
    assert circle <= before.area - after.area <= math.pi * (10 * FT + 0.005) ** 2


def test_the_header_may_come_up_to_the_wall_only_at_the_entry(site: Site) -> None:
    area = header_area(site, rules_of(site))
    assert area.distance(site.entries[0].point) <= TOLERANCE
    other_wall = shapely.Point(60 * FT, 55 * FT)
    assert area.distance(other_wall) == pytest.approx(1.0, abs=1e-6)
    house = site.of_kind("building")[0].shape
    assert area.intersection(house).area == pytest.approx(0, abs=1e-9)


def test_an_entry_inside_the_house_is_moved_to_its_wall(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(lot_text.replace("entry = [[80, 70]]", "entry = [[80, 65]]")))
    assert np.array(wall_entries(site)[0].point.coords[0]) == pytest.approx([80 * FT, 70 * FT])


def test_why_not_here_names_every_rule_and_nothing_where_all_are_kept(site: Site) -> None:
    rules = rules_of(site)
    # (80, 80) ft: 10 ft above the house, on its limit exactly
    assert why_not(site, rules, "bore", 80 * FT, 80 * FT) == ()
    near = why_not(site, rules, "bore", 55 * FT, 150 * FT)
    # centre of the well (20, 180): sqrt(35^2 + 30^2) = 46.1 ft, less than 50
    assert [(reason.feature, reason.rule.id if reason.rule else "") for reason in near] == [
        ("well", "potable-well")
    ]
    assert near[0].distance_m == pytest.approx(46.098 * FT, abs=1e-3)
    inside = why_not(site, rules, "trench", 80 * FT, 55 * FT)
    assert [reason.feature for reason in inside] == ["house"]
    outside = why_not(site, rules, "bore", -5 * FT, 50 * FT)
    assert [(reason.feature, reason.rule) for reason in outside] == [("parcel", None)]


def test_every_point_of_the_area_has_no_reason_against_it_and_every_other_has_one(
    site: Site,
) -> None:
    rules = rules_of(site)
    area = available_area(site, rules, "bore").shape
    rng = np.random.default_rng(3)
    for x, y in rng.uniform(-5, 66, (400, 2)):
        reasons = why_not(site, rules, "bore", x, y)
        point = shapely.Point(x, y)
        if area.contains(point):
            assert reasons == ()
        elif area.distance(point) > 0.01:  # outside the tangents of an arc, not between
            assert reasons, (x, y)


def test_the_area_under_all_rules_is_the_intersection_of_the_areas_under_each(
    site: Site,
) -> None:
    rules = rules_of(site)
    whole = available_area(site, rules, "bore")
    each = site.parcel
    for cut in whole.keep_outs:
        alone = dataclasses.replace(rules, rules=(cut.rule,))
        each = each.intersection(available_area(site, alone, "bore").shape)
    assert each.symmetric_difference(whole.shape).area == pytest.approx(0, abs=1e-6)


def test_an_added_rule_never_enlarges_the_area(site: Site) -> None:
    rules = rules_of(site)
    before = available_area(site, rules, "trench").shape
    stricter = Rule("x", "building", ("trench",), 9.0, "9 m", "this site", "a wish")
    more = dataclasses.replace(rules, rules=(*rules.rules, stricter))
    after = available_area(site, more, "trench").shape
    assert after.difference(before).area == pytest.approx(0, abs=1e-9)
    assert after.area < before.area


def test_a_sloped_trench_keeps_its_strip_not_its_pipe_from_line_and_house(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # 6 ft deep in soil C with a 2 ft bottom: 2 + 2 x 1.5 x 6 = 20 ft; its edge 10 ft from the line
    tables = '[horizontal]\ndepth = "6 ft"\nwidth = "2 ft"\nsoil = "C"\nprotection = "slope"\n'
    bare = lot_text.partition("[[feature]]")[0] + lot_text[lot_text.index("[exchanger]") :]
    site = read_site(write_site(bare + tables))
    area = available_area(site, rules_of(site), "trench", reach_m=1 * FT).shape
    assert area.area == pytest.approx(((200 - 2 * (10 + 10)) * FT) ** 2, rel=1e-9)


def test_an_overhang_is_measured_where_the_rule_says_so(site: Site) -> None:
    # WAC 173-160-171(3)(b)(i): from the nearest projection of the building
    house = dataclasses.replace(site.of_kind("building")[0], overhang_m=2 * FT)
    roofed = dataclasses.replace(site, features=(house,))
    rule = Rule("b", "building", ("bore",), 5 * FT, "5 ft", "x", "s", measure="overhang")
    rules = dataclasses.replace(rules_of(roofed), rules=(rule,))
    wall_side = why_not(roofed, rules, "bore", 106 * FT, 55 * FT)
    assert len(wall_side) == 1
    assert wall_side[0].distance_m == pytest.approx(4 * FT)
    assert why_not(roofed, rules, "bore", 107.01 * FT, 55 * FT) == ()
