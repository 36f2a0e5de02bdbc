"""A header trench that is dug wider keeps its width's distance from a line it runs beside."""

import pytest
from planned import unweighed
from shapely import LineString, MultiLineString

from siteplan.site.readers.site_file import read_site

FT = 0.3048
# 36 bores in groups of 6, as the header has it: 6 pipes on each side of the trench at the entry, in
# one column of a trench 2 ft wide six layers, so it is dug 3 ft wide
FIELD = """[project]
title = "W"
owner = "O"
date = 2026-11-27
units = "m"
[geometry]
parcel = [[0,0],[60,0],[60,110],[0,110]]
[[feature]]
id = "street"
kind = "street"
line = [[-20,-8],[80,-8]]
[[feature]]
id = "house"
kind = "building"
area = [[15,6],[45,6],[45,20],[15,20]]
@GAS
[[entry]]
id = "e"
at = [33,20]
[exchanger]
system = "vertical"
length = {given="3600 m", by="J. Doe"}
[vertical]
spacing = "6 m"
depth = "100 m"
grid = { corner=[15,62], along="N 90 E", rows=6, columns=6 }
[circuits]
flow = "20 L/s"
[header]
layout = "direct return"
group = 6
"""


@pytest.fixture
def planned(write_site):
    def plan(*lines_x):
        gas = "".join(
            f'[[feature]]\nid = "gas {x}"\nkind = "gas line"\nline = [[{x}, 22], [{x}, 58]]\n'
            for x in lines_x
        )
        return unweighed(read_site(write_site(FIELD.replace("@GAS\n", gas))), "vertical")

    return plan


def gap(plan, x):
    """From the middle of the header to a line that runs north [m]."""
    runs = MultiLineString(plan.drawn.layout.header.runs)
    return runs.distance(LineString([(x, 22), (x, 58)]))


def codes(plan):
    return {finding.code for finding in plan.drawn.findings}


@pytest.mark.parametrize("x", [34.26, 31.74])
def test_a_header_dug_wider_is_led_so_far_from_a_line_as_its_width_asks(planned, x):
    # the straight way at 33 m is 1.26 m from the line: enough for 3 ft (common practice, no source)
    # from the side of a trench 2 ft wide, 4 ft, not for one 3 ft wide, 4.5 ft
    plan = planned(x)
    assert "header-trench-wider" in codes(plan)
    assert max(piece.width_m for piece in plan.drawn.layout.piping.pieces) == pytest.approx(3 * FT)
    assert "wide-header-near-line" not in codes(plan)
    assert gap(plan, x) >= 4.5 * FT
    assert plan.fits


def test_a_header_far_enough_for_its_width_is_left_where_it_is(planned):
    assert gap(planned(34.4), 34.4) == pytest.approx(1.4)
