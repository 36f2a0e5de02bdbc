"""The entry where the site file leaves the wall open, and what is said of one that it states."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import shapely.affinity
from planned import planned_once
from shapely import MultiPoint, Polygon
from shapely.geometry.base import BaseGeometry

from siteplan.design.entries import KEPT, _places
from siteplan.errors import InputError
from siteplan.findings.words import words_of
from siteplan.plan import SitePlan, plan_site
from siteplan.site.readers.site_file import read_site

FT = 0.3048

WIDE_HOUSE = """\
[project]
title = "Wide house"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [200, 0], [200, 200], [0, 200]]

[[feature]]
id = "house"
kind = "building"
area = [[6, 40], [194, 40], [194, 70], [6, 70]]

[exchanger]
system = "vertical"
length = { given = "7000 ft", by = "a designer" }
"""
"""The header keeps 1 m from walls and 5 ft from the property line: it cannot pass the house."""


def planned(write_site: Callable[..., Path], entry: str, feet: int = 7000) -> SitePlan:
    text = WIDE_HOUSE.replace("7000", str(feet))
    return planned_once(read_site(write_site(text + entry)))


def said(plan: SitePlan, code: str) -> str:
    (finding,) = [finding for finding in plan.findings if finding.code == code]
    return words_of(finding, plan.site.unit)


@pytest.mark.parametrize("entry", ["", 'entry = "any wall"\n'])
def test_an_entry_left_open_lies_where_the_field_has_room(
    write_site: Callable[..., Path], entry: str
) -> None:
    # 20 bores of 350 ft: south of the house there is no room for them, north of it there is
    plan = planned(write_site, entry)
    header = plan.drawn.layout.header if plan.drawn.layout else None
    assert plan.fits
    assert header is not None
    assert header.entry.point.y == pytest.approx(70 * FT)
    assert plan.site.entries == (header.entry,)
    assert header.entry.label == "north wall, assumed"
    assert "assumed at house, the north wall," in said(plan, "entry-assumed")


@pytest.mark.thorough
def test_an_entry_that_is_stated_is_kept(write_site: Callable[..., Path]) -> None:
    plan = planned(write_site, "entry = [[100, 40]]\n")
    assert not plan.fits
    assert [round(entry.point.y / FT, 6) for entry in plan.site.entries] == [40]
    assert "entry-assumed" not in {finding.code for finding in plan.findings}


@pytest.mark.parametrize(("turn_deg", "xfact"), [(0, -1), (90, 1), (37, 1), (-141, -1)])
def test_a_turned_or_mirrored_lot_is_looked_at_in_the_same_places(
    turn_deg: float, xfact: float
) -> None:
    def move(shape: BaseGeometry) -> BaseGeometry:
        mirrored = shapely.affinity.scale(shape, xfact=xfact, origin=(0, 0))
        return shapely.affinity.rotate(mirrored, turn_deg, origin=(0, 0))

    area = Polygon([(0, 0), (31, 2), (30, 20), (12, 21), (12, 40), (-1, 41)])
    places = MultiPoint(_places(area))
    there = MultiPoint(_places(move(area)))
    assert len(there.geoms) == len(places.geoms) > 30
    assert move(places).hausdorff_distance(there) < 1e-9


def test_few_of_the_places_are_laid_out(write_site: Callable[..., Path]) -> None:
    site = read_site(write_site(WIDE_HOUSE))
    assert len(site.entries) > KEPT
    assert site.any_wall


def test_without_a_building_an_entry_is_asked_for(write_site: Callable[..., Path]) -> None:
    bare = (
        WIDE_HOUSE.partition("[[feature]]")[0]
        + "[exchanger]"
        + WIDE_HOUSE.partition("[exchanger]")[2]
    )
    with pytest.raises(InputError, match="entry: is missing, and no building is drawn"):
        read_site(write_site(bare))


def test_another_wall_that_spares_a_third_of_the_header_is_named(
    write_site: Callable[..., Path],
) -> None:
    # bores keep 80 ft from the line, in the middle of the lot; from the south wall of a house
    # 100 ft wide the pipe goes round it, 50 + 36 + 50 ft, from its north wall 20 ft straight on
    house = "[50, 30], [150, 30], [150, 60], [50, 60]"
    text = WIDE_HOUSE.replace("[6, 40], [194, 40], [194, 70], [6, 70]", house)
    own = '[[rules.own]]\nfrom = "property line"\nfor = ["bore"]\ndistance = "80 ft"\n'
    own += 'source = "test"\n'
    text = (own + text).replace("7000 ft", "2000 ft")
    plan = plan_site(read_site(write_site(text + "entry = [[100, 30]]\n")))
    assert plan.fits
    words = said(plan, "entry-elsewhere")
    assert words.startswith("Through the north wall, ")
    open_plan = plan_site(read_site(write_site(text)))
    headers = [made.drawn.layout and made.drawn.layout.header for made in (plan, open_plan)]
    stated, opened = (header.length_m for header in headers if header is not None)
    assert opened < 2 / 3 * stated


def test_an_entry_at_the_field_is_left_without_a_word(write_site: Callable[..., Path]) -> None:
    plan = planned(write_site, "entry = [[100, 70]]\n")
    assert plan.fits
    assert "entry-elsewhere" not in {finding.code for finding in plan.findings}


NECK = """\
[project]
title = "Lot with a neck"
owner = "A. Owner"
date = 2026-03-14
units = "m"

[geometry]
parcel = [[0, 0], [40, 0], [40, 30], [26, 30], [26, 44], [14, 44], [14, 30], [0, 30]]

[[feature]]
id = "house"
kind = "building"
area = [[1.2, 6.7], [38.8, 6.7], [38.8, 29], [1.2, 29]]

[vertical]
depth = "100 m"

[exchanger]
system = "vertical"
length = { given = "500 m", by = "a designer" }
entry = "any wall"
"""
"""The header cannot pass the house. North of it lie 5.6 m by 8.6 m, too little for five points
6.1 m apart, south of it a strip 33.6 m long and less than half a metre wide, with room for six."""


def test_a_wall_is_taken_from_which_enough_is_reached_though_more_area_lies_elsewhere(
    write_site: Callable[..., Path],
) -> None:
    plan = planned_once(read_site(write_site(NECK)))

    assert plan.fits
    assert all(bore.y_m < 6.7 for bore in plan.drawn.layout.elements)
