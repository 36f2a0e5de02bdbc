"""Ground proposed for earth: large enough, clear of all that exists, off the edge of a trench."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
import shapely
from drawn_once import compose_set
from planned import planned
from shapely import LineString, Polygon
from sheet_lots import suburban
from wording import in_words

from siteplan.earthwork.excavation import REPOSE
from siteplan.layout.elements import Bore, Trench
from siteplan.sheet.content.earth import PILE_NAMES, stockpiles_of
from siteplan.sheet.kept import composing
from siteplan.sheet.model import Polyline, Text
from siteplan.specification.sequence import sequence
from siteplan.specification.stockpile import (
    HEAP_HEIGHT_M,
    MANY_CORNERS,
    drilled,
    earth_of,
    heap_volume,
    rectangles,
    shrunk,
    stockpiles,
)
from siteplan.units.lengths import FOOT

LOTS = ("rural-acre", "small-suburban", "good-aquifer", "school", "farm-pond")


def heaped(width: float, length: float) -> float:
    """Volume under the lower of the top and the slopes from all four sides, by adding up [m3]."""
    count = 400
    xs, ys = ((np.arange(count) + 0.5) / count * side for side in (width, length))
    across, along = np.minimum(xs, width - xs), np.minimum(ys, length - ys)
    high = np.minimum(np.minimum.outer(across, along) / REPOSE, HEAP_HEIGHT_M)
    return float(high.mean() * width * length)


@pytest.mark.parametrize(("width", "length"), [(3.0, 3.0), (4.0, 20.0), (9.0, 12.0), (25.0, 40.0)])
def test_a_heap_holds_what_its_slopes_leave(width: float, length: float) -> None:
    assert heap_volume(width, length) == pytest.approx(heaped(width, length), rel=2e-3)
    assert heap_volume(length, width) == heap_volume(width, length)


@pytest.mark.parametrize("name", LOTS)
def test_earth_has_its_room(name: str) -> None:
    content = planned(name).content()
    assert content.layout is not None
    piles = stockpiles_of(content)
    assert piles
    volumes = {earth.kind: earth for earth in earth_of(content.site, content.layout)}
    for pile in piles:
        earth = volumes[pile.kind]
        # the mud lies beside the heap, over the whole of the shorter side, 1 m deep
        beside = earth.mud_m3 / pile.width_m
        room = max(
            heaped(pile.width_m, pile.length_m - beside),
            heaped(pile.width_m - earth.mud_m3 / pile.length_m, pile.length_m),
        )
        assert room >= 0.99 * earth.loose_m3 * pile.share
        assert pile.shape.area == pytest.approx(pile.width_m * pile.length_m)


@pytest.mark.parametrize("name", LOTS)
def test_no_earth_lies_on_what_exists_or_at_the_edge_of_a_trench(name: str) -> None:
    content = planned(name).content()
    layout = content.layout
    assert layout is not None
    piles = stockpiles_of(content) or ()
    for pile in piles:
        assert content.site.parcel.contains(pile.shape)
        for feature in content.site.features:
            assert not feature.shape.intersects(pile.shape), feature.id
        for trench in layout.of(Trench):
            # 29 CFR 1926.651(j)(2): 2 ft at least; here as far as the trench is deep
            assert trench.footprint.distance(pile.shape) >= max(2 * FOOT, trench.depth_m) - 1e-3
        for run in layout.header.runs if layout.header is not None else ():
            assert run.distance(pile.shape) > 2 * FOOT
        if layout.access is not None:
            assert not layout.access.path.buffer(layout.access.width_m / 2 - 0.1).intersects(
                pile.shape
            )
    shapes = [pile.shape for pile in piles]
    assert shapely.union_all(shapes).area == pytest.approx(sum(shape.area for shape in shapes))


def test_ground_for_earth_is_looked_for_once_for_all_sheets() -> None:
    content = planned("small-suburban").content()
    with composing():
        piles = stockpiles_of(content)
        assert stockpiles_of(replace(content, titles=("PLAN", "TABLES"))) is piles


def test_cuttings_lie_off_septic_field_and_wells_as_far_as_the_loop() -> None:
    content = planned("good-aquifer").content()
    assert content.layout is not None
    near = ("building", "street", "driveway")
    kinds = {feature.id: feature.kind for feature in content.site.features}
    kept = [k for k in content.keep_outs if kinds.get(k.feature, "building") not in near]
    assert kept
    for pile in stockpiles_of(content) or ():
        assert all(keep_out.shape.intersection(pile.shape).area < 1e-6 for keep_out in kept)


def test_where_there_is_no_room_the_sheet_says_so() -> None:
    content = planned("tight-lot").content()
    assert content.layout is not None
    piles = stockpiles_of(content)
    assert piles == ()
    told = " ".join(in_words(step.told) for step in sequence(content.site, content.layout, piles))
    assert "No room for one heap was found on this lot" in told
    assert "No room for them was found on this lot" in told


def test_the_longest_trench_has_room_where_all_have_not() -> None:
    content = planned("rural-acre").content()
    assert content.layout is not None
    (pile,) = stockpiles_of(content) or ()
    lengths = [trench.length_m for trench in content.layout.of(Trench)]
    assert pile.share == pytest.approx(max(lengths) / sum(lengths))
    told = " ".join(in_words(step.told) for step in sequence(content.site, content.layout, (pile,)))
    assert "for what the longest trench gives" in told


def test_a_larger_field_asks_more_ground() -> None:
    content = suburban()
    layout = content.layout
    assert layout is not None
    first = tuple(bore for bore in layout.of(Bore))[:2]
    few = replace(layout, elements=first)
    assert sum(drilled(few)) == pytest.approx(sum(drilled(layout)) * 2 / len(layout.of(Bore)))
    areas = []
    for laid in (few, layout):
        (earth,) = (earth for earth in earth_of(content.site, laid) if earth.kind == "cuttings")
        width, length = next(rectangles(earth))
        areas.append(width * length)
    assert areas[0] < areas[1]


def test_ground_among_many_bores_shrunk_in_steps_is_that_shrunk_at_once() -> None:
    spots = shapely.points([(6.0 * k, 6.0 * row) for k in range(20) for row in range(20)])
    rings = shapely.union_all(shapely.buffer(spots, 1.6, quad_segs=4))
    free = shapely.box(-30.0, -30.0, 144.0, 144.0).difference(rings)
    assert shapely.get_num_coordinates(free) > MANY_CORNERS
    for away in (1.0, 3.0, 7.5):
        once, found = free.buffer(-away), shrunk(free, away)
        # arcs are chords in both: they differ by less than a centimetre along the field's edge
        assert found.symmetric_difference(once).area < 0.01 * once.length


@pytest.mark.parametrize("name", ["rural-acre", "small-suburban"])
def test_no_earth_is_heaped_on_a_peg(name: str) -> None:
    content = planned(name).content()
    assert content.layout is not None
    usual = stockpiles(content.site, content.layout, content.keep_outs)
    assert usual
    middle = usual[0].shape.centroid
    pegs = ((float(middle.x), float(middle.y)),)
    moved = stockpiles(content.site, content.layout, content.keep_outs, pegs)
    # 5 ft as from all that stands; common practice, no source
    assert all(pile.shape.distance(middle) > 4.9 * FOOT for pile in moved)


def test_nothing_is_proposed_on_a_lot_that_is_covered_whole() -> None:
    content = suburban()
    assert content.layout is not None
    beech = content.site.features[0]
    covered = replace(beech, id="lake", kind="pond", shape=content.site.parcel)
    site = replace(content.site, features=(*content.site.features, covered))
    assert stockpiles(site, content.layout, content.keep_outs) == ()


def test_the_plan_draws_and_names_what_the_order_of_work_speaks_of() -> None:
    content = planned("small-suburban").content()
    plan = compose_set(content)[0]
    drawn = [item for item in plan.of_type(Polyline) if item.layer == "M-GHEX-SPOL-N"]
    shapes = [Polygon(line.points) for line in drawn if line.style == "stockpile"]
    piles = stockpiles_of(content) or ()
    assert [shape.area for shape in shapes] == pytest.approx([p.shape.area for p in piles])
    words = " ".join(item.text for item in plan.of_type(Text) if item.layer == "M-GHEX-SPOL-N")
    assert all(PILE_NAMES[pile.kind] in words for pile in piles)


def test_no_earth_lies_on_a_line_measured_along_where_it_has_room_beside_it() -> None:
    content = suburban()
    assert content.layout is not None
    usual = stockpiles(content.site, content.layout, content.keep_outs)
    assert usual
    west, south, east, north = usual[0].shape.bounds
    middle = (south + north) / 2
    line = LineString([(west - 3.0, middle), (east + 3.0, middle)])
    moved = stockpiles(content.site, content.layout, content.keep_outs, measured=line)
    assert [(pile.kind, pile.share) for pile in moved] == [(p.kind, p.share) for p in usual]
    away = [pile.shape.distance(line) for pile in moved]
    # 2 ft beside it, no more than 15 ft farther from the work; common practice, no source
    assert min(away) > 1.9 * FOOT
    work = content.layout.header.runs[0]
    ways = [sum(p.shape.centroid.distance(work) for p in piles) for piles in (moved, usual)]
    assert ways[0] < ways[1] + 20 * FOOT
