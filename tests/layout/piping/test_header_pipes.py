"""Supply and return in the header, worked by hand, and what must hold of any field."""

import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from pipe_fields import GPM, bores, exchanger, tree_of
from shapely import LineString, Point

from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Bore
from siteplan.layout.header.tree import header_tree
from siteplan.layout.model import Header
from siteplan.layout.piping.header_pipes import HeaderFlow
from siteplan.layout.piping.pipes import with_pipes
from siteplan.site.model import Entry


def row(count, layout):
    field = bores(count)
    tree = tree_of(field)
    return tree, HeaderFlow(tree, tree.stops, layout)


def length(tree, runs):
    return sum(tree.lengths_m[run.node] for run in runs)


def test_direct_return_takes_two_runs_and_leaves_paths_of_different_length():
    # n = 5, d = 6 m: paths differ by 2 (n - 1) d = 48 m; pipe 2 x (6 + 24) m
    tree, flow = row(5, "direct return")
    paths = [length(tree, flow.path(node)) for node in tree.stops]
    assert max(paths) - min(paths) == pytest.approx(48.0)
    assert length(tree, flow.runs) == pytest.approx(60.0)


def test_reverse_return_makes_all_paths_equal_with_a_third_run():
    # header pipe 3 (n - 1) d = 72 m along the row, and 2 x 6 m to the entry
    tree, flow = row(5, "reverse return")
    paths = [length(tree, flow.path(node)) for node in tree.stops]
    assert max(paths) == pytest.approx(min(paths)) == pytest.approx(2 * 6 + 2 * 24)
    assert length(tree, flow.runs) == pytest.approx(84.0)


def test_the_return_of_a_reverse_return_grows_outward_and_runs_home_whole():
    _, flow = row(3, "reverse return")
    got = [(run.role, run.circuits) for run in flow.runs]
    assert got == [
        ("supply", 3), ("return", 3),
        ("supply", 2), ("return", 1), ("return home", 3),
        ("supply", 1), ("return", 2), ("return home", 3),
    ]  # fmt: skip


def test_home_runs_are_a_pair_for_each_circuit():
    # 2 x (6 + 12 + 18) m
    tree, flow = row(3, "home run")
    assert length(tree, flow.runs) == pytest.approx(72.0)
    assert flow.fittings(lambda _: "1 in", "1 in").tees == 0


def test_a_row_of_five_takes_four_tees_in_supply_and_in_return():
    _, flow = row(5, "direct return")
    assert flow.fittings(lambda _: "", "1 in").tees == 8


@st.composite
def branched(draw):
    """Bores on a main with branches to both sides."""
    made, runs, spot = [], [], 0.0
    for _ in range(draw(st.integers(1, 4))):
        step = draw(st.floats(2.0, 8.0))
        runs.append(LineString([(0, spot), (0, spot + step)]))
        spot += step
        for side in draw(st.sampled_from([(1,), (-1,), (1, -1)])):
            reach = side * draw(st.floats(2.0, 8.0))
            runs.append(LineString([(0, spot), (reach, spot)]))
            made.append(Bore(f"B{len(made) + 1}", reach, spot, 0.15, 60.0))
            if draw(st.booleans()):
                made.append(Bore(f"B{len(made) + 1}", reach / 2, spot, 0.15, 60.0))
    return Header(tuple(runs), Entry("E1", Point(0, 0))), made


@settings(max_examples=several(10, 40), deadline=None)
@given(branched(), st.sampled_from(["direct return", "reverse return", "home run"]))
def test_flow_is_conserved_at_every_branch(field, layout):
    header, made = field
    tree = header_tree(header, made)
    flow = HeaderFlow(tree, tree.stops, layout)
    for node, children in enumerate(tree.children):
        below = sum(flow.carried[child] for child in children)
        assert flow.carried[node] == below + tree.stops.count(node)
    assert flow.carried[0] == len(made)
    assert sum(tree.lengths_m) == pytest.approx(header.length_m)


@settings(max_examples=several(10, 40), deadline=None)
@given(branched())
def test_a_path_runs_through_pipes_that_lie_there(field):
    header, made = field
    tree = header_tree(header, made)
    for layout in ("direct return", "reverse return"):
        flow = HeaderFlow(tree, tree.stops, layout)
        for node in tree.stops:
            assert set(flow.path(node)) <= set(flow.runs)
        # every pipe serves somebody
        assert set(flow.runs) == {run for node in tree.stops for run in flow.path(node)}


@settings(max_examples=several(6, 25), deadline=None)
@given(
    st.integers(1, 30), st.floats(1.0, 6.0), st.sampled_from(["direct return", "reverse return"])
)
def test_header_sizes_never_grow_away_from_the_entry(count, gpm, layout):
    wanted = exchanger(circuits={"flow_m3s": count * gpm * GPM}, header={"layout": layout})
    layout_made = with_pipes(bores(count), wanted)
    piping, order = layout_made.piping, list(pipes())
    for group in {circuit.group for circuit in layout_made.circuits}:
        supply = [
            order.index(pipe.size)
            for piece in piping.pieces
            for pipe in piece.pipes
            if pipe.role == "supply" and pipe.group == group
        ]
        assert supply == sorted(supply, reverse=True)  # the pieces of a row come in its order
        assert min(supply) >= order.index("1 in")
