"""Circuits cut to be even: worked by hand, and what must hold of any field."""

from __future__ import annotations

from dataclasses import replace

import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from pipe_fields import tree_of, trenches
from shapely import LineString

from siteplan.layout.piping.circuits import make_circuits
from siteplan.layout.trenches.filled import _shortened
from siteplan.layout.trenches.levelling import levelled
from siteplan.site.model import HorizontalOptions
from siteplan.site.piping import CircuitOptions


def lengths_of(layout):
    return [round(one.length_m, 6) for one in layout.elements]


def test_the_long_circuit_gives_what_is_not_required():
    # four circuits of one trench each; of 130 m, 120 m are required: the 40 m give 10 m
    made = levelled(trenches([40.0, 30.0, 30.0, 30.0]), CircuitOptions(count=4), 120.0, 9.0)
    assert lengths_of(made) == [30.0, 30.0, 30.0, 30.0]


def test_circuits_within_five_percent_are_cut_no_further():
    # 40 m is cut until 122 m are left: 32, 30, 30, 30 m would be 6 % apart, so there is nothing
    assert levelled(trenches([40.0, 30.0, 30.0, 30.0]), CircuitOptions(count=4), 122.0, 9.0) is None
    # 121.5 m: 31.5 m and 30 m are 1.5 / 31.5 = 4.8 % apart
    made = levelled(trenches([40.0, 30.0, 30.0, 30.0]), CircuitOptions(count=4), 121.5, 9.0)
    assert lengths_of(made) == [31.5, 30.0, 30.0, 30.0]


def test_no_trench_is_cut_below_the_shortest():
    # 2 (12 + 12) = 48 m beside 2 (40) = 80 m: 80 m must come down to 50 m, a trench of 25 m
    fields = trenches([12.0, 12.0, 40.0])
    assert levelled(fields, CircuitOptions(count=2), 49.0, 30.0) is None
    made = levelled(fields, CircuitOptions(count=2), 49.0, 9.0)
    assert made is not None
    assert sum(lengths_of(made)) == pytest.approx(49.0)


def test_trenches_of_one_pipe_are_left_to_their_crossovers():
    assert levelled(trenches([40.0, 30.0], pipes=1), CircuitOptions(), 50.0, 9.0) is None


def test_trenches_without_a_header_are_no_circuits_that_could_be_cut():
    loose = replace(trenches([40.0, 30.0, 30.0, 30.0]), header=None)
    assert levelled(loose, CircuitOptions(count=4), 120.0, 9.0) is None


@settings(max_examples=several(6, 25))
@given(
    lengths=st.lists(st.floats(10.0, 60.0), min_size=2, max_size=14),
    share=st.floats(0.6, 0.99),
)
def test_what_is_levelled_is_even_holds_what_is_required_and_digs_nothing_new(lengths, share):
    layout = trenches(lengths)
    required = share * sum(lengths)
    made = levelled(layout, CircuitOptions(), required, 8.0)
    if made is None:
        return
    assert made.length_m == pytest.approx(required)
    for before, after in zip(layout.elements, made.elements, strict=True):
        assert before.line.buffer(1e-6).covers(after.line)
        assert after.length_m >= min(8.0, before.length_m) - 1e-6
    again = make_circuits(made, tree_of(made), CircuitOptions())
    assert again is not None
    whole = [one.length_m for one in again.circuits]
    assert min(whole) >= 0.95 * max(whole) - 1e-6
    assert max(whole) <= 152.4 + 1e-6


@settings(max_examples=several(6, 15))
@given(count=st.integers(2, 14), share=st.floats(0.6, 0.95))
def test_trenches_of_one_length_can_always_be_cut_to_even_circuits(count, share):
    made = levelled(trenches([40.0] * count), CircuitOptions(), share * 40.0 * count, 8.0)
    assert made is not None
    assert replace(made, circuits=()).length_m == pytest.approx(share * 40.0 * count)


def test_a_ring_among_straight_trenches_is_not_levelled():
    layout = trenches([40.0, 30.0, 30.0, 30.0])
    first, *others = layout.elements
    x, y = first.line.coords[0][:2]
    ring = LineString([(x, y), (x + 10, y), (x + 10, y + 1), (x, y + 1), (x, y)])
    mixed = replace(layout, elements=(replace(first, line=ring), *others))
    assert mixed.elements[0].is_ring
    assert levelled(mixed, CircuitOptions(count=4), 100.0, 9.0) is None


def test_a_ring_that_has_given_way_leaves_the_others_whole():
    # two rings of 40 m for 70 m: one is opened by the 10 m that are too much
    rings = [LineString([(x, 0), (x + 10, 0), (x + 10, 10), (x, 10), (x, 0)]) for x in (0.0, 30.0)]
    options = HorizontalOptions(3.0, 1.5, 0.9, 2, shortest_m=12.0)
    assert [line.length for line in _shortened(rings, 70.0, options)] == [40.0, 30.0]
