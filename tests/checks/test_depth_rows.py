"""Rows of the table of separations that speak of depth: where a rule holds, how deep it lets."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
import shapely
from shapely import Point

from siteplan.checks.limits import limit_rows
from siteplan.layout.elements import Bore
from siteplan.layout.model import Layout
from siteplan.rule_books.when import Range

WELL = SimpleNamespace(id="w", shape=Point(50.0, 20.0), casing_m=12.0)


def rows(rule, *bores, feature=WELL):
    """Rows of bores where a rule of depth is asked of one thing on the lot."""
    site = SimpleNamespace(parcel=shapely.box(0, 0, 60, 40), features=(WELL,), of_kind=lambda _: [])
    rules = SimpleNamespace(
        depth_limits=lambda _, asked: [rule] if asked is feature else [],
        apart=lambda _: None, nearest_return=lambda: None, rear_yard=lambda _: None,
    )  # fmt: skip
    layout = Layout("vertical", bores, None, 6.0, 0.0)
    return list(limit_rows(site, layout, rules))


class Limit(SimpleNamespace):
    """A rule of depth, told from others as the very one."""

    __hash__ = object.__hash__


def limit(distance, *, within=None, measure="depth"):
    return Limit(distance_m=distance, within=within, measure=measure, sense="most")


def bore(x, depth, tilt=0.0):
    return Bore("B1", x, 20.0, 0.15, depth, tilt_deg=tilt)


def test_a_rule_for_the_whole_lot_has_a_row_with_the_depth_drilled():
    (row,) = rows(limit(60.0), bore(10.0, 45.0), feature=None)
    assert row.provided_m == pytest.approx(45.0)


@pytest.mark.parametrize(("x", "told"), [(10.0, False), (39.0, False), (41.0, True), (49.0, True)])
def test_a_rule_within_ten_metres_of_a_well_has_a_row_for_bores_within_them_alone(x, told):
    # from the bore to the well it is 40, 11, 9 and 1 m
    found = rows(limit(60.0, within=Range(0.0, 10.0)), bore(x, 45.0))
    assert bool(found) is told


def test_below_a_casing_the_depth_is_told_from_its_foot():
    # 45 m deep, the casing of the well 12 m
    (row,) = rows(limit(30.0, measure="below casing"), bore(45.0, 45.0))
    assert row.provided_m == pytest.approx(33.0)


def test_a_leaning_bore_is_as_deep_as_its_lower_end():
    # 60 degrees from upright: half of its length
    (row,) = rows(limit(60.0), bore(10.0, 40.0, tilt=60.0), feature=None)
    assert row.provided_m == pytest.approx(20.0)
