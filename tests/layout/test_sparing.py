"""A field keeps off ground to be spared where it lies elsewhere for little more."""

from __future__ import annotations

import numpy as np
import pytest
import shapely
from shapely import LineString, MultiLineString, Point, box

from siteplan.layout.bores.upright import lay_out_bores
from siteplan.layout.model import Ground, Layout, Spared
from siteplan.layout.sparing import BORE_M, TRENCH_SHARE, on_lines, on_points, quieter
from siteplan.layout.trenches.field import lay_out_trenches
from siteplan.site.model import Entry, HorizontalOptions, VerticalOptions

LOT = box(0, 0, 100, 100)
TRENCHES = HorizontalOptions(
    spacing_m=3.0, depth_m=1.5, width_m=0.6, pipes=2, shortest_m=12.0, longest_m=60.0
)
BORES = VerticalOptions(spacing_m=6.0, depth_least_m=50.0, depth_most_m=100.0, diameter_m=0.15)


def lot(*spared: Spared, entry: tuple[float, float] = (50.0, 45.0)) -> Ground:
    return Ground(LOT, LOT, (Entry("E1", Point(entry)),), spared=spared)


def yard_to(north_m: float) -> Spared:
    return Spared("front yard", box(0, 0, 100, north_m))


def in_yard(layout: Layout, yard: Spared) -> float:
    lines = MultiLineString([trench.line for trench in layout.elements])
    return float(lines.intersection(yard.shape).length)


def test_trenches_keep_off_where_as_many_fit_elsewhere_for_little_more() -> None:
    # the deeper half of the lot holds longer trenches; in the other it takes one or two more,
    # against 300 m of trench at a twentieth
    yard = Spared("front yard", box(0, 45, 100, 100))
    near = lay_out_trenches(lot(), TRENCHES, 300.0)
    assert in_yard(near, yard) > 200
    spared = lay_out_trenches(lot(yard), TRENCHES, 300.0)
    assert in_yard(spared, yard) == pytest.approx(0, abs=1e-3)
    assert spared.length_m == pytest.approx(near.length_m)
    assert spared.kept_off is not None
    assert spared.kept_off.names == ("front yard",)
    more = spared.header.length_m - near.header.length_m
    assert spared.kept_off.more_m == pytest.approx(more)
    assert more <= TRENCH_SHARE * in_yard(near, yard)


def test_trenches_stay_where_keeping_off_takes_more_than_it_is_worth() -> None:
    # behind the yard lies a strip of 20 m, 75 m from the entry; 120 m of trench are worth 6 m
    yard = yard_to(80.0)
    near = lay_out_trenches(lot(entry=(50, 5)), TRENCHES, 120.0)
    spared = lay_out_trenches(lot(yard, entry=(50, 5)), TRENCHES, 120.0)
    assert spared.kept_off is None
    assert spared.elements == near.elements


def test_a_lot_that_is_all_to_be_spared_has_the_same_field() -> None:
    whole = yard_to(100.0)
    assert (
        lay_out_trenches(lot(whole), TRENCHES, 300.0).elements
        == lay_out_trenches(lot(), TRENCHES, 300.0).elements
    )


def test_bores_keep_off_where_as_many_stand_as_far_apart_for_little_more() -> None:
    yard = Spared("front yard", box(0, 0, 100, 47))
    near = lay_out_bores(lot(), BORES, 400.0)
    spared = lay_out_bores(lot(yard), BORES, 400.0)
    counts = [
        sum(bore.footprint.centroid.y < 47 - 0.001 for bore in each.elements)
        for each in (near, spared)
    ]
    assert counts[0] > counts[1] == 0
    assert len(spared.elements) == len(near.elements)
    assert spared.spacing_m == pytest.approx(near.spacing_m)
    assert spared.capacity_m == near.capacity_m
    assert spared.kept_off is not None
    assert spared.header.length_m <= near.header.length_m + BORE_M * counts[0]


def test_each_ground_is_weighed_and_left_by_itself() -> None:
    drive = Spared("drive", box(40, 0, 60, 100))
    line = LineString([(0, 10), (100, 10)])
    costs = on_lines((yard_to(50.0), drive), [line])
    assert costs == pytest.approx({"front yard": 100 * TRENCH_SHARE, "drive": 20 * TRENCH_SHARE})
    points = np.array([[50.0, 10.0], [10.0, 10.0], [10.0, 90.0]])
    assert on_points((yard_to(50.0), drive), points) == {"front yard": 2 * BORE_M, "drive": BORE_M}
    rooms = list(quieter(LOT, (yard_to(50.0), drive), {"drive": 1.0}))
    # off both, and off the drive alone
    assert [round(room.area) for room in rooms] == [80 * 50, 80 * 100]
    assert not any(shapely.intersects(room.buffer(-1e-6), drive.shape) for room in rooms)
