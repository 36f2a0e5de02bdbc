"""Available area: the parcel less named keep-outs, exactly."""

from __future__ import annotations

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely

from siteplan.available import available_area, header_area, wall_entries
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Site
from siteplan.site.site_file import read_site

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
    assert before.area - after.area == pytest.approx(math.pi * (10 * FT) ** 2, rel=1e-3)


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
