"""Sizes that a site file asks for, brought to what rules leave of them: the wider holds."""

from __future__ import annotations

import tomllib
from types import SimpleNamespace

import pytest
from small_lot import GROUND

from siteplan.rules.limits import within_limits
from siteplan.site.readers.site_file import site_from

ASKED = """\
[exchanger]
entry = [[80, 70]]
length = { given = "400 m", by = "a designer" }
[vertical]
spacing = { least = "5 m", most = "8 m" }
depth = { least = "40 m", most = "90 m" }
[horizontal]
spacing = "3 m"
[open]
separation = "20 m"
diameter = "0.2 m"
"""


def rules(*, bore=None, trench=None, wells=None, deep=None):
    """Rules that keep bores, trenches and wells so far apart and let bores go so deep [m]."""
    apart = {"bore": bore, "trench": trench}

    def said(distance_m):
        return None if distance_m is None else SimpleNamespace(distance_m=distance_m, measure="")

    return SimpleNamespace(
        apart=lambda part: said(apart[part]),
        nearest_return=lambda: said(wells),
        depth_limits=lambda _, thing: [said(deep)] if deep and thing is None else [],
    )


def sizes(more="", **asked):
    site = site_from(tomllib.loads(GROUND + ASKED + more))
    return within_limits(site, rules(**asked)).exchanger


@pytest.mark.parametrize("rule_m", [None, 4.0, 5.0, 6.5, 8.0, 9.0])
def test_bores_stand_as_far_apart_as_asked_and_as_a_rule_asks(rule_m):
    found = sizes(bore=rule_m).vertical
    assert found.spacing_m == pytest.approx(max(5.0, rule_m or 0.0))
    assert found.spacing_most_m == pytest.approx(max(8.0, rule_m or 0.0))


@pytest.mark.parametrize("rule_m", [None, 4.0, 6.0, 9.0])
def test_a_grid_without_a_corner_is_widened_and_one_at_a_typed_place_is_not(rule_m):
    grid = '[vertical.grid]\nrows = 2\ncolumns = 2\nspacing = "5 m"\nrow_spacing = "7 m"\n'
    free = sizes(grid, bore=rule_m).vertical.grid
    assert (free.spacing_m, free.row_spacing_m) == pytest.approx(
        (max(5.0, rule_m or 0.0), max(7.0, rule_m or 0.0))
    )
    typed = sizes(grid + "corner = [40, 40]\nalong = 90\n", bore=rule_m).vertical
    assert (typed.grid.spacing_m, typed.grid.row_spacing_m) == pytest.approx((5.0, 7.0))


@pytest.mark.parametrize("rule_m", [None, 2.0, 4.5])
def test_trenches_lie_as_far_apart_as_asked_and_as_a_rule_asks(rule_m):
    assert sizes(trench=rule_m).horizontal.spacing_m == pytest.approx(max(3.0, rule_m or 0.0))


@pytest.mark.parametrize(("rule_m", "apart_m"), [(None, 20.0), (15.0, 20.0), (30.0, 30.2)])
def test_wells_are_measured_from_casing_to_casing(rule_m, apart_m):
    # 0.2 m wide each: from centre to centre by as much more
    assert sizes(wells=rule_m).open.separation_m == pytest.approx(apart_m)


@pytest.mark.parametrize(
    ("deep_m", "most_m"),
    # what no depth asked for keeps stays as it is, and is told elsewhere
    [(None, 90.0), (100.0, 90.0), (90.0, 90.0), (60.0, 60.0), (40.0, 40.0), (39.0, 90.0)],
)
def test_bores_go_no_deeper_than_a_rule_lets_them(deep_m, most_m):
    found = sizes(deep=deep_m).vertical
    assert (found.depth_least_m, found.depth_most_m) == pytest.approx((40.0, most_m))
