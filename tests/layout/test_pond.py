"""Pond coils: how many, how far apart, and in which pond."""

from types import SimpleNamespace

import numpy as np
import pytest
from scipy.spatial.distance import pdist
from shapely import Point, Polygon, box
from wording import in_words

from siteplan.geometry.tolerance import TOLERANCE
from siteplan.layout.counting import elements_needed
from siteplan.layout.model import Ground
from siteplan.layout.pond import Water, lay_out_coils
from siteplan.ponds.bottom import SlopedBottom
from siteplan.site.model import Entry, PondOptions

OPTIONS = PondOptions(
    coil_diameter_m=3.0, gap_m=0.5, pipe_per_coil_m=150.0, water_depth_m=2.4, shore_m=3.0
)
POND = Water("pond-1", Point(0, 0).buffer(15), 3.0)


def ground(*waters, entry=(0, -30)):
    """Ground whose header may run all over the lot."""
    area = waters[0].area if waters else Polygon()
    return Ground(area, box(-100, -40, 100, 40), (Entry("E1", Point(entry)),))


def points_of(layout):
    return np.array([(coil.x_m, coil.y_m) for coil in layout.elements])


def test_as_few_coils_as_carry_the_length():
    # 900 m / 150 m = 6
    layout = lay_out_coils(ground(POND), OPTIONS, 900.0, [POND])
    assert [coil.id for coil in layout.elements] == ["C1", "C2", "C3", "C4", "C5", "C6"]
    assert layout.length_m == 900.0
    assert layout.obstacle is None


@pytest.mark.parametrize(("required", "coils"), [(0.0, 1), (150.0, 1), (150.1, 2), (1500.0, 10)])
def test_part_of_a_coil_is_a_whole_coil(required, coils):
    assert elements_needed(required, OPTIONS.pipe_per_coil_m) == coils


def test_coils_keep_their_gap_edge_to_edge_and_stay_in_the_water():
    points = points_of(lay_out_coils(ground(POND), OPTIONS, 2000.0, [POND]))
    assert len(points) == 14
    assert pdist(points).min() >= 3.5 - TOLERANCE
    assert max(POND.area.distance(Point(xy)) for xy in points) <= TOLERANCE


def test_each_coil_knows_its_pond_and_the_depth_there():
    pools = [Water("north", box(0, 10, 8, 18), 2.5), Water("south", box(0, -18, 8, -10), 4.0)]
    # each pool holds a 3 x 3 grid at 3.5 m
    layout = lay_out_coils(ground(*pools, entry=(4, -30)), OPTIONS, 12 * 150.0, pools)
    found = {(coil.pond, coil.water_depth_m) for coil in layout.elements}
    assert found == {("north", 2.5), ("south", 4.0)}
    assert [coil.pond for coil in layout.elements[:9]] == ["south"] * 9


def test_too_small_a_pond_gets_all_the_coils_that_fit_and_a_sentence():
    pool = Water("pool", box(0, 0, 7, 3.5), 3.0)
    layout = lay_out_coils(ground(pool), OPTIONS, 1050.0, [pool])
    assert len(layout.elements) == 6
    assert layout.capacity_m == 900.0
    assert in_words(layout.obstacle) == (
        "room for 6 coils 9.8 ft across and 1.6 ft apart; 7 are needed"
    )


def test_no_water_is_said_in_words():
    layout = lay_out_coils(ground(), OPTIONS, 900.0, [])
    assert layout.elements == ()
    assert in_words(layout.obstacle) == "the setbacks leave no usable area for pond coils"


def test_a_pond_too_shallow_for_any_coil_says_so_and_blames_no_setback():
    # 12 m across and sides of 3 to 1 meet 2 m down: no coil of 3 m has 2.4 m and its blocks
    shore = box(-6, -20, 6, 20)
    pool = Water("pool", Polygon(), 2.4, SlopedBottom(shore, 3.6, 3.0))
    layout = lay_out_coils(ground(pool), OPTIONS, 900.0, [pool])
    assert layout.elements == ()
    assert layout.obstacle is not None
    assert layout.obstacle.code == "water-nowhere-deep"
    assert "nowhere" in in_words(layout.obstacle)


def test_water_that_no_entry_reaches_is_not_used():
    beyond = Water("far", box(300, 0, 320, 20), 3.0)
    layout = lay_out_coils(ground(beyond), OPTIONS, 900.0, [beyond])
    assert layout.elements == ()
    assert (
        in_words(layout.obstacle) == "the header cannot reach the usable area from any entry point"
    )


def test_a_header_joins_every_coil_to_the_entry():
    layout = lay_out_coils(ground(POND), OPTIONS, 900.0, [POND])
    for x, y in points_of(layout):
        assert min(run.distance(Point(x, y)) for run in layout.header.runs) <= 1e-5


@pytest.mark.parametrize(
    ("across_m", "fits"), [(1.0, False), (1.9, False), (2.1, True), (9.0, True)]
)
def test_a_pond_is_deep_where_a_whole_coil_has_its_water(across_m, fits):
    # coils 2 m across and 0.5 m high under 2 m of water; the deep part is so wide and 30 m long
    deep = box(0, 0, 30, across_m)
    bottom = SimpleNamespace(at_least=lambda depth_m: deep if depth_m <= 2.5 + 1e-9 else Polygon())
    options = SimpleNamespace(coil_diameter_m=2.0, height_m=0.5, water_depth_m=2.0)
    assert Water("P", deep, 3.0, bottom).is_deep(options) is fits
    options.water_depth_m = 2.1
    assert not Water("P", deep, 3.0, bottom).is_deep(options)
    # where the depth is the same everywhere that was looked at before
    assert Water("P", deep, 3.0).is_deep(options)
