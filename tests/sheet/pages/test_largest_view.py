"""The window on the plan: the largest scale, north turned only where it gains one."""

from __future__ import annotations

from dataclasses import replace
from math import cos, radians, sin

import pytest
import shapely
from drawn_once import compose_set
from legible import plot_faults
from sheet_lots import rural, suburban, thin_lot

from siteplan.sheet.model import View
from siteplan.sheet.pages.largest_view import MOST_TURN_DEG, largest_view
from siteplan.sheet.pages.strip import StripPlan
from siteplan.sheet.style.paper import paper

STRIP = StripPlan(1, 88.0, 1)
PAGE = paper("ANSI B").shrunk()


def with_options(content, **options):
    sheet = replace(content.site.sheet, **options)
    return replace(content, site=replace(content.site, sheet=sheet, books=()))


def test_a_turned_view_turns_the_ground_counter_clockwise_about_its_middle():
    # 1:100, so that a metre is 10 mm; a point 1 m east of the middle, turned by 30 degrees
    view = View(100.0, "", 10.0, 20.0, 100.0, 60.0, (5.0, 5.0), 30.0)
    (x, y), middle = view.to_paper([(6.0, 5.0)])[0], (60.0, 50.0)
    assert (x, y) == pytest.approx(
        (middle[0] + 10.0 * cos(radians(30.0)), middle[1] + 10.0 * sin(radians(30.0)))
    )
    assert view.to_model([(x, y)])[0] == pytest.approx((6.0, 5.0))


@pytest.mark.parametrize("lot", [rural, suburban, thin_lot])
def test_north_is_turned_only_for_a_larger_scale(lot):
    turned = largest_view(lot(), PAGE, STRIP)
    upright = largest_view(with_options(lot(), turned=False), PAGE, STRIP)
    assert upright.turn_deg == 0.0
    assert abs(turned.turn_deg) <= MOST_TURN_DEG
    assert turned.ratio < upright.ratio if turned.turn_deg else turned.ratio == upright.ratio


def test_a_long_lot_is_turned_and_all_of_it_lies_in_the_window():
    view = largest_view(thin_lot(), PAGE, STRIP)
    assert view.turn_deg
    window = shapely.box(
        view.left_mm, view.bottom_mm, view.left_mm + view.width_mm, view.bottom_mm + view.height_mm
    )
    seen = shapely.MultiPoint(view.to_paper(thin_lot().site.parcel.exterior.coords))
    assert window.contains(seen)


@pytest.mark.thorough
def test_a_turned_plan_can_be_read():
    sheets = compose_set(with_options(thin_lot(), sheets="full"))
    assert sheets[0].view.turn_deg
    assert [plot_faults(sheet) for sheet in sheets[:2]] == [(), ()]


@pytest.mark.thorough
def test_text_of_a_turned_plan_reads_from_below_or_from_the_right():
    sheet, *_ = compose_set(with_options(thin_lot(), sheets="full"))
    for item in sheet.primitives:
        if item.space == "model" and hasattr(item, "anchor"):
            on_paper = (item.angle_deg + sheet.view.turn_deg + 180.0) % 360.0 - 180.0
            assert -85.0 <= on_paper <= 95.0
