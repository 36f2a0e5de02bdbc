"""Ground that the owner keeps or a neighbour lends, and slopes: what may be done there."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import Polygon

from siteplan.available.access import machine_ground, obstacle_of
from siteplan.available.area import why_not
from siteplan.available.prepared import lot_of
from siteplan.checks.access import access_findings
from siteplan.design.evaluate import Trial, try_system
from siteplan.findings.words import words_of
from siteplan.site.model import Feature, Site
from siteplan.site.readers.site_file import read_site

FT = 0.3048
LOT = """\
[project]
title = "Kept ground"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [100, 0], [100, 200], [0, 200]]

[[feature]]
id = "house"
kind = "building"
area = [[{left}, 60], [{right}, 60], [{right}, 90], [{left}, 90]]

[[feature]]
id = "road"
kind = "street"
line = [[-50, -20], [150, -20]]

{more}
[exchanger]
system = "vertical"
length = {{ given = "1000 ft", by = "test" }}
entry = [[50, 90]]
"""


def area(kind: str, corners: str) -> str:
    return f'[[feature]]\nid = "it"\nkind = "{kind}"\narea = [{corners}]\n'


@pytest.fixture
def site_with(write_site: Callable[..., Path]) -> Callable[..., Site]:
    def made(more: str, left: int = 40, right: int = 60) -> Site:
        return read_site(write_site(LOT.format(more=more, left=left, right=right)))

    return made


def tried(site: Site) -> Trial:
    return try_system(lot_of(site), "vertical")


def test_a_rig_gets_past_a_wide_house_over_ground_that_a_neighbour_lends(
    site_with: Callable[..., Site],
) -> None:
    # 4 ft beside the house pass no rig; 40 ft of the neighbour's ground along the lot do
    lent = area("lent ground", "[100, 0], [140, 0], [140, 200], [100, 200]")
    assert not tried(site_with("", left=4, right=96)).fits
    site = site_with(lent, left=4, right=96)
    made = tried(site)
    assert made.fits
    assert made.layout is not None
    assert made.layout.access is not None
    lent_shape = next(f.shape for f in site.features if f.kind == "lent ground")
    assert made.layout.access.path.intersects(lent_shape)
    assert not list(access_findings(site, made.layout))
    # nothing is drilled there: all bores stand on the lot
    assert all(site.parcel.covers(bore.footprint) for bore in made.layout.elements)


@pytest.mark.parametrize(
    ("kind", "driven"),
    [("planned addition", True), ("pool", False), ("garden", False), ("steep slope", False)],
)
def test_only_what_is_still_to_be_built_may_be_driven_over(kind: str, *, driven: bool) -> None:
    shape = Polygon([(0, 0), (9, 0), (9, 9), (0, 9)])
    assert obstacle_of(Feature("it", kind, shape)).is_empty is driven


@pytest.mark.parametrize("kind", ["planned addition", "pool", "garden"])
def test_nothing_is_dug_in_ground_that_the_owner_keeps(
    site_with: Callable[..., Site], kind: str
) -> None:
    site = site_with(area(kind, "[10, 120], [90, 120], [90, 160], [10, 160]"))
    rules = lot_of(site).rules
    for part in ("bore", "trench", "header"):
        named = {reason.feature for reason in why_not(site, rules, part, 50 * FT, 140 * FT)}
        assert named == {"it"}


def test_a_header_over_a_steep_slope_is_dug_by_hand(site_with: Callable[..., Site]) -> None:
    # the slope lies across the whole lot between the house and the back yard
    slope = area("steep slope", "[-1, 100], [101, 100], [101, 110], [-1, 110]")
    front = '[[rules.own]]\nfrom = "building"\nfor = ["bore"]\ndistance = "25 ft"\nsource = "t"\n'
    site = site_with(slope + front + '[rig]\naccess = "anywhere"\n')
    keep = [f for f in tried(site).findings if f.code == "crossing-by-hand"]
    assert [f.subject for f in keep] == ["it"]
    assert "dig it by hand" in words_of(keep[0], site.unit)
    assert machine_ground(site, "vertical") is None


def test_a_header_goes_round_a_steep_slope_where_that_digs_less(
    site_with: Callable[..., Site],
) -> None:
    # a slope 20 ft deep before the entry, 24 ft wide: round it is some 5 ft farther to bores behind
    # it, and over it 20 ft are dug by hand
    slope = area("steep slope", "[38, 100], [62, 100], [62, 120], [38, 120]")
    front = '[[rules.own]]\nfrom = "building"\nfor = ["bore"]\ndistance = "60 ft"\nsource = "t"\n'
    site = site_with(slope + front + '[rig]\naccess = "anywhere"\n')
    made = tried(site)
    assert made.layout is not None
    assert made.layout.header is not None
    steep = next(f.shape for f in site.features if f.kind == "steep slope")
    assert not any(run.intersects(steep) for run in made.layout.header.runs)
    assert not [f for f in made.findings if f.code == "crossing-by-hand"]
