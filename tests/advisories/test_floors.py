"""Floors of common practice: errors that somebody may answer for by name."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest
from planned import planned_once
from shapely import LineString
from wording import in_words

from siteplan.advisories.floors import floor_remarks
from siteplan.errors import InputError
from siteplan.findings.model import Finding
from siteplan.findings.words import words_of
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.plan import SitePlan, plan_site
from siteplan.sheet.tables.notes import notes
from siteplan.site.readers.site_file import read_site

FT = 0.3048
LOT = """\
[project]
title = "Lot with a floor"
owner = "A. Owner"
date = 2026-03-14

[geometry]
parcel = [[0, 0], [220, 0], [220, 240], [0, 240]]

[[feature]]
id = "house"
kind = "building"
area = [[80, 20], [120, 20], [120, 50], [80, 50]]

[[feature]]
id = "pond"
kind = "pond"
area = [[10, {south}], [210, {south}], [210, 230], [10, 230]]
depth = "{water} ft"
side_slope = 0

[exchanger]
system = "{system}"
length = {{ given = "600 ft", by = "test" }}
capacity = "3 ton"
entry = [100, 50]
{tables}
"""
BY = '{ by = "B. Engineer, 2026-03-02" }'


@pytest.fixture
def planned(write_site: Callable[..., Path]) -> Callable[..., SitePlan]:
    def built(
        tables: str = "", system: str = "pond", water: int = 12, south: int = 120
    ) -> SitePlan:
        text = LOT.format(tables=tables, system=system, water=water, south=south)
        return planned_once(read_site(write_site(text)))

    return built


def coded(plan: SitePlan, *codes: str) -> list[Finding]:
    return [one for one in plan.drawn.findings if one.code in codes]


def refused(plan: SitePlan, code: str) -> Finding:
    """The error that keeps a plan from fitting."""
    (found,) = coded(plan, code)
    assert found.severity == "error"
    assert not plan.drawn.fits
    return found


def accepted(plan: SitePlan, code: str) -> None:
    """A note on the sheet stands in the place of the error."""
    (found,) = coded(plan, code)
    assert found.severity == "note"
    assert plan.drawn.fits
    # on paper by the name that stands on the plan, and by no id
    printed = words_of(found, plan.site.unit, on_paper=True)
    printed = re.sub(r"\b(in|of) pond\b", r"\1 POND", printed)
    assert printed in " ".join(notes(plan.content()))
    assert "accepted by B. Engineer, 2026-03-02" in in_words(found)


def test_coils_under_little_water_are_refused(planned: Callable[..., SitePlan]) -> None:
    # U.S. Department of Energy, Energy Saver, Geothermal Heat Pumps (from memory): coils lie at
    # least 8 ft under the surface. They stand up 18 in from the bottom: 9 ft less that are 7.5 ft
    found = refused(planned('[pond]\nwater_depth = "1 ft"\n', water=9), "water-too-shallow")
    assert found.measured_m == pytest.approx(7.5 * FT)
    assert found.required_m == pytest.approx(8 * FT)
    assert coded(planned('[pond]\nwater_depth = "1 ft"\n', water=10), "water-too-shallow") == []


def test_somebody_may_answer_for_little_water(planned: Callable[..., SitePlan]) -> None:
    tables = f'[pond]\nwater_depth = "1 ft"\nshallow = {BY}\n'
    accepted(planned(tables, water=5), "water-shallow-agreed")


def test_a_pond_too_small_for_the_load_is_refused(planned: Callable[..., SitePlan]) -> None:
    # common practice, no source: 3,000 sq ft a ton, 9,000 for 3 ton; 200 x 44 = 8,800, x 46 = 9,200
    found = refused(planned(south=186), "pond-too-small")
    assert "8,800 sq ft for 3 tons" in in_words(found)
    assert coded(planned(south=184), "pond-too-small") == []


def test_a_pond_under_half_an_acre_is_refused(planned: Callable[..., SitePlan]) -> None:
    # common practice, no source: half an acre is 21,780 sq ft; 200 x 108 = 21,600, x 109 = 21,800
    assert "21,600 sq ft" in in_words(refused(planned(south=122), "pond-under-half-acre"))
    assert coded(planned(south=121), "pond-under-half-acre") == []


def test_sides_that_nobody_states_are_told(write_site: Callable[..., Path]) -> None:
    text = LOT.format(tables="", system="pond", water=12, south=120)
    plan = plan_site(read_site(write_site(text.replace("side_slope = 0\n", ""))))
    (found,) = coded(plan, "pond-sides-assumed")
    assert found.severity == "note"
    assert coded(plan_site(read_site(write_site(text))), "pond-sides-assumed") == []


def test_somebody_may_answer_for_a_small_pond(planned: Callable[..., SitePlan]) -> None:
    accepted(planned(f"[pond]\nsmall = {BY}\n", south=186), "pond-small-agreed")
    accepted(planned(f"[pond]\nsmall = {BY}\n", south=186), "pond-half-acre-agreed")


def test_a_shallow_header_is_refused_where_frost_is_not_known(
    planned: Callable[..., SitePlan],
) -> None:
    # common practice, no source: 2 ft of cover
    found = refused(planned('[header]\ndepth = "1 ft"\n'), "header-too-shallow")
    assert found.measured_m is not None
    assert found.measured_m < 1 * FT
    assert coded(planned('[header]\ndepth = "3 ft"\n'), "header-too-shallow") == []
    frost = '[header]\ndepth = "1 ft"\n[ground]\nfrost = "6 in"\n'
    assert coded(planned(frost), "header-too-shallow") == []


def test_somebody_may_answer_for_a_shallow_header(planned: Callable[..., SitePlan]) -> None:
    accepted(planned(f'[header]\ndepth = "1 ft"\nshallow = {BY}\n'), "header-shallow-agreed")


# without an answer for the drift the wells would stand as far apart as the lot lets them
WELLS = f'[open]\nyield = "20 gpm"\nseparation = "3 ft"\ndrift = {BY}\n'


def test_wells_beside_each_other_are_refused(planned: Callable[..., SitePlan]) -> None:
    # common practice, no source: 50 ft
    found = refused(planned(WELLS, "open", south=180), "wells-too-close")
    assert found.required_m == pytest.approx(50 * FT)
    assert found.measured_m is not None
    assert found.measured_m >= 3 * FT - 1e-6


def test_somebody_may_answer_for_wells_beside_each_other(
    planned: Callable[..., SitePlan],
) -> None:
    accepted(planned(f"{WELLS}near = {BY}\n", "open", south=180), "wells-near-agreed")


@pytest.mark.parametrize(
    ("feet", "said"),
    # 29 CFR 1926.652(a)(1): from 5 ft; a warning from 8 ft, common practice, no source
    [(4.9, []), (5, [("trench-protected", "note")]), (10, [("trench-deep", "warning")])],
)
def test_deep_trenches_are_named_among_the_findings(
    write_site: Callable[..., Path], feet: float, said: list[tuple[str, str]]
) -> None:
    tables = f'[horizontal]\ndepth = "{feet} ft"\n'
    site = read_site(write_site(LOT.format(tables=tables, system="pond", water=12, south=120)))
    line = Trench("T1", LineString([(9, 9), (39, 9)]), 0.6, feet * FT, 2)
    found = floor_remarks(site, Layout("horizontal", (line,), None, 3.0, 0.0))
    assert [(one.code, one.severity) for one in found] == said


def test_nobody_answers_without_a_name(write_site: Callable[..., Path]) -> None:
    tables = "[pond]\nshallow = {}\n"
    with pytest.raises(InputError, match="by"):
        read_site(write_site(LOT.format(tables=tables, system="pond", water=12, south=120)))
