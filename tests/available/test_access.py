"""A drill rig's way in: where it comes from, what it may cross, what it costs, what helps."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import pytest
from planned import planned_once
from shapely import LineString, Point, box
from wording import in_words

from siteplan.available.access import machine_ground, obstacle_of, rig_stopped
from siteplan.available.frontage import frontage_of
from siteplan.available.prepared import lot_of
from siteplan.checks.access import access_findings
from siteplan.cli import main
from siteplan.design.evaluate import try_system
from siteplan.earthwork.travel import travel_row
from siteplan.errors import InputError
from siteplan.layout.model import Access
from siteplan.site.model import Feature, Site
from siteplan.site.readers.site_file import read_site
from siteplan.vocabulary.kinds import kinds

FT = 0.3048
STREET = '[[feature]]\nid = "road"\nkind = "street"\nline = [[-50, -20], [150, -20]]\n'
LOT = """\
[project]
title = "Narrow lot"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [100, 0], [100, 200], [0, 200]]

[[feature]]
id = "house"
kind = "building"
area = [[{left}, 40], [{right}, 40], [{right}, 70], [{left}, 70]]

{more}
[exchanger]
system = "vertical"
length = {{ given = "{length} ft", by = "test" }}
entry = [[50, 70]]
{tables}
"""

Make = Callable[..., Site]


@pytest.fixture
def make(write_site: Callable[..., Path]) -> Make:
    """Site with a house across the lot; 5 ft are left at its sides unless told otherwise."""

    def built(more: str = STREET, tables: str = "", *, side: float = 5, length: int = 900) -> Site:
        text = LOT.format(left=side, right=100 - side, more=more, tables=tables, length=length)
        return read_site(write_site(text))

    return built


def frontage(site: Site):  # type: ignore[no-untyped-def]
    assert site.exchanger.rig is not None
    return frontage_of(site.parcel, site.features, site.exchanger.rig)


def test_the_rig_is_read_with_defaults(make: Make) -> None:
    rig = make(tables='[rig]\nwidth = "6 ft"\nturning = 0\n').exchanger.rig
    assert rig is not None
    assert rig.width_m == pytest.approx(6 * FT)
    assert rig.length_m == pytest.approx(25 * FT)
    assert (rig.turning_m, rig.mast_m) == (0.0, pytest.approx(30 * FT))
    assert rig.access == "street"


@pytest.mark.parametrize(
    ("table", "words"),
    [
        ('width = "30 ft"', "length: is less than the width"),
        ("from = [50, 30]", r"\(50.0, 30.0\) ft lies 30.0 ft from the property line"),
        ('access = "anywhere"\nfrom = [50, 0]', "is given beside access"),
        ('access = "sky"', "access"),
        ("widht = 8", "did you mean 'width'"),
    ],
)
def test_a_faulty_rig_is_told(make: Make, table: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        make(tables=f"[rig]\n{table}\n")


def test_the_frontage_is_the_side_along_the_street(make: Make) -> None:
    found = frontage(make())
    assert found.equals(LineString([(0, 0), (100 * FT, 0)])) or found.length == pytest.approx(
        100 * FT
    )
    assert found.bounds == pytest.approx((0, 0, 100 * FT, 0))


def test_a_street_on_the_property_line_opens_the_lot_though_its_corners_are_rounded(
    make: Make,
) -> None:
    # a hundredth of a foot, to which plats are written, inside of the line
    along = STREET.replace("-20", "0.01")
    assert frontage(make(along)).length == pytest.approx(100 * FT, abs=2 * FT)


def test_a_far_street_gives_no_frontage(make: Make) -> None:
    far = STREET.replace("-20", "-90")
    assert frontage(make(far)).is_empty


def test_a_driveway_that_leads_out_is_a_frontage(make: Make) -> None:
    drive = (
        '[[feature]]\nid = "drive"\nkind = "driveway"\n'
        "area = [[90, 100], [120, 100], [120, 112], [90, 112]]\n"
    )
    found = frontage(make(drive))
    assert found.bounds == pytest.approx((100 * FT, 100 * FT, 100 * FT, 112 * FT))
    inside = drive.replace("120", "100")
    assert frontage(make(inside)).is_empty


def test_a_place_typed_replaces_the_street(make: Make) -> None:
    found = frontage(make(tables="[rig]\nfrom = [50, 200]\n"))
    assert found.bounds == pytest.approx((42 * FT, 200 * FT, 58 * FT, 200 * FT))


def test_a_house_across_the_lot_keeps_the_rig_in_front(make: Make) -> None:
    ground = machine_ground(make(), "vertical")
    assert ground is not None
    assert ground.area.contains(Point(50 * FT, 20 * FT))
    assert not ground.area.intersects(box(0, 70 * FT, 100 * FT, 200 * FT))


def test_ten_feet_beside_the_house_let_an_eight_foot_rig_pass(make: Make) -> None:
    ground = machine_ground(make(side=11), "vertical")
    assert ground is not None
    assert ground.area.contains(Point(50 * FT, 150 * FT))


@pytest.mark.parametrize("kind", sorted(kind for kind in kinds() if kind != "street"))
def test_a_strip_across_the_lot_stops_the_rig_by_its_kind(make: Make, kind: str) -> None:
    shapes = kinds()[kind].shapes
    across = "[[-1, 100], [101, 100], [101, 108], [-1, 108]]"
    line = "[[-5, 104], [105, 104]]"
    points = "".join(
        f'[[feature]]\nid = "p{x}"\nkind = "{kind}"\nat = [{x}, 104]\n' for x in range(3, 100, 6)
    )
    if "polygon" in shapes:
        depth = 'depth = "unknown"\n' if kind == "pond" else ""
        more = f'[[feature]]\nid = "strip"\nkind = "{kind}"\narea = {across}\n{depth}'
        free = kinds()[kind].rig == "free"
    elif "line" in shapes:
        more = f'[[feature]]\nid = "strip"\nkind = "{kind}"\nline = {line}\n'
        free = kinds()[kind].rig in ("free", "lines")
    else:
        more, free = points, kinds()[kind].rig == "free"
    ground = machine_ground(make(STREET + more, side=25), "vertical")
    assert ground is not None
    assert ground.area.contains(Point(50 * FT, 90 * FT))
    assert ground.area.contains(Point(50 * FT, 150 * FT)) == free


def test_a_buried_drain_is_driven_over_and_its_basin_is_not() -> None:
    assert kinds()["storm drain"].rig == "lines"


def test_a_blocked_back_yard_is_said_and_a_smaller_rig_proposed(make: Make) -> None:
    plan = planned_once(make(side=7.5))
    assert not plan.fits
    assert "a rig 8 ft wide and 25 ft long cannot pass between house" in in_words(plan.drawn.why)
    access = plan.drawn.layout.access if plan.drawn.layout else None
    assert access is not None
    assert access.decisive
    assert access.lost > 0
    words = [in_words(one.change) for one in plan.weighing.remedies if one.kind == "rig"]
    assert words == [
        "a rig 7.0 ft wide and 20.0 ft long, turning radius 20.0 ft, can reach enough ground"
    ]


def test_the_proposed_rig_fits_when_it_is_written_down(make: Make) -> None:
    tables = "[rig]\nwidth = 7\nlength = 20\nturning = 20\n"
    assert planned_once(make(tables=tables, side=7.5)).fits


def test_another_way_in_brings_the_rig_to_the_back(make: Make) -> None:
    plan = planned_once(make(tables="[rig]\nfrom = [50, 200]\n"))
    assert plan.fits
    access = plan.drawn.layout.access if plan.drawn.layout else None
    assert access is not None
    assert access.path.coords[0][1] == pytest.approx(200 * FT)


def test_without_a_street_nothing_is_left_out_and_that_is_said(make: Make) -> None:
    plan = planned_once(make(""))
    assert plan.fits
    found = [one for one in plan.drawn.findings if one.code == "rig-access-not-checked"]
    assert [one.severity for one in found] == ["warning"]
    assert "no street is drawn" in in_words(found[0])
    assert plan.drawn.layout is not None
    assert plan.drawn.layout.access is None


def test_a_designer_may_say_that_a_rig_gets_everywhere(make: Make) -> None:
    plan = planned_once(make(tables='[rig]\naccess = "anywhere"\n'))
    assert plan.fits
    found = [one for one in plan.drawn.findings if one.code == "rig-gets-everywhere"]
    assert [one.severity for one in found] == ["note"]


def test_trenches_ask_for_no_rig(make: Make) -> None:
    site = make("")
    trial = try_system(lot_of(site), "horizontal")
    assert trial.layout is not None
    assert trial.layout.access is None
    asked = {"rig-access-not-checked", "rig-gets-everywhere", "access-costs", "access-stops"}
    assert not asked & {finding.code for finding in trial.findings}


def test_why_tells_that_no_rig_gets_to_a_point(
    make: Make, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    site = make()
    assert rig_stopped(site, 50 * FT, 20 * FT) is None
    assert "cannot pass house" in in_words(rig_stopped(site, 50 * FT, 150 * FT))
    assert main(["why", str(tmp_path / "site.toml"), "50", "150", "--part", "bore"]) == 1
    assert "a rig cannot get there" in capsys.readouterr().out


def test_the_summary_tells_the_way_and_what_it_costs(make: Make) -> None:
    summary = json.loads(json.dumps(planned_once(make(side=11)).summary()))
    access = summary["access"]
    assert access["width_m"] == pytest.approx(2.4384)
    assert access["path_m"][0][1] == pytest.approx(0.0, abs=1e-6)


# 29 CFR 1926.1411 Table T, typed from the regulation: volts, feet
TABLE_T = [(750, 4), (751, 6), (50e3, 6), (51e3, 10), (345e3, 10), (346e3, 16), (750e3, 16),
           (751e3, 20), (1000e3, 20)]  # fmt: skip


@pytest.mark.parametrize(("volts", "feet"), TABLE_T)
def test_travel_clearances_are_those_of_the_regulation(volts: float, feet: float) -> None:
    row = travel_row(volts)
    assert row is not None
    assert row.clearance_m == pytest.approx(feet * FT)


def test_a_way_under_a_power_line_names_the_clearance(make: Make) -> None:
    line = (
        '[[feature]]\nid = "feeder"\nkind = "overhead power line"\nvoltage = "13.8 kV"\n'
        "line = [[-10, 20], [110, 20]]\n"
    )
    plan = planned_once(make(STREET + line, side=12))
    found = [in_words(one) for one in plan.drawn.findings if one.code == "rig-under-line"]
    assert len(found) == 1
    assert "feeder (overhead power line, 13.8 kV)" in found[0]
    assert "keep 6 ft below it (29 CFR 1926.1411, Table T)" in found[0]


def test_above_the_last_class_of_voltage_the_owner_says_what_to_keep(make: Make) -> None:
    # Table T ends at 1,000 kV
    line = (
        '[[feature]]\nid = "feeder"\nkind = "overhead power line"\nvoltage = "1200 kV"\n'
        "line = [[-10, 20], [110, 20]]\n"
    )
    plan = planned_once(make(STREET + line, side=12))
    (told,) = [one for one in plan.drawn.findings if one.code == "rig-under-line"]
    assert told.values["clearance"].code == "clearance-by-owner"


def test_a_mast_higher_than_the_line_is_away_is_noted(make: Make) -> None:
    line = (
        '[[feature]]\nid = "feeder"\nkind = "overhead power line"\nvoltage = "13.8 kV"\n'
        "line = [[50, 71], [50, 250]]\n"
    )
    plan = planned_once(make(STREET + line, side=12))
    found = [one for one in plan.drawn.findings if one.code == "mast-near-line"]
    assert len(found) == 1
    assert found[0].measured_m is not None
    # 10 ft of Table A from the machine, which reaches 5 ft beyond the bore
    assert 15 * FT - 0.01 <= found[0].measured_m < 30 * FT


def broken(site: Site, path: LineString) -> list[str]:
    """Messages of the check about a bore field whose rig comes along another way."""
    layout = planned_once(site).drawn.layout
    assert layout is not None
    tampered = replace(layout, access=Access(path, 8 * FT))
    return [in_words(one) for one in access_findings(site, tampered)]


@pytest.mark.parametrize(
    ("path", "words"),
    [
        ([(50, 0), (50, 150)], "from house (building) at its middle"),
        ([(100, 150), (50, 150)], "does not begin on the property line at a street"),
        ([(6, 20), (6, 150)], "does not begin on the property line"),
        ([(6, 0), (6, 60), (1, 90), (6, 150)], "leaves the lot by"),
        ([(50, 0), (50, 20)], ""),
    ],
)
def test_the_check_finds_what_is_wrong_with_a_way(
    make: Make, path: list[tuple[float, float]], words: str
) -> None:
    found = broken(make(side=12), LineString([(x * FT, y * FT) for x, y in path]))
    assert any(words in message for message in found) if words else found == []


def test_the_check_finds_bores_that_no_way_leads_to(make: Make) -> None:
    site = make(tables='[rig]\naccess = "anywhere"\n', side=5)
    found = broken(site, LineString([(50 * FT, 0), (50 * FT, 20 * FT)]))
    layout = planned_once(site).drawn.layout
    assert layout is not None
    assert len(found) == len(layout.elements)
    assert all("No way 8.00 ft wide leads a drill rig to B" in message for message in found)


def test_the_sheet_shows_the_way_in(make: Make) -> None:
    from siteplan.sheet.model import Text
    from siteplan.sheet.pages.compose import compose

    sheet = compose(planned_once(make(side=11)).content())
    texts = [one.text for one in sheet.primitives if isinstance(one, Text)]
    assert "RIG ACCESS 8' CLEAR" in texts
    assert "RIG ACCESS" in texts
    assert "M-GHEX-ACCS-N" in dict(sheet.layers)
    assert not sheet.unplaced


def test_a_gate_narrower_than_the_rig_lets_it_nowhere(make: Make) -> None:
    # the drive leads out over the east side, 12 ft wide; the rig is 14 ft wide
    drive = (
        '[[feature]]\nid = "drive"\nkind = "driveway"\n'
        "area = [[90, 100], [120, 100], [120, 112], [90, 112]]\n"
    )
    site = make(drive, '[rig]\nwidth = "14 ft"\n')
    stopped = rig_stopped(site, 50 * FT, 150 * FT)
    assert stopped is not None
    assert stopped.values["because"].code == "machine-not-onto-lot"


@pytest.mark.parametrize(
    ("width_m", "aside_m"),
    # half of its width on either side; drawn without one, a stream takes a metre (common practice,
    # no source)
    [(6.0, 3.0), (1.4, 0.7), (0.0, 0.5)],
)
def test_a_stream_stops_a_machine_by_half_of_its_width(width_m: float, aside_m: float) -> None:
    brook = Feature("brook", "stream", LineString([(0, 0), (100, 0)]), width_m=width_m)
    # arcs lie outside the true circle, by less than a thousandth
    assert obstacle_of(brook).bounds[3] == pytest.approx(aside_m, rel=2e-3)


@pytest.mark.parametrize(
    ("shape", "passes"),
    [
        ("line = [[40, 10], [60, 10]]", True),
        ("area = [[44, 8], [56, 8], [56, 12], [44, 12]]", False),
    ],
)
def test_the_check_lets_a_machine_drive_over_a_drain_and_over_no_basin_of_it(
    make: Make, shape: str, passes: bool
) -> None:
    site = make(f'{STREET}[[feature]]\nid = "drain"\nkind = "storm drain"\n{shape}\n', side=12)
    found = broken(site, LineString([(50 * FT, 0), (50 * FT, 20 * FT)]))
    assert (not any("drain" in message for message in found)) is passes, found


@pytest.mark.parametrize(("away_ft", "told"), [(15.0, False), (18.0, True)])
def test_a_way_begins_within_two_widths_of_the_gate(make: Make, away_ft: float, told: bool) -> None:
    # the rig is 8 ft wide: 16 ft from where it is said to come in
    site = make(tables="[rig]\nfrom = [50, 0]\n", side=12)
    x = (50 + away_ft) * FT
    found = broken(site, LineString([(x, 0), (x, 20 * FT)]))
    assert any("does not begin" in message for message in found) is told, found
