"""Inclined bores from one pad: where they lean, how far apart they keep, what stops them."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import combinations
from pathlib import Path

import numpy as np
import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.spatial.distance import cdist
from shapely import LineString, Point, Polygon, box
from wording import in_words

from siteplan.advisories.remarks import remarks_on
from siteplan.available.prepared import lot_of
from siteplan.checks.check import check_layout
from siteplan.checks.separations import separations
from siteplan.demand.model import Required
from siteplan.errors import InputError
from siteplan.findings.model import reason
from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.bores.inclined import lay_out_pad
from siteplan.layout.elements import Bore
from siteplan.layout.model import Ground, Layout
from siteplan.plan import plan_site
from siteplan.rules.ruleset import rules_of
from siteplan.site.model import Entry, PadOptions, VerticalOptions
from siteplan.site.readers.site_file import read_site

FT = 0.3048
OPTIONS = VerticalOptions(
    spacing_m=6.0,
    depth_least_m=40.0,
    depth_most_m=100.0,
    diameter_m=0.15,
    pad=PadOptions(tilt_deg=20.0, collar_spacing_m=2.0),
)
LOT = box(0, 0, 40, 50)


def lay_out(collars: Polygon, required_m: float, under: Polygon = LOT) -> Layout:
    """Pad on a ground whose header may run all over the lot."""
    entries = (Entry("E1", Point(20.0, 1.0)),)
    return lay_out_pad(Ground(collars, LOT, entries), OPTIONS, required_m, under)


def along(bore: Bore) -> np.ndarray:
    """Points along a bore, a decimetre apart."""
    top, bottom = np.array([bore.x_m, bore.y_m, 0.0]), np.array(bore.toe) * [1, 1, -1]
    share = np.linspace(0.0, 1.0, int(bore.depth_m * 10) + 1)[:, None]
    return top + share * (bottom - top)


def test_a_pad_five_metres_wide_holds_what_upright_bores_need_a_field_for():
    layout = lay_out(box(17.5, 20, 22.5, 25), 400.0)
    assert layout.obstacle is None
    assert [bore.id for bore in layout.elements] == ["B1", "B2", "B3", "B4"]
    assert layout.length_m >= 400.0


def test_bores_keep_apart_measured_point_by_point():
    layout = lay_out(box(17.5, 20, 22.5, 25), 400.0)
    for first, second in combinations(layout.elements, 2):
        one, other = along(first), along(second)
        assert cdist(one, other).min() >= 2.0 - TOLERANCE
        assert np.linalg.norm(one - other, axis=1).mean() >= 6.0 - 0.01


def test_every_toe_stays_within_the_lot():
    layout = lay_out(box(17.5, 20, 22.5, 25), 400.0)
    assert all(LOT.covers(Point(bore.toe[:2])) for bore in layout.elements)


def test_no_bore_passes_under_what_it_may_not():
    under = LOT.difference(box(0, 26, 40, 28))
    layout = lay_out(box(17.5, 20, 22.5, 25), 300.0, under)
    assert layout.elements
    assert not any(bore.course.intersects(box(0, 26.1, 40, 27.9)) for bore in layout.elements)


def test_a_single_bore_stands_upright():
    (bore,) = lay_out(box(17.5, 20, 22.5, 25), 90.0).elements
    assert bore.tilt_deg == 0.0
    assert bore.toe[:2] == (bore.x_m, bore.y_m)


def test_too_little_room_below_says_how_many_were_found():
    narrow = box(17.5, 20, 22.5, 25)
    layout = lay_out(narrow, 900.0, under=narrow)
    assert "from one pad 2 bores leaning at most 20 deg" in in_words(layout.obstacle)
    assert "9 are needed at the 328 ft limit" not in in_words(layout.obstacle)  # 100 m: 328.1 ft
    assert "9 are needed at the 328.1 ft limit" in in_words(layout.obstacle)


@cache
def bores_of(required_m: float) -> Layout:
    return lay_out(box(18, 20, 22, 24), required_m)


@settings(max_examples=several(6, 40), deadline=None)
@given(st.integers(2, 6), st.floats(0, 30), st.floats(0, 40))
def test_the_same_ground_moved_gives_the_same_bores(count, east, north):
    required = count * 100.0
    here = bores_of(required)
    entries = (Entry("E1", Point(20.0 + east, 1.0 + north)),)
    lot = box(east, north, 40 + east, 50 + north)
    pad = box(18 + east, 20 + north, 22 + east, 24 + north)
    there = lay_out_pad(Ground(pad, lot, entries), OPTIONS, required, lot)
    assert len(here.elements) == len(there.elements)


@pytest.fixture
def pad_site(lot_text: str, write_site: Callable[..., Path]):
    def made(vertical: str):
        text = lot_text.partition("[vertical]")[0] + f"\n[vertical]\n{vertical}\n"
        return read_site(write_site(text))

    return made


def test_a_pad_planned_from_a_site_file_passes_the_check(pad_site):
    site = pad_site(
        'pad = { tilt = "15 deg" }\nlength = { given = "900 ft", by = "T. Est" }\n'
        'depth = { least = "150 ft", most = "300 ft" }'
    )
    plan = plan_site(site, system="vertical")
    assert plan.fits, in_words(plan.drawn.why)
    bores = plan.drawn.layout.elements
    assert len(bores) == 3
    assert max(bore.tilt_deg for bore in bores) <= 15.0
    subjects = [row.rule.subject for row in plan.drawn.separations]
    assert "bore, anywhere" in subjects
    assert "bore, on average" in subjects


def test_a_toe_across_the_property_line_is_caught(pad_site):
    site = pad_site('pad = {}\nlength = { given = "300 ft", by = "T. Est" }')
    x, y = site.parcel.centroid.coords[0]
    bores = (Bore("B1", x, y, 0.15, 300 * FT, 60.0, 90.0),)
    layout = Layout("vertical", bores, None, 6.0, 0.0)
    findings = check_layout(site, layout, separations(site, layout, rules_of(site)), 0.0)
    assert "outside-parcel" in [finding.code for finding in findings]


def test_bores_that_lean_into_each_other_are_caught(pad_site):
    site = pad_site('pad = {}\nlength = { given = "600 ft", by = "T. Est" }')
    x, y = site.parcel.centroid.coords[0]
    bores = (
        Bore("B1", x - 5.0, y, 0.15, 60.0, 10.0, 90.0),
        Bore("B2", x + 5.0, y, 0.15, 60.0, 10.0, 270.0),
    )
    layout = Layout("vertical", bores, None, 6.0, 0.0)
    findings = check_layout(site, layout, separations(site, layout, rules_of(site)), 0.0)
    spacing = [finding for finding in findings if finding.code == "spacing"]
    # they cross: 5 m / sin 10 deg = 28.8 m drilled; on average 10 - s 2 sin 10 over 60 m
    assert min(finding.measured_m for finding in spacing) == pytest.approx(0.0, abs=1e-6)
    rows = {row.rule.subject: row.provided_m for row in separations(site, layout, rules_of(site))}
    assert rows["bore, anywhere"] == pytest.approx(0.0, abs=1e-6)
    # two triangles: 10 m down to nothing in 28.79 m, then up to 10.84 m in the 31.21 m left
    assert rows["bore, on average"] == pytest.approx((143.97 + 169.15) / 60, abs=0.01)


def test_an_inclined_bore_keeps_off_wells_along_its_whole_length(pad_site):
    site = pad_site('pad = {}\nlength = { given = "300 ft", by = "T. Est" }')
    (well, *_) = site.of_kind("potable well")
    toward = LineString([site.parcel.centroid, well.shape.centroid])
    collar = toward.interpolate(toward.length - 105 * FT) if toward.length > 40 else None
    start = collar or toward.interpolate(0.0)
    (wx, wy), (x, y) = well.shape.centroid.coords[0], start.coords[0]
    azimuth = float(np.degrees(np.arctan2(wx - x, wy - y)) % 360)
    leaning = Layout("vertical", (Bore("B1", x, y, 0.15, 60.0, 15.0, azimuth),), None, 6.0, 0.0)
    upright = Layout("vertical", (Bore("B1", x, y, 0.15, 60.0),), None, 6.0, 0.0)
    rules = rules_of(site)
    near, far = (
        next(row for row in separations(site, one, rules) if row.feature == well.id).provided_m
        for one in (leaning, upright)
    )
    # 60 m at 15 deg lead 15.5 m towards the well
    assert far - near == pytest.approx(min(60 * np.sin(np.radians(15)), far), abs=0.2)


def test_what_lies_above_an_inclined_bore_is_named_with_the_depth(pad_site):
    site = pad_site('pad = {}\nlength = { given = "300 ft", by = "T. Est" }')
    # collar 20 ft east of the house, leaning west at 20 deg: 20 / tan 20 = 54.9 ft below
    bores = (Bore("B1", 120 * FT, 55 * FT, 0.15, 300 * FT, 20.0, 270.0),)
    layout = Layout("vertical", bores, None, 6.0, 0.0)
    required = Required(0.0, "given", reason("length-not-known"))
    found = remarks_on(lot_of(site), layout, required, ())
    (message,) = [in_words(one) for one in found if one.code == "passes-under"]
    assert message.startswith("Bore B1 passes under house (building), at least 54 ft below")


def test_a_number_of_bores_asked_for_is_kept(pad_site):
    site = pad_site('pad = {}\ncount = 4\nlength = { given = "700 ft", by = "T. Est" }')
    plan = plan_site(site, system="vertical")
    assert len(plan.drawn.layout.elements) == 4
    assert plan.drawn.layout.elements[0].depth_m == pytest.approx(175 * FT)


@pytest.mark.parametrize("beside", ['arrangement = "rows"', "grid = { rows = 1, columns = 2 }"])
def test_a_pad_beside_another_arrangement_is_refused(pad_site, beside):
    with pytest.raises(InputError, match="stands beside pad"):
        pad_site(f"pad = {{}}\n{beside}")


def test_the_whole_bore_keeps_off_the_property_line(pad_site):
    site = pad_site(
        'pad = { line = "8 ft" }\nlength = { given = "900 ft", by = "T. Est" }\n'
        'depth = { least = "150 ft", most = "300 ft" }'
    )
    plan = plan_site(site, system="vertical")
    gaps = [bore.course.distance(site.parcel.boundary) for bore in plan.drawn.layout.elements]
    assert min(gaps) >= 8 * FT
    row = next(r for r in plan.drawn.separations if r.rule.subject.endswith("whole bore"))
    assert row.meets
    assert row.provided_m == pytest.approx(min(gaps) - 0.25 * FT, abs=1e-6)


def test_too_few_bores_asked_for_from_a_pad_are_a_result(pad_site):
    site = pad_site(
        'pad = {}\ncount = 3\nlength = { given = "1500 ft", by = "T. Est" }\n'
        'depth = { least = "150 ft", most = "300 ft" }'
    )
    plan = plan_site(site, system="vertical")
    assert not plan.fits
    assert "3 bores would have to be 500 ft deep each; the limit is 300 ft" in in_words(
        plan.drawn.why
    )
