"""Crossovers of single pipes: worked by hand, and what must hold of any."""

from dataclasses import replace

import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from pipe_fields import exchanger, tree_of, trenches
from shapely import LineString, Point, affinity, box
from shapely.geometry import MultiLineString

from siteplan.layout.header.crossovers import join_far_ends
from siteplan.layout.model import Ground, Header
from siteplan.layout.piping.pipes import with_pipes
from siteplan.site.model import Entry, Feature

FIELD = box(-20, -20, 120, 120)


def joined(layout, passable=FIELD, *marked):
    return join_far_ends(layout, tree_of(layout), Ground(passable, passable, (), marked))


def pairs(crossovers):
    return [crossover.trenches for crossover in crossovers]


def test_a_crossover_is_the_straight_line_between_two_far_ends():
    (crossover,) = joined(trenches([30.0, 30.0], pipes=1))
    assert list(crossover.line.coords) == [(30.0, 3.0), (30.0, 6.0)]
    assert (crossover.id, crossover.trenches, crossover.width_m, crossover.depth_m) == (
        "X1",
        ("T1", "T2"),
        0.6,
        1.5,
    )


def test_a_crossover_goes_round_a_keep_out():
    wall = box(29.0, 4.0, 31.0, 5.0)
    (crossover,) = joined(trenches([30.0, 30.0], pipes=1), FIELD.difference(wall))
    # at best 1 m aside and 1 m along it: 2 x hypot(1, 1) + 1 = 3.83 m
    assert 3.82 <= crossover.length_m <= 5.5
    assert crossover.line.intersection(wall.buffer(-1e-6)).is_empty


def test_two_far_ends_with_a_wall_between_them_are_not_joined():
    lot = FIELD.difference(box(-30, 4.0, 130, 5.0))
    assert joined(trenches([30.0, 30.0], pipes=1), lot) == ()


def test_a_crossover_does_not_cross_a_trench():
    # T2 has two pipes and lies between T1 and T3: the crossover goes round its far end
    layout = trenches([30.0, 30.0, 30.0], pipes=1)
    one, two, three = layout.elements
    layout = replace(layout, elements=(one, replace(two, pipes=2), three))
    (crossover,) = joined(layout)
    assert crossover.trenches == ("T1", "T3")
    assert crossover.line.intersection(two.footprint).length == pytest.approx(0.0, abs=0.02)


def test_pairs_take_the_least_pipe_in_all():
    # T1 to T2 and T3 to T4 take 3 m across and 3 m along the header each, any others 18 m or more
    assert pairs(joined(trenches([30.0] * 4, pipes=1))) == [("T1", "T2"), ("T3", "T4")]


def test_of_an_odd_number_the_one_is_left_that_spares_most_pipe():
    # T1 to T2: hypot(20, 3) across; T2 to T3: 3 m
    assert pairs(joined(trenches([50.0, 30.0, 30.0], pipes=1))) == [("T2", "T3")]


def test_a_crossover_marks_the_line_that_it_crosses():
    line = Feature("water-1", "water line", LineString([(25, 4.5), (60, 4.5)]))
    (crossover,) = joined(trenches([30.0, 30.0], pipes=1), FIELD, line)
    assert [(one.feature, one.x_m, one.y_m) for one in crossover.crossings] == [
        ("water-1", 30.0, 4.5)
    ]


def test_a_crossover_that_passes_under_the_header_says_so():
    layout = trenches([30.0, 30.0], pipes=1)
    run = LineString([(0, 4.5), (40, 4.5)])
    header = replace(layout.header, runs=(*layout.header.runs, run))
    (crossover,) = joined(replace(layout, header=header), box(-20, -20, 31, 20))
    assert [one.kind for one in crossover.crossings] == ["header"]


lengths = st.lists(st.floats(15.0, 60.0), min_size=2, max_size=6)
blocks = st.tuples(st.floats(16.0, 62.0), st.floats(4.0, 16.0), st.floats(0.5, 6.0))


@settings(max_examples=several(6, 25), deadline=None)
@given(lengths, blocks)
def test_crossovers_never_enter_ground_that_is_kept_free(long, block):
    x, y, size = block
    wall = box(x, y, x + size, y + size)
    lot = FIELD.difference(wall)
    for crossover in joined(trenches(long, pipes=1), lot):
        assert lot.buffer(1e-6).covers(crossover.line)


def drawn(circuit, layout, pipes):
    """All pipe of a circuit by what is drawn; the header is straight, so heights tell its part."""
    line = {one.id: one.line for one in layout.elements}
    height = {name: one.coords[0][1] for name, one in line.items()}
    crossover = {one.trenches: one.line.length for one in layout.crossovers}
    names = circuit.elements
    if pipes == 2:
        heights = [height[name] for name in names]
        return 2 * sum(line[one].length for one in names) + 2 * (max(heights) - min(heights))
    twos = list(zip(names[::2], names[1::2], strict=True))
    loops = sum(
        line[a].length + line[b].length + crossover[a, b] + abs(height[a] - height[b])
        for a, b in twos
    )
    starts = [min(height[a], height[b]) for a, b in twos]
    return loops + 2 * (max(starts) - min(starts))


@settings(max_examples=several(6, 25), deadline=None)
@given(lengths, st.sampled_from([1, 2]))
def test_the_length_of_a_circuit_is_the_sum_of_what_is_drawn(long, pipes):
    layout = with_pipes(trenches(long, pipes=pipes), exchanger())
    assert layout.circuits
    for circuit in layout.circuits:
        assert circuit.length_m == pytest.approx(drawn(circuit, layout, pipes))


def turned(layout, angle):
    def turn(shape):
        return affinity.rotate(shape, angle, origin=(0, 0))

    header = layout.header
    runs = tuple(turn(run) for run in header.runs)
    entry = Entry("E1", turn(Point(header.entry.point)))
    elements = tuple(replace(one, line=turn(one.line)) for one in layout.elements)
    return replace(layout, elements=elements, header=Header(runs, entry)), turn


@pytest.mark.parametrize("angle", [17.0, 90.0, 201.5])
def test_crossovers_turn_with_the_lot(angle):
    layout = trenches([30.0, 34.0, 28.0, 40.0, 33.0], pipes=1)
    lot = FIELD.difference(box(29.0, 4.0, 33.5, 5.0))
    other, turn = turned(layout, angle)
    before, after = joined(layout, lot), joined(other, turn(lot))
    assert pairs(before) == pairs(after)
    for one, two in zip(before, after, strict=True):
        assert turn(one.line).hausdorff_distance(two.line) < 1e-6
    assert MultiLineString([one.line for one in before]).length > 0.0
