"""A header crosses a line squarely and does not run along it."""

import math

import pytest
import shapely
from shapely import LineString, MultiLineString, Point, affinity, box

from siteplan.layout.header.alongside import lies_along, strip_places
from siteplan.layout.header.crossings import crossing_angle, crossings_of
from siteplan.layout.header.router import route_header
from siteplan.layout.model import Ground, Strip
from siteplan.site.model import Entry, Feature

REACH = 1.2
LEAVING = REACH / math.sin(math.radians(45))


def ground(line: LineString, entry: tuple[float, float]) -> Ground:
    lot = box(0, 0, 60, 60)
    marked = (Feature("gas", "gas line", line),)
    strips = (Strip("gas", line, REACH, LEAVING),)
    return Ground(lot, lot, (Entry("E", Point(entry)),), marked, strips=strips)


def beside(lines: MultiLineString, gas: LineString, spots: list[tuple[float, float]]) -> float:
    """Least distance of pipe that is far from its ends and from where it crosses, by hand."""
    places = [*spots, *shapely.get_coordinates(shapely.intersection(lines, gas))]
    windows = shapely.union_all([Point(*spot).buffer(LEAVING, quad_segs=64) for spot in places])
    return float(lines.difference(windows).distance(gas))


def test_a_header_leads_away_from_a_line_that_begins_at_its_entry():
    gas = LineString([(20.1, 0), (20.1, 30)])
    header = route_header(ground(gas, (20, 0)), [[(20, 50)]])
    assert header is not None
    pipe = MultiLineString(list(header.runs))
    # straight up would be 50 m long, 30 m of it 0.1 m from the line
    assert beside(pipe, gas, [(20, 0)]) >= REACH - 0.01
    assert header.length_m < 54


def test_a_header_crosses_a_line_nearly_squarely_though_the_straight_way_is_flat():
    gas = LineString([(0, 20), (60, 26)])
    header = route_header(ground(gas, (2, 2)), [[(58, 40)]])
    assert header is not None
    (crossing,) = header.crossings
    # the straight way from (2, 2) to (58, 40) rises 34 deg, the line 6 deg: 28 deg between them
    assert crossing.angle_deg is not None
    assert crossing.angle_deg >= 75


def test_there_is_no_header_where_the_only_way_leads_along_a_line():
    lane = box(0, 0, 2, 60)
    gas = LineString([(1, 0), (1, 60)])
    strips = (Strip("gas", gas, REACH, LEAVING),)
    entry = (Entry("E", Point(0.5, 0)),)
    blocked = Ground(lane, lane, entry, (Feature("gas", "gas line", gas),), strips=strips)
    assert route_header(blocked, [[(1.5, 58)]]) is None
    free = Ground(lane, lane, entry, (Feature("gas", "gas line", gas),))
    assert route_header(free, [[(1.5, 58)]]) is not None


def test_from_an_entry_that_keeps_the_rule_alone_pipe_comes_no_nearer():
    gas = LineString([(0, 0), (0, 60)])
    # the rule asks 0.9 m, staking 0.3 m more; the entry lies 1 m off, as a house stands
    strip = Strip("gas", gas, REACH, LEAVING, REACH - 0.9)
    entry = (1.0, 0.0)
    assert not lies_along(LineString([entry, (1, 50)]), [strip], [entry])
    assert lies_along(LineString([entry, (0.95, 50)]), [strip], [entry])
    # an entry nearer than the rule has to leave the strip, on so short a way as it can
    near = (0.85, 0.0)
    assert lies_along(LineString([near, (0.85, 50)]), [strip], [near])


def test_the_angle_of_a_crossing_is_measured_where_both_turn():
    pipe = LineString([(0, 0), (10, 0), (10, 10)])
    # at (10, 0) the pipe comes along the line and leaves it squarely: the worse of both counts
    assert crossing_angle(pipe, LineString([(5, 0), (15, 0)]), Point(10, 0)) == 0
    # 3 to 4: atan(3/4) = 36.87 deg
    line = LineString([(1, -3), (9, 3)])
    assert crossing_angle(pipe, line, Point(5, 0)) == pytest.approx(36.8699, abs=1e-3)
    assert crossing_angle(pipe, box(4, -1, 6, 1), Point(5, 0)) is None


def test_pipe_on_the_line_itself_crosses_it_nowhere():
    gas = LineString([(0, 0), (30, 0)])
    strip = Strip("gas", gas, REACH, LEAVING)
    assert lies_along(LineString([(5, 5), (5, 0), (25, 0), (25, 5)]), [strip], [])


@pytest.mark.parametrize("past_m", [-2e-5, 0.0, 2e-5, 0.03])
def test_pipe_that_passes_the_end_of_a_line_by_a_hair_crosses_it(past_m):
    # before and behind the end the way is the same but for a hair: so is what is said of it
    gas = LineString([(0, past_m), (0, 30)])
    strips = [Strip("gas", gas, REACH, LEAVING)]
    assert not lies_along(LineString([(-20, 0), (20, 0)]), strips, [(-20, 0), (20, 0)])
    (crossing,) = crossings_of(
        MultiLineString([[(-20, 0), (20, 0)]]), [Feature("gas", "gas line", gas)]
    )
    assert (crossing.x_m, crossing.y_m) == pytest.approx((0, past_m), abs=0.05)


def test_pipe_that_passes_the_end_of_a_line_at_a_foot_does_not_cross_it():
    gas = LineString([(0, 0.3), (0, 30)])
    assert lies_along(
        LineString([(-20, 0), (20, 0)]), [Strip("gas", gas, REACH, LEAVING)], [(-20, 0), (20, 0)]
    )


@pytest.mark.parametrize("turn_deg", [0, 25, 90, 200])
def test_a_pipe_may_go_round_each_end_of_a_line(turn_deg):
    gas = affinity.rotate(LineString([(20, 30), (40, 30)]), turn_deg)
    places = [
        place for some in strip_places([Strip("gas", gas, REACH, LEAVING)], []) for place in some
    ]
    # a corner beyond each end on either side, as far off as the rule asks and hardly farther
    for x, y in [(20 - REACH, 30 - REACH), (20 - REACH, 30 + REACH),
                 (40 + REACH, 30 - REACH), (40 + REACH, 30 + REACH)]:  # fmt: skip
        corner = affinity.rotate(Point(x, y), turn_deg, origin=gas.centroid)
        assert min(corner.distance(Point(place)) for place in places) < 0.2
    assert all(gas.distance(Point(place)) >= REACH for place in places)
