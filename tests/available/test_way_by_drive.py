"""A machine comes in by the driveway, and not past tank and drainfield, where that serves.

That contractors drive on what is paved and stay off septic systems is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
import shapely
from shapely import LineString, Point

from siteplan.available.access import machine_ground
from siteplan.available.way_in import way_in
from siteplan.geometry.ways import driving, poses
from siteplan.layout.elements import Bore, Trench
from siteplan.site.model import Site
from siteplan.site.readers.site_file import read_site

FT = 0.3048
LOT = """\
[project]
title = "Open lot"
owner = "A. Owner"
date = 2026-03-14
units = "ft"

[geometry]
parcel = [[0, 0], [130, 0], [130, 140], [0, 140]]

[[feature]]
id = "road"
kind = "street"
line = [[-20, -20], [150, -20]]

[[feature]]
id = "house"
kind = "building"
area = [[45, 40], [85, 40], [85, 70], [45, 70]]

{more}
[exchanger]
system = "vertical"
length = {{ given = "300 ft", by = "test" }}
entry = [[65, 70]]
"""
DRIVE = '[[feature]]\nkind = "driveway"\narea = [[92, 0], [104, 0], [104, 70], [92, 70]]\n'
SEPTIC = """\
[[feature]]
kind = "septic tank"
area = [[22, 38], [30, 38], [30, 44], [22, 44]]

[[feature]]
kind = "drainfield"
area = [[2, 60], [26, 60], [26, 90], [2, 90]]
"""


@pytest.fixture
def way(
    write_site: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> Callable[..., tuple[LineString, Site]]:
    """Way of the rig to a bore behind the house, and the site; feet in, metres out."""
    # coarser than a plan's: enough to see on which side of a house a way runs
    monkeypatch.setattr(driving, "MOST_CELLS", 700)
    monkeypatch.setattr(poses, "MOST_PIXELS", 40_000)

    def found(more: str, at: tuple[float, float]) -> tuple[LineString, Site]:
        site = read_site(write_site(LOT.format(more=more)))
        ground = machine_ground(site, "vertical")
        assert ground is not None
        bore = Bore("B1", at[0] * FT, at[1] * FT, diameter_m=0.15, depth_m=90.0)
        return way_in(site, ground, (bore,)), site

    return found


def test_the_drive_is_taken_where_the_lawn_is_no_longer(
    way: Callable[..., tuple[LineString, Site]],
) -> None:
    # from the middle of the house both sides are alike but for the drive on one
    by_lawn, _ = way("", (60, 85))
    by_drive, site = way(DRIVE, (60, 85))
    (drive,) = site.of_kind("driveway")
    assert by_lawn.coords[0][0] < 45 * FT  # west of the house: no drive leads the other way
    # beside the drive its wheels may stray, but for what they drive on to the bore
    on_drive = by_drive.intersection(drive.shape.buffer(5 * FT))
    assert on_drive.length > 65 * FT
    assert by_drive.length < 1.5 * by_lawn.length


def test_tank_and_drainfield_are_passed_on_the_other_side_where_a_drive_is(
    way: Callable[..., tuple[LineString, Site]],
) -> None:
    straight, site = way(SEPTIC, (55, 85))
    round_them, _ = way(DRIVE + SEPTIC, (55, 85))
    harmed = shapely.union_all([each.shape for each in site.of_kind("septic tank", "drainfield")])
    # without a drive the gap of 15 ft between tank and house is the nearest way in
    assert straight.coords[-1] == pytest.approx((55 * FT, 85 * FT))
    assert straight.intersects(shapely.box(30 * FT, 38 * FT, 45 * FT, 44 * FT))
    assert round_them.coords[0][0] > 85 * FT
    assert round_them.distance(harmed) > straight.distance(harmed)


def test_a_drive_far_out_of_the_way_is_not_taken(
    way: Callable[..., tuple[LineString, Site]],
) -> None:
    by_lawn, site = way(DRIVE, (15, 60))
    (drive,) = site.of_kind("driveway")
    assert by_lawn.distance(drive.shape) > 50 * FT
    assert by_lawn.distance(Point(15 * FT, 60 * FT)) == pytest.approx(0.0)


def test_wheels_stay_on_a_drive_that_is_wide_enough(
    way: Callable[..., tuple[LineString, Site]],
) -> None:
    by_drive, site = way(DRIVE, (98, 100))
    half = site.exchanger.rig.width_m / 2
    on_drive = by_drive.intersection(shapely.box(0, 0, 200, 60 * FT))
    # a raster cell more is what the search may err by
    assert shapely.box(91 * FT, -1, 105 * FT, 200).covers(on_drive.buffer(half, cap_style="flat"))


def test_a_kerb_is_not_crossed_beside_a_drive_that_leads_there_too(
    write_site: Callable[..., Path], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(driving, "MOST_CELLS", 400)
    monkeypatch.setattr(poses, "MOST_PIXELS", 20_000)
    # along the street: a bucket gets there from anywhere on it
    trench = Trench("T1", LineString([(5 * FT, 9 * FT), (125 * FT, 9 * FT)]), 0.6, 1.5, 2)
    starts = []
    for more in ("", DRIVE):
        site = read_site(write_site(LOT.format(more=more).replace('"vertical"', '"horizontal"')))
        ground = machine_ground(site, "horizontal")
        assert ground is not None
        way = way_in(site, ground, (trench,))
        starts.append(way.coords[0][0])
        # with all of its tracks on the lot
        assert way.length >= ground.machine.length_m - 2 * ground.reach.raster.size
    assert not 87 * FT < starts[0] < 109 * FT
    assert 87 * FT < starts[1] < 109 * FT  # the drive, and 5 ft beside it


def test_no_way_runs_along_a_line_in_the_ground_where_it_may_run_beside(
    way: Callable[..., tuple[LineString, Site]],
) -> None:
    # where the way runs without it, between the house and the side of the lot
    along = '[[feature]]\nkind = "electric line"\nline = [[36, -5], [36, 100]]\n'
    free, _ = way("", (60, 85))
    clear, site = way(along, (60, 85))
    (line,) = site.of_kind("electric line")
    over = line.shape.buffer(2 * FT)
    assert free.intersection(over).length > clear.intersection(over).length
    assert clear.intersection(over).length < 10 * FT


def test_a_line_all_round_the_drive_is_crossed_from_it(
    way: Callable[..., tuple[LineString, Site]],
) -> None:
    # a way that goes round the line comes in over the kerb, and one over the lawn crosses it too
    round_it = '[[feature]]\nkind = "water line"\nline = [[86, -5], [86, 78], [150, 78]]\n'
    by_drive, site = way(DRIVE + round_it, (122, 100))
    (drive,) = site.of_kind("driveway")
    assert 87 * FT < by_drive.coords[0][0] < 109 * FT
    assert by_drive.intersection(drive.shape.buffer(5 * FT)).length > 60 * FT
