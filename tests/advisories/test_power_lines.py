"""What is said of overhead power lines: pipe under them, machines at work, the sheet's note."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from planned import planned_once
from shapely import LineString
from wording import in_words

from siteplan.advisories.machines import rig_remarks
from siteplan.advisories.power_lines import lines_kept_off
from siteplan.available.prepared import lot_of
from siteplan.findings.model import Finding
from siteplan.findings.words import words_of
from siteplan.layout.elements import Bore, Trench
from siteplan.layout.model import Access, Layout
from siteplan.plan import SitePlan
from siteplan.sheet.tables.notes import notes
from siteplan.site.model import Feature, Site
from siteplan.site.readers.site_file import read_site
from siteplan.units.systems import METRIC, US

FT = 0.3048
LOT = """\
[project]
title = "Lot under a line"
owner = "A. Owner"
date = 2026-03-14

[geometry]
parcel = [[0, 0], [160, 0], [160, 200], [0, 200]]

[[feature]]
id = "road"
kind = "street"
line = [[-50, -20], [210, -20]]

[[feature]]
id = "house"
kind = "building"
area = [[60, 30], [100, 30], [100, 50], [60, 50]]

[[feature]]
id = "wire"
kind = "overhead power line"
voltage = "138 kV"
line = [[-9, 110], [169, 110]]

[exchanger]
system = "horizontal"
length = {{ given = "{length} ft", by = "test" }}
entry = [80, 50]
"""


@pytest.fixture
def make(write_site: Callable[..., Path]) -> Callable[..., Site]:
    def built(length: int = 1100) -> Site:
        return read_site(write_site(LOT.format(length=length)))

    return built


def coded(plan: SitePlan, code: str) -> list[Finding]:
    return [one for one in plan.drawn.findings if one.code == code]


@pytest.fixture
def far_side(make: Callable[..., Site]) -> SitePlan:
    # before the line are rows of 140 ft from 60 to 90 ft north, too few for 1,100 ft
    return planned_once(make())


def test_a_header_under_a_power_line_has_nothing_to_expose(far_side: SitePlan) -> None:
    assert coded(far_side, "crossing") == []
    (found,) = coded(far_side, "crossing-under-line")
    assert found.severity == "warning"
    # 29 CFR 1926.1408 Table A: over 50 to 200 kV 15 ft
    assert "keeps 15 ft between the line" in in_words(found)
    assert "expose" not in in_words(found)
    assert far_side.drawn.layout is not None
    header = far_side.drawn.layout.header
    assert header is not None
    (crossing,) = header.crossings
    assert crossing.angle_deg is not None
    assert crossing.angle_deg >= 75
    row = far_side.summary()["header"]["crossings"][0]
    assert row["angle_deg"] == pytest.approx(crossing.angle_deg, abs=0.05)


def test_the_sheet_says_to_keep_clear_and_at_which_angle_the_header_passes(
    far_side: SitePlan,
) -> None:
    said = " ".join(notes(far_side.content()))
    assert "Header passes under, at the marks ×: overhead power line (at 90°)." in said
    assert "Expose by hand" not in said


def test_an_excavator_that_digs_on_both_sides_of_a_line_is_warned(far_side: SitePlan) -> None:
    (found,) = coded(far_side, "works-near-line")
    assert found.severity == "warning"
    assert "the excavator passes under wire (overhead power line, 138 kV)" in in_words(found)
    assert "keep 15 ft" in in_words(found)


def test_an_excavator_whose_boom_stays_away_is_not_warned(make: Callable[..., Site]) -> None:
    # 24 ft farther than in the next test: 35 ft of 15 ft
    line = LineString([(20 * FT, 62 * FT), (120 * FT, 62 * FT)])
    layout = Layout("horizontal", (Trench("T1", line, 2 * FT, 5 * FT, 2),), None, 3.0, 300.0)
    found = list(rig_remarks(lot_of(make(200)), layout))
    assert [one for one in found if one.code == "works-near-line"] == []


def test_an_excavator_whose_boom_can_reach_near_is_warned(make: Callable[..., Site]) -> None:
    site = make(200)
    # a trench 24 ft from the line; the boom gets 12 ft farther: 24 - 1 - 12 = 11 ft of 15 ft
    line = LineString([(20 * FT, 86 * FT), (120 * FT, 86 * FT)])
    trench = Trench("T1", line, 2 * FT, 5 * FT, 2)
    layout = Layout("horizontal", (trench,), None, 3.0, 300.0)
    (found,) = [one for one in rig_remarks(lot_of(site), layout) if one.code == "works-near-line"]
    boom = site.exchanger.excavator.boom_m if site.exchanger.excavator else 0.0
    assert found.measured_m == pytest.approx(23 * FT - boom)
    assert "the excavator can reach near wire" in in_words(found)


def test_a_rig_that_drills_on_both_sides_of_a_line_is_warned(make: Callable[..., Site]) -> None:
    bores = (Bore("B1", 20 * FT, 80 * FT, 0.15, 90.0), Bore("B2", 20 * FT, 140 * FT, 0.15, 90.0))
    way = Access(LineString([(20 * FT, 0), (20 * FT, 78 * FT)]), 8 * FT)
    layout = Layout("vertical", bores, None, 6.0, 300.0, access=way)
    found = list(rig_remarks(lot_of(make()), layout))
    assert not [one for one in found if one.code == "rig-under-line"]
    (warned,) = [one for one in found if one.code == "works-near-line"]
    assert "the drill rig passes under wire" in in_words(warned)


# 29 CFR 1926.1408 Table A, typed from the regulation
@pytest.mark.parametrize(
    ("volts", "said"),
    [
        (13.8e3, "10 ft from oh (13.8 kV)"),
        (345e3, "20 ft from oh (345 kV)"),
        (765e3, "45 ft from oh (765 kV)"),
        (None, "20 ft from oh (voltage not stated)"),
        (1.1e6, "what its owner asks from oh (1100 kV)"),
    ],
)
def test_the_note_has_the_clearance_of_the_line_that_is_there(
    make: Callable[..., Site], volts: float | None, said: str
) -> None:
    site = make()
    line = Feature("oh", "overhead power line", LineString([(0, 0), (9, 0)]), voltage_v=volts)
    lot = Site(site.project, US, site.parcel, (line,), site.entries, site.exchanger, ())
    assert said in words_of(lines_kept_off(lot), US)


def test_the_note_is_in_metres_on_a_metric_sheet(make: Callable[..., Site]) -> None:
    # 15 ft = 4.572 m, rounded up
    assert "4.58 m from wire (138 kV)" in words_of(lines_kept_off(make()), METRIC)
