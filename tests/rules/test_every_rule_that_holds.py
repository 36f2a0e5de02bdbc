"""Of several rules that hold, each is kept and measured its own way, and the worst is shown.

The judge is written with plain shapely: it reads every rule of the books and of the site file,
and measures each element by each of them with nothing but distances of drawn shapes.
"""

from __future__ import annotations

import dataclasses
import math
from collections.abc import Callable, Iterator, Mapping
from datetime import date
from pathlib import Path
from typing import Any

import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import LineString, Point

from siteplan.available.area import available_area, why_not
from siteplan.checks.check import check_layout
from siteplan.checks.model import Separation
from siteplan.checks.separations import separations
from siteplan.layout.elements import Bore, Element, Trench, Well
from siteplan.layout.model import Header, Layout
from siteplan.plan import lay_out
from siteplan.rule_books.loader import load_book
from siteplan.rule_books.model import Part, Rule
from siteplan.rules.conditions import binds, certain
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Entry, Feature, Site
from siteplan.site.readers.site_file import read_site, site_from

FT = 0.3048
BAND = 0.01
"""Offsets lie outside the true arc by up to so much on this lot [m]."""
ENTERED = -math.inf
"""What is left to spare where an element lies in the thing: how far is not judged [m]."""
BOOKS = (
    "delaware", "hanover-township-pa", "laporte-county-in", "maine", "minnesota",
    "mission-hills-ks", "nebraska", "texas", "washington",
)  # fmt: skip
MEASURES = ("nearest part", "centre", "casing", "overhang", "machine", "whole bore")
KINDS = ("building", "potable well", "gas line", "drainfield", "septic tank")
PARTS: tuple[Part, ...] = ("bore", "trench", "supply well", "return well")
DEEP = ("potable well",)
"""Kinds from which an inclined bore keeps off along its whole length, common practice."""


# --- the judge ---------------------------------------------------------------------------------


def holding(site: Site, part: Part, feature: Feature | None) -> list[Rule]:
    """Every rule that keeps a part off a feature, as docs/rule-books.md says how they stack."""
    books = [*site.books, "us-safety"]
    written = [*site.own_rules, *(rule for book in books for rule in load_book(book).rules)]

    def speak(rules: list[Rule]) -> list[Rule]:
        return [rule for rule in rules if part in rule.parts and speaks_of(rule, feature)]

    surely = [
        rule
        for rule in speak(written)
        if rule.book != "us-safety" and not rule.feature and rule.says == "at least"
        if feature is None or certain(rule.when, feature)
    ]
    usual = [] if surely else speak(list(load_book("common-practice").rules))
    return [*speak(written), *usual]


def speaks_of(rule: Rule, feature: Feature | None) -> bool:
    if rule.says not in ("at least", "not allowed"):
        return False
    if feature is None:
        return rule.subject == "property line"
    if rule.feature:
        return rule.feature == feature.id
    return rule.subject == feature.kind and binds(rule.when, feature)


def margin(site: Site, element: Element, feature: Feature | None, rule: Rule) -> float:
    """What one rule leaves to spare between an element and a thing; else `ENTERED` [m]."""
    whole = rule.measure == "whole bore" or (feature is not None and feature.kind in DEEP)
    ground = element.course if whole else element.near_surface
    if feature is None:
        away = site.parcel.boundary.distance(ground)
    else:
        away = feature.shape.distance(ground) - feature.width_m / 2
        if rule.measure == "overhang":
            away -= feature.overhang_m
    if away <= BAND:
        return ENTERED
    if rule.measure != "centre" or isinstance(element, Trench):
        away -= element.reach_m
    if rule.measure == "machine":
        away -= site.exchanger.machine_reach_m
    return float(away) - rule.distance_m


def judged(site: Site, element: Element) -> Iterator[tuple[str, dict[Rule, float]]]:
    """Each thing with the rules that hold, and what each of them leaves [m]."""
    for feature in (None, *site.features):
        rules = holding(site, element.part, feature)
        if rules:
            name = "parcel" if feature is None else feature.id
            yield name, {rule: margin(site, element, feature, rule) for rule in rules}


# --- random lots and layouts -------------------------------------------------------------------


@st.composite
def own_rules(draw: Callable[..., Any]) -> list[dict[str, Any]]:
    """Own rules, most of them in pairs about the same that ask for nearly as much as another."""
    rules = []
    for _ in range(draw(st.integers(0, 3))):
        subject = draw(st.sampled_from((*KINDS, "building", "building", "property line")))
        parts = draw(st.lists(st.sampled_from(PARTS), min_size=2, max_size=4, unique=True))
        feet = draw(st.integers(0, 40))
        for more in draw(st.lists(st.integers(0, 12), min_size=1, max_size=2)):
            measure = draw(st.sampled_from(MEASURES))
            rules.append(
                {"from": subject, "for": parts, "measure": measure, "source": "a wish"}
                | {"distance": f"{feet + more} ft"}
            )
    return rules


@st.composite
def lots(draw: Callable[..., Any]) -> Site:
    """The small lot with an overhang, a wide line, clearances, several books and own rules."""
    features: list[dict[str, Any]] = [
        {"id": "house", "kind": "building", "area": [[60, 40], [100, 40], [100, 70], [60, 70]]},
        {"id": "well", "kind": "potable well", "at": [20, 180]},
        {"id": "gas", "kind": "gas line", "line": [[0, 110], [90, 120], [200, 100]]},
        {"id": "field", "kind": "drainfield", "area": [[150, 20], [190, 20], [190, 50]]},
        {"id": "tank", "kind": "septic tank", "at": [130, 40]},
    ]
    features[0]["overhang"] = draw(st.integers(0, 12))
    features[1]["use"] = draw(st.sampled_from(("private", "public")))
    features[2]["width"] = draw(st.sampled_from((0, 1, 3)))
    for feature in features:
        if draw(st.booleans()):
            feature["clearance"] = draw(st.integers(0, 40))
    return site_from(
        {
            "project": {"title": "t", "owner": "o", "date": date(2026, 1, 2), "units": "ft"},
            "geometry": {"parcel": [[0, 0], [200, 0], [200, 200], [0, 200]]},
            "feature": features,
            "entry": [{"id": "E", "at": [80, 70]}],
            "exchanger": {"capacity": "2 ton", "machine_reach": draw(st.sampled_from((1, 5)))},
            "staking": {"allowance": 0},
            "rules": {
                "books": draw(st.lists(st.sampled_from(BOOKS), max_size=3, unique=True)),
                "own": draw(own_rules()),
            },
        }
    )


@st.composite
def elements(draw: Callable[..., Any]) -> tuple[Element, ...]:
    """Bores, upright and inclined, trenches and wells anywhere on the lot."""
    place = st.integers(4, 196).map(lambda feet: feet * FT)
    made: list[Element] = []
    for number in range(draw(st.integers(1, 6))):
        x, y, name = draw(place), draw(place), f"X{number}"
        kind = draw(st.sampled_from(("bore", "inclined", "trench", "supply", "return")))
        if kind == "trench":
            made.append(Trench(name, LineString([(x, y), (draw(place), y + 1.0)]), 0.6, 1.5, 2))
        elif kind in ("bore", "inclined"):
            tilt = 15.0 if kind == "inclined" else 0.0
            made.append(Bore(name, x, y, 0.5, 60.0, tilt, draw(st.integers(0, 359))))
        else:
            made.append(Well(name, x, y, 0.5, 30.0, kind))  # type: ignore[arg-type]
    return tuple(made)


def layout_of(made: tuple[Element, ...]) -> Layout:
    return Layout("vertical", made, None, 0.1, 0.0)


# --- the random test ---------------------------------------------------------------------------


@settings(max_examples=several(50, 1000))
@given(site=lots(), made=elements())
def test_the_check_shows_the_worst_of_all_rules_that_hold(
    site: Site, made: tuple[Element, ...]
) -> None:
    rules = rules_of(site)
    ruled = [row for row in separations(site, layout_of(made), rules) if row.rule.says != "at most"]
    ruled = [row for row in ruled if row.rule.parts]
    rows = {(row.part, row.rule): row for row in ruled}
    assert len(rows) == len(ruled)
    pairs = {(one.id, name): margins for one in made for name, margins in judged(site, one)}
    for row in ruled:
        # every row tells what the judge measures by the same rule between the same two, and no
        # other rule leaves less there
        margins = pairs[row.element, row.feature]
        assert {row.rule, *row.others} == set(margins)
        if ENTERED in margins.values():
            assert row.spare_m < BAND
            continue
        assert row.spare_m == pytest.approx(margins[row.rule], abs=BAND)
        assert row.spare_m <= min(margins.values()) + BAND
    parts = {one.id: one.part for one in made}
    for (element, _), margins in pairs.items():
        # and no pair is left out: the rule that leaves least has a row that leaves no more
        worst = min(margins.values())
        if worst == ENTERED:
            continue
        ties = [rule for rule, left in margins.items() if left <= worst + BAND]
        shown = [rows[key].spare_m for rule in ties if (key := (parts[element], rule)) in rows]
        assert shown
        assert min(shown) <= worst + BAND
    assert_findings(site, made, ruled, pairs)


def assert_findings(
    site: Site,
    made: tuple[Element, ...],
    ruled: list[Separation],
    pairs: Mapping[tuple[str, str], Mapping[Rule, float]],
) -> None:
    """An error where a rule is broken, and none where all are kept."""
    errors = [
        one for one in check_layout(site, layout_of(made), ruled, 0.0) if one.code == "separation"
    ]
    broken = [margin for margins in pairs.values() for margin in margins.values()]
    if min(broken) < -BAND:
        assert errors
    if min(broken) > BAND:
        assert not errors


NEAR = st.one_of(
    st.tuples(st.integers(2, 198), st.integers(2, 198)),
    st.tuples(st.integers(35, 125), st.integers(15, 95)),
)
"""Places on the lot, half of them near the house [ft]."""


@settings(max_examples=several(20, 500))
@given(site=lots(), places=st.lists(NEAR, min_size=20, max_size=40))
def test_the_area_is_the_ground_where_every_rule_that_holds_is_kept(
    site: Site, places: list[tuple[int, int]]
) -> None:
    rules, reach = rules_of(site), 0.25
    areas = {
        part: available_area(site, rules, part, reach_m=reach).shape
        for part in ("bore", "supply well", "return well")
    }
    for x, y in places:
        for part, area in areas.items():
            role: Any = part.removesuffix(" well")
            spot = (x * FT, y * FT, 2 * reach)
            one = Bore("X", *spot, 60.0) if part == "bore" else Well("X", *spot, 30.0, role)
            left = min(min(margins.values()) for _, margins in judged(site, one))
            if abs(left) > BAND:
                assert area.covers(Point(one.x_m, one.y_m)) == (left > 0), (part, x, y, left)


# --- by hand -----------------------------------------------------------------------------------

OVERHANG = """\
[project]
title = "t"
owner = "o"
date = 2026-01-02
units = "ft"

[geometry]
parcel = [[0, 0], [95, 0], [95, 120], [0, 120]]

[[feature]]
id = "house"
kind = "building"
area = [[10, 10], [85, 10], [85, 60], [10, 60]]
overhang = "8 ft"

[[entry]]
at = [50, 60]

[exchanger]
system = "open"

[open]
flow = "9 gpm"
yield = "15 gpm"
separation = "50 ft"

[rules]
books = ["laporte-county-in"]

[staking]
allowance = "0 ft"

[[rules.own]]
from = "building"
for = ["supply well", "return well"]
distance = "12 ft"
source = "a wish"
"""


@pytest.fixture
def house(write_site: Callable[..., Path]) -> Site:
    return read_site(write_site(OVERHANG))


def test_a_well_keeps_off_the_overhang_though_the_wall_has_the_greater_number(house: Site) -> None:
    # LaPorte County: 10 ft from an overhang of 8 ft, 18 ft from the wall; the own 12 ft are less
    trial = lay_out(house, "open")
    assert trial.layout is not None
    walls = house.of_kind("building")[0].shape
    # the county's row is of wells that give drinking water: the supply well
    wells = [one for one in trial.layout.elements if isinstance(one, Well) and one.role == "supply"]
    assert min(one.footprint.distance(walls) - one.reach_m for one in wells) >= 18 * FT - 1e-3
    rows = [
        row
        for row in trial.separations
        if (row.part, row.rule.subject) == ("supply well", "building")
    ]
    assert {row.rule.measure for row in rows} == {"overhang"}
    assert all([other.printed for other in row.others] == ["12 ft"] for row in rows)


def test_the_check_refuses_a_well_four_feet_from_the_overhang(house: Site) -> None:
    well = Well("S", 50 * FT, (60 + 12 + 0.25) * FT, 0.5 * FT, 30.0, "supply")
    layout = Layout("open", (well,), None, 6.0, 0.0)
    rows = separations(house, layout, rules_of(house))
    errors = [one for one in check_layout(house, layout, rows, 0.0) if one.code == "separation"]
    # 12 ft from the wall less the 8 ft of the overhang
    (error,) = [one for one in errors if one.values["kind"] == "building"]
    assert error.measured_m == pytest.approx(4 * FT, abs=1e-6)
    assert error.required_m == pytest.approx(10 * FT)


def test_a_greater_number_from_the_centre_asks_for_less_than_the_edge(house: Site) -> None:
    # edge of a bore 2 ft across: 10 ft from its centre are 9 ft, 9.5 ft from its edge are more
    centre, edge = (
        Rule(name, "building", ("bore",), feet * FT, f"{feet} ft", "b", "s", measure=measure)
        for name, feet, measure in (("c", 10.0, "centre"), ("e", 9.5, "nearest part"))
    )
    rules = dataclasses.replace(rules_of(house), rules=(centre, edge))
    wall = house.of_kind("building")[0]
    assert rules.deciding("bore", wall, 1 * FT) == edge
    area = available_area(house, rules, "bore", reach_m=1 * FT).shape
    assert area.distance(wall.shape) == pytest.approx(10.5 * FT, abs=1e-6)
    bore = Bore("B1", 50 * FT, (60 + 10.2) * FT, 2 * FT, 60.0)
    (row,) = [
        row for row in separations(house, layout_of((bore,)), rules) if row.feature == "house"
    ]
    assert (row.rule, row.others, row.meets) == (edge, (centre,), False)
    assert row.provided_m == pytest.approx(9.2 * FT, abs=1e-6)


def test_relaxing_one_rule_uncovers_the_next(house: Site) -> None:
    rules, wall = rules_of(house), house.of_kind("building")[0]
    overhang = rules.deciding("supply well", wall)
    assert overhang is not None
    without = rules.without(overhang)
    next_one = without.deciding("supply well", wall)
    assert (overhang.printed, next_one and next_one.printed) == ("10 ft", "12 ft")
    # 12 ft from the wall instead of 8 + 10 ft
    area = available_area(house, without, "supply well").shape
    assert area.distance(wall.shape) == pytest.approx(12 * FT, abs=1e-6)


def test_why_not_names_each_rule_that_is_broken(house: Site) -> None:
    near = why_not(house, rules_of(house), "supply well", 50 * FT, 70 * FT)
    # 10 ft from the wall: 2 ft from the overhang
    assert [(one.rule and one.rule.printed, one.distance_m / FT) for one in near] == [
        ("12 ft", pytest.approx(10)),
        ("10 ft", pytest.approx(2)),
    ]


def test_own_rules_from_one_kind_of_thing_are_told_apart(write_site: Callable[..., Path]) -> None:
    more = '[[rules.own]]\nfrom = "building"\ndistance = "{} ft"\nsource = "x"\n'
    site = read_site(write_site(OVERHANG + more.format(14) + more.format(15)))
    assert [rule.id for rule in site.own_rules] == ["building", "building-2", "building-3"]
    rules, wall = rules_of(site), site.of_kind("building")[0]
    asked = [rule.printed for rule in rules.without(site.own_rules[2]).holding("bore", wall)]
    assert asked == ["14 ft"]


def test_own_rule_from_an_overhang_is_no_relaxation_of_common_practice(
    write_site: Callable[..., Path],
) -> None:
    # common practice keeps a bore 10 ft from a building: 8 ft from an overhang of 8 ft are more,
    # 4 ft from one of 4 ft are less
    own = '\n[[rules.own]]\nfrom = "building"\nmeasure = "overhang"\ndistance = "{0} ft"\n'
    text = OVERHANG.partition("\n[rules]")[0].replace('system = "open"', 'capacity = "1 ton"')
    text = text.replace("[open]", "[vertical]\ndepth = 300").replace(
        'flow = "9 gpm"\nyield = "15 gpm"\n', ""
    )
    text = text.replace('separation = "50 ft"\n', "")
    told = []
    for feet in (8, 4):
        changed = text.replace("8 ft", f"{feet} ft") + own.format(feet) + 'source = "x"\n'
        trial = lay_out(read_site(write_site(changed)), "vertical")
        told.append([one.subject for one in trial.findings if one.code == "relaxed"])
    assert told == [[], ["building"]]


def test_a_header_is_measured_by_the_lesser_rule_where_it_leaves_the_greater(
    house: Site,
) -> None:
    # 10 ft beside the line allow 10 / sin 45 = 14 ft to leave it; within these the pipe runs
    # along for 9 ft at 1.5 ft, and 3 ft beside the line allow 4.2 ft only
    line = Feature("gas", "gas line", LineString([(0, 90 * FT), (95 * FT, 90 * FT)]))
    site = dataclasses.replace(house, features=(*house.features, line))
    pair = tuple(
        Rule(name, "gas line", ("header",), feet * FT, f"{feet} ft", "b", "s", measure="alongside")
        for name, feet in (("far", 10), ("near", 3))
    )
    rules = dataclasses.replace(rules_of(site), rules=pair)
    rules = dataclasses.replace(rules, measuring=dataclasses.replace(rules.measuring, header_m=0.0))
    points = [(50, 60), (50, 91.5), (59, 91.5), (59, 112)]
    run = LineString([(x * FT, y * FT) for x, y in points])
    bore = Bore("B1", 59 * FT, 112 * FT, 0.1, 60.0)
    header = Header((run,), Entry("E", Point(50 * FT, 60 * FT)))
    layout = Layout("vertical", (bore,), header, 6.0, 0.0)
    (row,) = [row for row in separations(site, layout, rules) if row.feature == "gas"]
    assert (row.rule.id, row.meets) == ("near", False)
    assert row.provided_m == pytest.approx(1.5 * FT, abs=1e-6)
