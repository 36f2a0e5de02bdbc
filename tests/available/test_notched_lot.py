"""A lot with a notch: from the neighbour's ground in it no machine comes over another side.

Trespass is what a way in over a neighbour's ground would be: common practice, no source.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest
from shapely import Point

from siteplan.available.access import machine_ground
from siteplan.available.frontage import apron_of, frontage_of
from siteplan.available.prepared import lot_of
from siteplan.checks.access import access_findings
from siteplan.design.evaluate import try_system
from siteplan.site.readers.site_file import read_site

FT = 0.3048
# a pole to the street 25 ft wide; the drive leaves it over its east side, crosses the neighbour's
# ground in the notch, and comes back over the south side of the lot behind
LOT = """\
[project]
title = "Flag lot"
owner = "A. Owner"
date = 2026-03-14
units = "ft"
[geometry]
parcel = [[0, 0], [25, 0], [25, 90], [100, 90], [100, 300], [0, 300]]
[[feature]]
kind = "street"
line = [[-50, -15], [150, -15]]
[[feature]]
kind = "driveway"
area = [[5, -10], [19, -10], [48, 200], [34, 200]]
[[feature]]
kind = "building"
area = [[40, 215], [80, 215], [80, 245], [40, 245]]
[exchanger]
system = "vertical"
length = { given = "600 ft", by = "test" }
entry = [[60, 215]]
"""


def test_the_ground_before_one_side_does_not_open_another(
    write_site: Callable[..., Path],
) -> None:
    site = read_site(write_site(LOT))
    rig = site.exchanger.rig
    assert rig is not None
    opens = frontage_of(site.parcel, site.features, rig)
    apron = apron_of(site.parcel, opens, 20.0)
    # 70 ft east on the south side: nothing leads over it, though it lies before the pole's side
    for east in (60, 70, 80):
        assert opens.distance(Point(east * FT, 90 * FT)) > 5 * FT
        beside = Point(east * FT, 90 * FT).buffer(0.015)
        assert not apron.intersects(beside)


@pytest.mark.parametrize("width", ["6 ft", "8 ft"])
def test_the_way_in_begins_where_something_leads_over_the_line(
    width: str, write_site: Callable[..., Path]
) -> None:
    site = read_site(write_site(f'{LOT}[rig]\nwidth = "{width}"\n'))
    trial = try_system(lot_of(site), "vertical")
    assert trial.layout is not None
    access = trial.layout.access
    assert access is not None
    assert not access.path.is_empty
    assert not list(access_findings(site, trial.layout))
    ground = machine_ground(site, "vertical")
    assert ground is not None
    assert ground.frontage.distance(Point(access.path.coords[0])) < 1e-6
