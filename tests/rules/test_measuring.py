"""What a way of measuring adds to a rule's distance, by sizes that anybody can add up."""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import LineString, Point, box

from siteplan.rule_books.model import Rule
from siteplan.rules.measuring import (
    Measuring,
    along_whole_bore,
    margin_of,
    measured_shape,
    measuring_of,
)
from siteplan.site.model import Feature
from siteplan.site.readers.site_file import read_site
from siteplan.vocabulary.kinds import kinds

FT = 0.3048
GAS = Feature("gas", "gas line", LineString([(0, 0), (9, 0)]), width_m=0.2)
SIZES = Measuring(machine_m=4.0, strip_m=3.0, header_m=0.3)


def rule(subject: str, measure: str = "nearest part", distance_m: float = 3.0) -> Rule:
    plain = Rule("r", subject, ("bore",), distance_m, "3 m", "b", "s")
    return dataclasses.replace(plain, measure=measure)


def test_a_line_is_measured_from_its_side_and_a_header_from_the_side_of_its_trench() -> None:
    # 3 m, and half of 0.2 m of pipe, and half of 0.6 m of trench
    beside = SIZES.beside(rule("gas line", "alongside"), GAS)
    assert beside == pytest.approx(3.4)
    # across a strip of that width at 45 degrees the way is longer by the root of two
    leaving = SIZES.leaving(rule("gas line", "alongside"), GAS)
    assert leaving == pytest.approx(3.4 * math.sqrt(2))


def test_a_strip_that_ends_before_the_distance_does_asks_for_nothing_more() -> None:
    # 3 m from a pond, which the strip must not open: a strip of 2 m does not reach it
    assert Measuring(strip_m=2.0).strip_if(rule("pond")) == 0.0
    assert Measuring(strip_m=5.0).strip_if(rule("pond")) == 2.0


def test_the_strip_is_asked_about_by_what_the_kind_says_of_it() -> None:
    # a strip of 5 m, 3 m from the thing: kept off whole, not to open it, or free to do so
    strips = {"distance": 5.0, "opening": 2.0, "free": 0.0}
    for name, kind in kinds().items():
        assert Measuring(strip_m=5.0).strip_if(rule(name)) == strips[kind.strip], name
    assert {kind.strip for kind in kinds().values()} == set(strips)


def test_the_machine_counts_only_where_the_rule_keeps_the_machine_off() -> None:
    line = "overhead power line"
    assert SIZES.extra(rule(line, "machine"), "bore", 0.1) == 4.0
    assert SIZES.extra(rule(line), "bore", 0.1) == 0.0
    # beside a line the header's own half width counts until the machine reaches farther
    assert SIZES.extra(rule(line, "alongside"), "header", 0.0) == 0.3
    assert SIZES.extra(rule(line, "machine alongside"), "header", 0.0) == 4.0


def test_of_a_trench_the_strip_or_the_machine_counts_whichever_reaches_farther() -> None:
    assert SIZES.extra(rule("building", "machine"), "trench", 0.3) == 4.0
    assert SIZES.extra(rule("building"), "trench", 0.3) == 3.0


def test_a_distance_from_the_centre_takes_the_radius_off() -> None:
    assert SIZES.extra(rule("potable well", "centre"), "bore", 0.1) == -0.1
    # a trench has no centre
    assert SIZES.extra(rule("potable well", "centre"), "trench", 0.3) >= 0.0


def test_where_no_size_is_known_nothing_is_added() -> None:
    for measure in ("nearest part", "machine", "alongside", "machine alongside"):
        for part in ("bore", "trench", "header"):
            assert Measuring().extra(rule("gas line", measure), part, 0.1) == 0.0


def test_sloped_sides_and_half_a_header_trench_are_what_a_site_measures_with(
    lot_text: str, write_site: Callable[..., Path]
) -> None:
    # soil B 6 ft deep: slope 1 to 1 (29 CFR 1926 Subpart P App. B), so 6 ft beyond each side
    sloped = '[horizontal]\ndepth = "6 ft"\nwidth = "2 ft"\nsoil = "B"\nprotection = "slope"\n'
    site = read_site(write_site(lot_text + sloped))
    measuring = measuring_of(site)
    assert measuring.strip_m == pytest.approx(6 * FT)
    # a header trench is 2 ft wide: pipes 12 in apart, 6 in to each side
    assert measuring.header_m == pytest.approx(1 * FT)


def test_a_roof_counts_where_the_rule_measures_to_it() -> None:
    house = Feature("house", "building", box(0, 0, 10, 10), overhang_m=0.5)
    assert margin_of(house, rule("building", "overhang")) == 0.5
    assert margin_of(house, rule("building")) == 0.0
    assert measured_shape(house, rule("building")).bounds == (0, 0, 10, 10)
    roof = measured_shape(house, rule("building", "overhang")).bounds
    assert roof == pytest.approx((-0.5, -0.5, 10.5, 10.5), abs=1e-3)


def test_from_wells_and_by_word_of_a_rule_a_leaning_bore_keeps_off_all_the_way_down() -> None:
    well = Feature("w", "potable well", Point(0, 0))
    assert along_whole_bore(rule("potable well"), well)
    assert not along_whole_bore(rule("gas line"), GAS)
    assert not along_whole_bore(rule("property line"), None)
    assert along_whole_bore(rule("property line", "whole bore"), None)


def test_a_line_reaches_half_its_width_and_a_roof_its_overhang_where_that_is_asked() -> None:
    assert margin_of(GAS, rule("gas line")) == pytest.approx(0.1)
    around = measured_shape(GAS, rule("gas line"))
    assert around.distance(Point(4.0, 3.0)) == pytest.approx(2.9)
    roofed = Feature("h", "building", box(0, 0, 10, 8), overhang_m=0.6)
    assert margin_of(roofed, rule("building", "overhang")) == pytest.approx(0.6)
    assert margin_of(roofed, rule("building")) == 0.0
    assert measured_shape(roofed, rule("building")) is roofed.shape
