"""An excavator's way in: trenches only where it gets to, what that costs, what helps."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from planned import planned_once
from shapely import LineString, Point
from wording import in_words

from siteplan.advisories.machines import rig_remarks
from siteplan.available.access import machine_ground, rig_stopped
from siteplan.available.prepared import lot_of
from siteplan.checks.access import access_findings
from siteplan.cli import main
from siteplan.errors import InputError
from siteplan.layout.elements import Trench
from siteplan.layout.model import Access
from siteplan.plan import SitePlan, lay_out
from siteplan.sheet.model import Text
from siteplan.sheet.pages.compose import compose
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

FT = 0.3048
STREET = '[[feature]]\nid = "road"\nkind = "street"\nline = [[-50, -20], [150, -20]]\n'
LOT = """\
[project]
title = "Narrow lot"
owner = "A. Owner"
date = 2026-03-14

[geometry]
parcel = [[0, 0], [100, 0], [100, 200], [0, 200]]

[[feature]]
id = "house"
kind = "building"
area = [[{left}, 40], [{right}, 40], [{right}, 70], [{left}, 70]]

{more}
[exchanger]
system = "horizontal"
length = {{ given = "400 ft", by = "test" }}
entry = [[50, 40], [50, 70]]
{tables}
"""
Make = Callable[..., Site]


@pytest.fixture
def make(write_site: Callable[..., Path]) -> Make:
    """House across the lot, 5 ft left at its sides unless told otherwise.

    Before it two trenches of 78 ft have room, 156 ft; 400 ft are wanted.
    """

    def built(more: str = STREET, tables: str = "", *, side: float = 5) -> Site:
        text = LOT.format(left=side, right=100 - side, more=more, tables=tables)
        return read_site(write_site(text))

    return built


def access_of(plan: SitePlan) -> Access:
    access = plan.drawn.layout.access if plan.drawn.layout else None
    assert access is not None
    return access


def coded(plan: SitePlan, code: str) -> list[tuple[str, str]]:
    return [(one.severity, in_words(one)) for one in plan.drawn.findings if one.code == code]


def test_a_mini_excavator_is_what_is_not_said(make: Make) -> None:
    excavator = make(tables='[excavator]\nboom = "12 ft"\n').exchanger.excavator
    assert excavator is not None
    assert (excavator.width_m, excavator.length_m) == pytest.approx((6 * FT, 15 * FT))
    assert (excavator.turning_m, excavator.boom_m) == pytest.approx((0.0, 12 * FT))
    assert excavator.access == "street"


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('width = "30 ft"', r"\[excavator\], length: is less than the width"),
        (
            "from = [50, 30]",
            r"\[excavator\], from: \(50.0, 30.0\) ft lies 30.0 ft from the property",
        ),
        ('access = "anywhere"\nfrom = [50, 0]', "is given beside access"),
        ("bom = 8", "did you mean 'boom'"),
    ],
)
def test_a_faulty_excavator_is_told(make: Make, table: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        make(tables=f"[excavator]\n{table}\n")


def test_behind_a_house_that_no_excavator_passes_no_trench_is_placed(make: Make) -> None:
    plan = planned_once(make())
    assert not plan.fits
    assert plan.drawn.layout is not None
    tried = lay_out(plan.site, "horizontal").layout
    assert tried is not None
    trenches = tried.of(Trench)
    assert trenches
    assert all(one.line.bounds[3] < 40 * FT for one in trenches)
    assert "an excavator 6 ft wide and 15 ft long cannot pass between house" in in_words(
        plan.drawn.why
    )
    assert "there would be room if an excavator could reach all of it" in in_words(plan.drawn.why)


def test_what_access_costs_is_told_as_a_length_of_trench(make: Make) -> None:
    # behind the house 80 to 190 ft north hold many rows of 78 ft: more than the 244 ft lacking
    plan = planned_once(make())
    access = access_of(plan)
    assert (access.machine, access.lost, access.decisive) == ("excavator", 0, True)
    assert access.lost_m > 244 * FT
    ((severity, message),) = coded(plan, "access-stops")
    assert severity == "warning"
    assert message.startswith("Limited excavator access: ")
    assert " ft less trench: an excavator 6 ft wide" in message
    assert plan.summary()["access"]["lost_m"] == pytest.approx(access.lost_m, abs=1e-3)


def test_a_smaller_excavator_is_proposed_and_fits_when_it_is_written_down(make: Make) -> None:
    # 5 ft of passage: not 5 ft of excavator, but 3 ft 6 in
    plan = planned_once(make())
    words = [in_words(one.change) for one in plan.weighing.remedies if one.kind == "rig"]
    assert words == [
        "an excavator 3.5 ft wide and 9.0 ft long, turning on the spot, can reach enough ground"
    ]
    small = "[excavator]\nwidth = 3.5\nlength = 9\nboom = 8\n"
    assert planned_once(make(tables=small)).fits


def test_a_passage_wide_enough_lets_the_excavator_to_the_back(make: Make) -> None:
    plan = planned_once(make(side=8))
    assert plan.fits
    access = access_of(plan)
    assert access.because is None
    assert access.width_m == pytest.approx(6 * FT)
    assert access.path.coords[0][1] == pytest.approx(0.0, abs=1e-6)  # from the street
    assert not coded(plan, "access-costs") + coded(plan, "access-stops")


def test_another_way_in_brings_the_excavator_to_the_back(make: Make) -> None:
    plan = planned_once(make(tables="[excavator]\nfrom = [50, 200]\n"))
    assert plan.fits
    assert access_of(plan).path.coords[0][1] == pytest.approx(200 * FT)


def test_without_a_street_nothing_is_left_out_and_that_is_said(make: Make) -> None:
    plan = planned_once(make(""))
    assert plan.fits
    ((severity, message),) = coded(plan, "excavator-access-not-checked")
    assert severity == "warning"
    assert message.startswith("Excavator access not checked: no street is drawn")
    assert "[excavator] from" in message


def test_a_designer_may_say_that_a_excavator_gets_everywhere(make: Make) -> None:
    plan = planned_once(make(tables='[excavator]\naccess = "anywhere"\n'))
    assert plan.fits
    assert [severity for severity, _ in coded(plan, "excavator-gets-everywhere")] == ["note"]


def test_the_boom_reaches_where_the_excavator_does_not_get_to(make: Make) -> None:
    # The excavator's middle line stays 3 ft from house and line: its end stands at (3, 37) at best.
    # From there the passage's (2.5, 45) is 8.0 ft away, (2.5, 49) 12.0 ft.
    site = make()
    ground = machine_ground(site, "horizontal")
    assert ground is not None
    assert rig_stopped(site, 2.5 * FT, 45 * FT, "excavator") is None
    assert "an excavator cannot get there" in in_words(
        rig_stopped(site, 2.5 * FT, 49 * FT, "excavator")
    )


def test_the_boom_does_not_reach_through_a_building(make: Make) -> None:
    # a long boom over the house: from (50, 37) it is 33 ft to its back wall
    site = make(tables='[excavator]\nboom = "60 ft"\n', side=0)
    assert "an excavator cannot get there" in in_words(
        rig_stopped(site, 50 * FT, 75 * FT, "excavator")
    )


def test_why_tells_that_no_excavator_gets_to_a_point(
    make: Make, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    make()
    assert main(["why", str(tmp_path / "site.toml"), "50", "150", "--part", "trench"]) == 1
    out = capsys.readouterr().out
    assert "an excavator cannot get there" in out
    assert "excavator access" in out


def test_a_way_under_a_power_line_is_a_warning(make: Make) -> None:
    line = '[[feature]]\nid = "feeder"\nkind = "overhead power line"\nline = [[-9, 5], [109, 5]]\n'
    plan = planned_once(make(STREET + line, side=12))
    ((severity, message),) = coded(plan, "excavator-under-line")
    assert severity == "warning"
    assert "boom lowered" in message


def test_the_check_finds_trenches_that_no_way_leads_to(make: Make) -> None:
    site = make(tables='[excavator]\naccess = "anywhere"\n')
    layout = planned_once(site).drawn.layout
    assert layout is not None
    path = LineString([(50 * FT, 0), (50 * FT, 20 * FT)])
    tampered = replace(layout, access=Access(path, 6 * FT, machine="excavator"))
    found = [in_words(one) for one in access_findings(site, tampered)]
    behind = [one for one in layout.elements if one.line.bounds[1] > 70 * FT]  # type: ignore[union-attr]
    assert behind
    assert len(found) == len(behind)
    assert all("No way 6.00 ft wide leads an excavator to T" in message for message in found)


def test_the_check_finds_a_way_across_the_house(make: Make) -> None:
    site = make(side=8)
    layout = planned_once(site).drawn.layout
    assert layout is not None
    path = LineString([(50 * FT, 0), (50 * FT, 150 * FT)])
    tampered = replace(layout, access=Access(path, 6 * FT, machine="excavator"))
    found = [in_words(one) for one in access_findings(site, tampered)]
    assert any("The excavator's way in, 6.00 ft wide, runs" in message for message in found)


def test_header_where_no_excavator_gets_is_dug_by_hand(make: Make) -> None:
    layout = planned_once(make(tables='[excavator]\naccess = "anywhere"\n')).drawn.layout
    assert layout is not None
    assert layout.header is not None
    behind = LineString([(50 * FT, 70 * FT), (50 * FT, 150 * FT)])
    header = replace(layout.header, runs=(behind,))
    way = LineString([(50 * FT, 0), (50 * FT, 20 * FT)])
    tampered = replace(layout, header=header, access=Access(way, 6 * FT, machine="excavator"))
    [said] = [one for one in rig_remarks(lot_of(make()), tampered) if one.code == "dug-by-hand"]
    # 70 to 150 ft behind a house with 5 ft at its sides, all of it beyond a boom in front
    assert said.measured_m == pytest.approx(80 * FT, abs=12 * FT)
    assert "by hand" in in_words(said)
    assert "dug-by-hand" not in {one.code for one in rig_remarks(lot_of(make(side=12)), tampered)}


def test_the_sheet_shows_the_way_in(make: Make) -> None:
    sheet = compose(planned_once(make(side=8)).content())
    texts = [one.text for one in sheet.primitives if isinstance(one, Text)]
    assert "EXCAVATOR ACCESS 6' CLEAR" in texts
    # on the plan, and in the legend, where it may take two lines
    assert " ".join(texts).count("EXCAVATOR ACCESS") == 2
    assert not sheet.unplaced


def test_a_way_to_trenches_near_the_street_leads_onto_the_lot_and_not_back(make: Make) -> None:
    # the street's line runs along the lot itself: from there the boom gets over the line
    near = STREET.replace("-20", "0")
    site = make(near, tables='[excavator]\nboom = "40 ft"\n')
    layout = lay_out(site, "horizontal").layout
    assert layout is not None
    assert layout.access is not None
    way = layout.access.path
    assert way.length > 0
    assert way.coords[0] != way.coords[-1]
    assert site.parcel.covers(Point(way.coords[-1]))
    assert way.is_simple
