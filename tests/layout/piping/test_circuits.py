"""Circuits of trenches, bores and coils, worked by hand, and what must hold of any."""

from collections import Counter
from dataclasses import replace

import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from pipe_fields import FT, bores, tree_of, trenches
from shapely import LineString, box
from wording import in_words

from siteplan.layout.header.crossovers import join_far_ends
from siteplan.layout.model import Ground
from siteplan.layout.piping.circuits import loops_of, make_circuits
from siteplan.site.piping import CircuitOptions


def joined(layout):
    ground = Ground(box(-99, -99, 199, 299), box(-99, -99, 199, 299), ())
    return replace(layout, crossovers=join_far_ends(layout, tree_of(layout), ground))


def circuits_of(layout, flow=None, **options):
    return make_circuits(joined(layout), tree_of(layout), CircuitOptions(**options), flow=flow)


def test_equal_trenches_are_joined_to_the_fewest_circuits_that_keep_the_limit():
    # 4 x 2 x 30 m = 240 m of pipe; 3/4 in: 500 ft = 152.4 m, so two circuits of two trenches:
    # 120 m, and 2 x 3 m from the one trench to the other and back along the header
    made = circuits_of(trenches([30.0] * 4))
    assert [one.length_m for one in made.circuits] == pytest.approx([126.0, 126.0])
    assert [one.elements for one in made.circuits] == [("T1", "T2"), ("T3", "T4")]
    assert [one.passes for one in made.circuits] == [4, 4]
    assert made.balance.proven
    assert made.balance.share == pytest.approx(0.0)


def test_a_trench_that_fills_a_circuit_stays_alone():
    made = circuits_of(trenches([70.0] * 3))  # 140 m each, at most 152.4 m
    assert [one.elements for one in made.circuits] == [("T1",), ("T2",), ("T3",)]
    assert [one.connecting_m for one in made.circuits] == [0.0] * 3


def test_long_and_short_trenches_are_joined_so_that_whole_circuits_are_even():
    # 3 m apart, and out and back along the header between both trenches of a circuit:
    # T1 T4: 2 (30 + 20) + 18 = 118 m, T2 T3: 2 (28 + 22) + 6 = 106 m, 10.2 % apart;
    # T1 T3: 2 (30 + 22) + 12 = 116 m, T2 T4: 2 (28 + 20) + 12 = 108 m, 6.9 % apart;
    # T1 T2: 2 (30 + 28) + 6 = 122 m, T3 T4: 2 (22 + 20) + 6 = 90 m
    made = circuits_of(trenches([30.0, 28.0, 22.0, 20.0]))
    assert {frozenset(one.elements) for one in made.circuits} == {
        frozenset({"T1", "T3"}), frozenset({"T2", "T4"}),
    }  # fmt: skip
    assert made.balance.share == pytest.approx(8 / 116)
    assert made.balance.proven


def test_many_trenches_that_are_nearly_alike_are_joined_to_their_neighbours():
    # 36.6 to 37.4 m of pipe in each: at most four under 152.4 m, and of 4 to 7 circuits for 14
    # only 7 have as many in each. Neighbours take 6 m along the header, far ones up to 78 m.
    made = circuits_of(trenches([18.3 + 0.03 * ((5 * k) % 14) for k in range(14)]))
    assert len(made.circuits) == 7
    assert [one.connecting_m for one in made.circuits] == pytest.approx([6.0] * 7)
    assert made.balance.share <= 0.05


def test_more_circuits_are_made_where_the_fewest_take_too_much_head():
    # 2 circuits of 126 m or 4 of 60 m; heads made up: 4 circuits are turbulent and take little
    def flow(_, count, length_m):
        return 12_000 / count, 30.0 * length_m / 126.0 / count

    made = circuits_of(trenches([30.0] * 4), flow=flow)
    assert len(made.circuits) == 4
    assert "turbulent" in in_words(made.balance.why)


def test_where_few_circuits_are_too_long_as_many_are_made_as_keep_the_limit():
    # 12 loops of 2 x 40 m and 20 of 2 x 50 m: two of them are 160 m and more, over the 500 ft
    # (152.4 m) of 3/4 in pipe, so that each is a circuit of its own
    circuits = circuits_of(trenches([40.0] * 12 + [50.0] * 20, spacing=1.0))
    assert len(circuits.circuits) == 32
    assert max(each.length_m for each in circuits.circuits) <= circuits.balance.limit_m


def test_the_fewest_circuits_are_made_where_more_would_be_laminar():
    made = circuits_of(trenches([30.0] * 4), flow=lambda _, count, __: (6_000 / count, 99.0))
    assert len(made.circuits) == 2
    assert in_words(made.balance.why).startswith("the fewest")


def test_a_number_of_circuits_that_is_asked_for_is_made():
    made = circuits_of(trenches([30.0] * 4), count=4)
    assert len(made.circuits) == 4
    assert (in_words(made.balance.why), in_words(made.balance.lacking)) == (
        "as stated",
        "",
    )


def test_more_circuits_than_loops_are_refused_with_the_number_of_loops():
    made = circuits_of(trenches([30.0] * 4), count=5)
    assert len(made.circuits) == 2
    assert "there are 4 loops" in in_words(made.balance.lacking)


def test_six_bores_in_three_circuits_are_two_in_each():
    made = circuits_of(bores(6, depth=45.0), count=3)
    assert [one.elements for one in made.circuits] == [("B1", "B2"), ("B3", "B4"), ("B5", "B6")]


def test_five_bores_in_three_circuits_are_refused():
    made = circuits_of(bores(5, depth=45.0), count=3)
    assert len(made.circuits) == 5
    assert "5 bores cannot be divided into 3" in in_words(made.balance.lacking)


def test_one_pipe_comes_home_through_the_next_trench():
    # 30 m out, 3 m across, 30 m back, 3 m along the header between the two beginnings
    made = circuits_of(trenches([30.0, 30.0], pipes=1))
    (one,) = made.circuits
    assert one.length_m == pytest.approx(66.0)
    assert (one.passes, one.connecting_m) == (2, pytest.approx(6.0))


def test_one_pipe_of_an_odd_number_of_trenches_is_left_over():
    made = circuits_of(trenches([30.0, 30.0, 30.0], pipes=1))
    assert len(made.balance.left_over) == 1
    assert sum(len(one.elements) for one in made.circuits) == 2


def test_six_pipes_make_three_loops_that_go_to_different_circuits():
    # 3 loops x 2 x 60 m; two of them would be 240 m, longer than 152.4 m
    made = circuits_of(trenches([60.0], pipes=6))
    assert [one.length_m for one in made.circuits] == pytest.approx([120.0] * 3)
    assert all(one.elements == ("T1",) for one in made.circuits)


def test_four_pipes_of_a_short_trench_make_one_circuit():
    (one,) = circuits_of(trenches([30.0], pipes=4)).circuits
    assert one.length_m == pytest.approx(120.0)
    assert one.elements == ("T1", "T1")


def test_a_ring_brings_each_pipe_home_by_itself():
    layout = trenches([30.0])
    ring = LineString([(0, 3), (20, 3), (20, 10), (0, 10), (0, 3)])  # 54 m
    layout = replace(layout, elements=(replace(layout.elements[0], line=ring),))
    made = circuits_of(layout, longest_m=60.0)
    assert [one.length_m for one in made.circuits] == pytest.approx([54.0, 54.0])
    assert [one.passes for one in made.circuits] == [1, 1]


def test_each_bore_is_a_circuit_of_twice_its_depth():
    made = circuits_of(bores(3, depth=60.0))
    assert [one.length_m for one in made.circuits] == pytest.approx([120.0] * 3)
    assert {one.pipe for one in made.circuits} == {"1 in"}


def test_bores_in_series_make_longer_circuits():
    # 2 x 2 x 45 m, and 2 x 6 m along the header
    made = circuits_of(bores(4, depth=45.0), bores=2)
    assert [one.elements for one in made.circuits] == [("B1", "B2"), ("B3", "B4")]
    assert made.circuits[0].length_m == pytest.approx(192.0)


def test_a_deep_bore_takes_the_size_that_may_be_so_long():
    # 400 ft of bore, 800 ft of pipe: 1 in may have 700 ft, 1-1/4 in 1,000 ft
    assert circuits_of(bores(2, depth=400 * FT)).circuits[0].pipe == "1-1/4 in"


lots = st.lists(st.floats(15.0, 70.0), min_size=1, max_size=9)


@settings(max_examples=several(15, 300), deadline=None)
@given(lots, st.sampled_from([1, 2, 3, 4, 6]))
def test_every_loop_is_in_exactly_one_circuit(lengths, pipes):
    layout = trenches(lengths, pipes=pipes)
    loops, left_over = loops_of(joined(layout), tree_of(layout))
    made = circuits_of(layout)
    expected = Counter(layout.elements[k].id for loop in loops for k in loop.elements)
    found = Counter() if made is None else Counter(
        name for one in made.circuits for name in one.elements
    )  # fmt: skip
    assert found == expected
    passes = 0 if made is None else sum(one.passes for one in made.circuits)
    assert passes + len(left_over) == pipes * len(lengths)
    assert all(one.passes % 2 == 0 for one in (made.circuits if made else ()))


@settings(max_examples=several(15, 300), deadline=None)
@given(lots)
def test_circuits_keep_the_limit_and_say_how_far_they_are_apart(lengths):
    made = circuits_of(trenches(lengths))
    found = [one.length_m for one in made.circuits]
    assert max(found) <= made.balance.limit_m + 0.01
    assert made.balance.share == pytest.approx((max(found) - min(found)) / max(found))
    pipe = sum(one.length_m - one.connecting_m for one in made.circuits)
    assert pipe == pytest.approx(2 * sum(lengths))


def test_no_choice_that_keeps_five_percent_is_missed():
    # six trenches of 30 m: 60 m each; six circuits, three of two (126 m) or fewer that are too long
    assert len(circuits_of(trenches([30.0] * 6)).circuits) == 3
    # a seventh cannot be joined evenly: seven circuits of 60 m
    assert len(circuits_of(trenches([30.0] * 7)).circuits) == 7
