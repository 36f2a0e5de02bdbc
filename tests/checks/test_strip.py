"""The strip that a sloped trench opens keeps off what it would undercut, in check and keep-outs.

Soil B, 6 ft deep, 2 ft wide: slope 1 to 1 (29 CFR 1926 Subpart P App. B Table B-1), so the strip
reaches 6 ft beyond each side and is 14 ft wide.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from pathlib import Path

import pytest
from shapely import LineString, Point

from siteplan.available.area import available_area
from siteplan.checks.separations import separations
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.model import Layout
from siteplan.plan import plan_site
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site
from siteplan.vocabulary.kinds import kinds

FT = 0.3048
SLOPED = '[horizontal]\ndepth = "6 ft"\nwidth = "2 ft"\nsoil = "B"\nprotection = "slope"\n'
Make = Callable[..., Site]


@pytest.fixture
def make(lot_text: str, write_site: Callable[..., Path]) -> Make:
    """Parcel of 200 ft by 200 ft with one more feature, trenches 6 ft deep with sloped sides."""

    def built(kind: str, where: str = "line = [[0, 150], [200, 150]]", more: str = "") -> Site:
        bare = lot_text.partition("[[feature]]")[0]
        feature = f'[[feature]]\nid = "thing"\nkind = "{kind}"\n{where}\n{more}'
        wanted = '[exchanger]\nlength = { given = "300 ft", by = "x" }\nentry = [[100, 12]]\n'
        return read_site(write_site(f"{bare}{feature}{wanted}{SLOPED}"))

    return built


def row_to(site: Site, north_ft: float, subject: str = "") -> Iterator[object]:
    """Separation of a trench whose middle runs east at a northing."""
    line = LineString([(40 * FT, north_ft * FT), (160 * FT, north_ft * FT)])
    layout = Layout("horizontal", (Trench("T1", line, 2 * FT, 6 * FT, 2),), None, 3.0, 0.0)
    rows = separations(site, layout, rules_of(site))
    return next(row for row in rows if subject in row.rule.subject and row.feature == "thing")


@pytest.mark.parametrize("kind", ["gas line", "water line", "electric line", "drain tile"])
def test_a_buried_line_is_measured_from_the_edge_of_the_strip(make: Make, kind: str) -> None:
    # middle at 130 ft, side at 131, edge of the strip at 137: 13 ft to the line at 150
    row = row_to(make(kind), 130.0)
    assert row.provided_m == pytest.approx(13 * FT)
    assert row.strip_m == pytest.approx(6 * FT)
    assert row.element_point[1] == pytest.approx(137 * FT)


def test_a_gas_line_inside_the_strip_is_not_kept(make: Make) -> None:
    # side at 138 ft, 12 ft off the line as the rule's 10 ft ask, but the strip's edge is 6 ft off
    assert not row_to(make("gas line"), 137.0).meets


def test_a_pond_keeps_its_distance_from_the_trench_that_its_strip_does_not_open(make: Make) -> None:
    # 25 ft asked, strip of 6 ft: side at 124 ft is 26 ft off the shore at 150
    shore = 'depth = "8 ft"\narea = [[20, 150], [180, 150], [180, 190], [20, 190]]'
    row = row_to(make("pond", shore), 123.0)
    assert row.provided_m == pytest.approx(26 * FT)
    assert row.strip_m == 0.0


def test_the_strip_does_not_open_an_easement(make: Make) -> None:
    # 0 ft asked: side at 145 ft, edge of the strip at 151
    area = "area = [[0, 150], [200, 150], [200, 160], [0, 160]]"
    row = row_to(make("easement", area), 144.0)
    assert row.provided_m == pytest.approx(-1 * FT)
    assert not row.meets


def test_the_strip_is_no_matter_under_a_power_line(make: Make) -> None:
    # 20 ft from the machine that reaches 5 ft beyond the side at 121 ft: 24 ft
    row = row_to(make("overhead power line"), 120.0)
    assert row.provided_m == pytest.approx(24 * FT)
    assert row.strip_m == 0.0


def test_upright_sides_are_measured_from_the_trench(make: Make) -> None:
    site = make("gas line")
    shield = replace(site.exchanger.horizontal, protection="shield")
    site = replace(site, exchanger=replace(site.exchanger, horizontal=shield))
    row = row_to(site, 130.0)
    assert row.provided_m == pytest.approx(19 * FT)
    assert row.strip_m == 0.0


def test_a_bore_opens_no_strip_whatever_the_soil_is(make: Make) -> None:
    site = make("gas line")
    bore = Bore("B1", 100 * FT, 130 * FT, 0.5 * FT, 60.0)
    rows = separations(site, Layout("vertical", (bore,), None, 6.0, 0.0), rules_of(site))
    assert {row.strip_m for row in rows} == {0.0}


def test_an_own_rule_from_the_centre_is_kept_from_the_side_of_a_trench(make: Make) -> None:
    own = '[[rules.own]]\nid = "c"\nfrom = "gas line"\nfor = ["trench"]\ndistance = "15 ft"\n'
    site = make("gas line", more=f'{own}measure = "centre"\nsource = "letter"\n')
    trial = next(one for one in plan_site(site).trials if one.system == "horizontal")
    assert trial.fits
    assert all(row.meets for row in trial.separations)


# a street on the lot would move the frontage
@pytest.mark.parametrize(
    "name", [n for n, k in kinds().items() if "line" in k.shapes and n != "street"]
)
def test_keep_out_and_check_agree_for_every_kind_of_line(make: Make, name: str) -> None:
    site = make(name)
    rules = rules_of(site)
    area = available_area(site, rules, "trench", reach_m=1 * FT).shape
    column = LineString([(100 * FT, 60 * FT), (100 * FT, 149 * FT)])
    nearest = area.intersection(column).bounds[3] / FT
    assert row_to(site, nearest - 1e-4).meets
    assert not row_to(site, nearest + 1e-3).meets
    assert not area.contains(Point(100 * FT, 149 * FT))


def test_the_limit_is_where_the_edge_of_the_strip_may_lie(make: Make) -> None:
    # 10 ft off the gas line; the centre line keeps 10 + 6 ft of strip + 1 ft of half a width
    site = make("gas line")
    area = available_area(site, rules_of(site), "trench", reach_m=1 * FT)
    limit = next(one for one in area.keep_outs if one.feature == "thing")
    assert limit.shape.bounds[1] == pytest.approx(140 * FT)
    below = LineString([(100 * FT, 60 * FT), (100 * FT, 149 * FT)]).intersection(area.shape)
    assert below.bounds[3] == pytest.approx(133 * FT)
