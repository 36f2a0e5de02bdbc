"""The distance of a bent wide pit: to its middle line less half its width, round the bend too.

What is dug is all ground within half the width of the middle line, so beside a bend the distance
of a point follows from that line by geometry alone.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest
import shapely
from shapely import LineString, Point

from siteplan.checks.opened import opened_ground
from siteplan.checks.separations import separations
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.elements import Trench
from siteplan.layout.model import Layout
from siteplan.rules.ruleset import rules_of
from siteplan.site.readers.site_file import read_site

FT = 0.3048


@pytest.mark.parametrize("turned_ft", [2.0, 8.0, 20.0, 60.0])
@pytest.mark.parametrize("beside_ft", [-1.5, -0.2, 0.0, 0.7, 3.0])
def test_round_a_bend_a_wide_pit_reads_no_farther_than_it_is(
    turned_ft: float, beside_ft: float, lot_text: str, write_site: Callable[..., Path]
) -> None:
    bare = lot_text.partition("[[feature]]")[0]
    feature = f'[[feature]]\nid = "thing"\nkind = "tree"\nat = [{100 + beside_ft}, 60]\n'
    wanted = '[exchanger]\nlength = { given = "300 ft", by = "x" }\nentry = [[100, 12]]\n'
    site = read_site(write_site(f"{bare}{feature}{wanted}"))
    line = LineString([(40 * FT, 90 * FT), (100 * FT, 90 * FT), (160 * FT, (90 + turned_ft) * FT)])
    pit = Trench("T1", line, 12 * FT, 4 * FT, 6)
    layout = Layout("horizontal", (pit,), None, 3.0, 0.0)
    rows = separations(site, layout, rules_of(site))
    row = next(row for row in rows if row.feature == "thing")
    tree = Point((100 + beside_ft) * FT, 60 * FT)
    # whatever the rule measures from beside it (roots, canopy) is the same for both
    straight = Trench("T1", LineString([(40 * FT, 90 * FT), (160 * FT, 90 * FT)]), 12 * FT, 1.2, 6)
    level = separations(site, Layout("horizontal", (straight,), None, 3.0, 0.0), rules_of(site))
    kept = 24 * FT - next(row for row in level if row.feature == "thing").provided_m
    assert row.provided_m == pytest.approx(tree.distance(line) - 6 * FT - kept, abs=1e-6)


@pytest.mark.parametrize("width_m", [0.3, 1.2, 3.7, 9.0])
def test_no_chord_of_a_bend_lies_inside_its_arc_by_more_than_the_slack(width_m: float) -> None:
    bent = LineString([(0, 0), (30, 0), (55, 9), (60, 40)])
    opened = opened_ground(Trench("T1", bent, width_m, 1.2, 6))
    # an arc is half a width from the middle line everywhere; a chord comes nearest in its middle
    corners = np.array(opened.exterior.coords)
    middles = shapely.points((corners[1:] + corners[:-1]) / 2)
    off = shapely.distance(middles, bent)
    # both square ends have the middle line at their own middle
    assert np.sort(off)[2] > width_m / 2 - TOLERANCE
