"""Groups of circuits: counted by hand, and held against what must be true of any division."""

import csv
import io
from dataclasses import replace

import pytest
from campaign import several
from hypothesis import given, settings
from hypothesis import strategies as st
from pipe_fields import FT, GPM, bores, exchanger, trenches
from shapely import LineString, Point

from siteplan import read_site
from siteplan.export.tables import elements_csv
from siteplan.hydraulics.fluids import fluid_state
from siteplan.hydraulics.friction import pressure_drop
from siteplan.hydraulics.pipes import pipes
from siteplan.layout.elements import Bore
from siteplan.layout.model import Header, Layout
from siteplan.layout.piping.groups import even_sizes
from siteplan.layout.piping.pipes import with_pipes
from siteplan.quantities.take_off import fluid_volume
from siteplan.site.model import Entry


def grid(rows, columns, apart=6.0):
    """Bores in rows, each row a branch to the east of one main that runs north from the entry."""
    made, runs = [], [LineString([(0, -6), (0, apart * (rows - 1))])]
    for row in range(rows):
        y = apart * row
        runs.append(LineString([(0, y), (apart * columns, y)]))
        for column in range(1, columns + 1):
            made.append(Bore(f"B{len(made) + 1}", apart * column, y, 0.15, 60.0))
    return Layout(
        "vertical", tuple(made), Header(tuple(runs), Entry("E1", Point(0, -6))), apart, 0.0
    )


def groups_in(layout):
    """Circuits by the group that they name, from the circuits alone."""
    groups = {}
    for circuit in layout.circuits:
        groups.setdefault(circuit.group, []).append(circuit)
    return groups


@pytest.mark.parametrize("count", range(13, 200))
def test_groups_of_a_field_have_six_to_twelve_circuits_and_differ_by_one(count):
    sizes = even_sizes(count, 12)
    assert sum(sizes) == count
    assert min(sizes) >= 6
    assert max(sizes) <= 12
    assert max(sizes) - min(sizes) <= 1


def test_twelve_circuits_hang_on_one_pair_of_pipes():
    layout = with_pipes(bores(12), exchanger())
    assert layout.piping.groups == ()
    assert {circuit.group for circuit in layout.circuits} == {""}
    assert {pipe.group for piece in layout.piping.pieces for pipe in piece.pipes} == {""}


def test_thirteen_bores_in_a_row_are_seven_near_and_six_far():
    layout = with_pipes(bores(13), exchanger(header={"layout": "direct return"}))
    assert {name: [c.elements[0] for c in of] for name, of in groups_in(layout).items()} == {
        "G1": [f"B{k}" for k in range(1, 8)], "G2": [f"B{k}" for k in range(8, 14)],
    }  # fmt: skip
    near, far = layout.piping.groups
    # to the first bore 6 m, to the eighth 6 + 7 x 6 m; a supply and a return each
    assert (near.run_out_m, far.run_out_m) == pytest.approx((12.0, 96.0))
    # and five or six steps of 6 m more to the last bore of each
    assert (near.length_m, far.length_m) == pytest.approx((12.0 + 72.0, 96.0 + 60.0))
    # in the trench to the first bore lie two pairs, behind the seventh one
    pairs = [[pipe.group for pipe in piece.pipes] for piece in layout.piping.pieces]
    assert pairs[0] == ["G1", "G1", "G2", "G2"]
    assert pairs[7:] == [["G2", "G2"]] * 6


def test_rows_of_a_grid_are_groups_where_they_are_large_enough():
    layout = with_pipes(grid(4, 9), exchanger())
    # 36 circuits: 3 groups of 12, so a row and a third each, neighbours in one
    groups = groups_in(layout)
    assert [len(group) for group in groups.values()] == [12, 12, 12]
    layout = with_pipes(grid(3, 10), exchanger())
    for group in groups_in(layout).values():
        assert len({layout.elements[int(c.elements[0][1:]) - 1].y_m for c in group}) == 1


def test_circuits_are_numbered_group_by_group():
    layout = with_pipes(grid(3, 10), exchanger())
    assert [circuit.id for circuit in layout.circuits] == [f"CIR-{k}" for k in range(1, 31)]
    assert [circuit.group for circuit in layout.circuits] == [
        name for name in ("G1", "G2", "G3") for _ in range(10)
    ]
    assert [c for group in layout.piping.groups for c in group.circuits] == [
        circuit.id for circuit in layout.circuits
    ]


def test_home_runs_and_a_field_that_is_not_to_be_divided_stay_whole():
    assert with_pipes(bores(30), exchanger(header={"layout": "home run"})).piping.groups == ()
    assert with_pipes(bores(30), exchanger(header={"group": 30})).piping.groups == ()
    assert len(with_pipes(bores(30), exchanger(header={"group": 8})).piping.groups) == 4


@pytest.mark.parametrize("count", [14, 15, 17])
def test_a_trench_of_two_circuits_lies_in_one_group(count):
    layout = with_pipes(trenches([60.0] * count, pipes=4), exchanger(circuits={"count": 2 * count}))
    groups = groups_in(layout)
    assert sum(len(group) for group in groups.values()) == 2 * count
    assert all(6 <= len(group) <= 12 for group in groups.values())
    through = {}
    for circuit in layout.circuits:
        for name in circuit.elements:
            through.setdefault(name, []).append(circuit.group)
    assert {len(names) for names in through.values()} == {2}
    assert {len(set(names)) for names in through.values()} == {1}


def test_a_division_that_would_part_a_trench_is_less_even():
    # 7 trenches of two circuits each: 7 and 7 would part the fourth, 8 and 6 part none
    layout = with_pipes(trenches([60.0] * 7, pipes=4), exchanger(circuits={"count": 14}))
    assert sorted(len(group) for group in groups_in(layout).values()) == [6, 8]


def test_a_trench_that_no_division_keeps_whole_is_parted_and_groups_keep_their_size():
    # 3 groups of at most 4 for 12 circuits through trenches of 6 circuits each
    layout = with_pipes(
        trenches([60.0] * 2, pipes=12),
        exchanger(circuits={"count": 12}, header={"group": 4, "layout": "direct return"}),
    )
    assert [len(group) for group in groups_in(layout).values()] == [4, 4, 4]


@pytest.mark.parametrize("count", [14, 30])
def test_the_table_of_elements_names_the_group_of_each(count, lot_text, write_site):
    layout = with_pipes(bores(count), exchanger())
    rows = list(csv.DictReader(io.StringIO(elements_csv(read_site(write_site(lot_text)), layout))))
    by_element = {c.elements[0]: c.group for c in layout.circuits}
    assert {row["id"]: row["group"] for row in rows} == by_element
    assert "" not in by_element.values()


def test_a_field_that_is_not_divided_has_no_group_in_the_table(lot_text, write_site):
    layout = with_pipes(bores(12), exchanger())
    rows = csv.DictReader(io.StringIO(elements_csv(read_site(write_site(lot_text)), layout)))
    assert {row["group"] for row in rows} == {""}


def test_the_run_outs_of_a_group_are_sized_and_purged_for_its_own_flow():
    wanted = exchanger(circuits={"flow_m3s": 72 * GPM})
    layout = with_pipes(bores(24), wanted)
    piping = layout.piping
    for group in piping.groups:
        assert group.flow_m3s == pytest.approx(36 * GPM)
        # 12 circuits of 1 in at 2 ft/s: pi/4 (1.075 in)^2 x 24 in/s are 5.66 gpm each
        assert group.purge_m3s / GPM == pytest.approx(12 * 5.66, rel=1e-3)
    # what purges one group is what the flush cart has to bring
    assert piping.hydraulics.purge_m3s / GPM == pytest.approx(12 * 5.66, rel=1e-3)
    whole = with_pipes(bores(24), replace_header(wanted, group=24)).piping
    assert whole.hydraulics.purge_m3s / GPM == pytest.approx(24 * 5.66, rel=1e-3)
    # 12 bores alone with that flow have the same pipe at the entry
    alone = with_pipes(bores(12), exchanger(circuits={"flow_m3s": 36 * GPM})).piping
    assert {group.pipe for group in piping.groups} == {alone.pieces[0].pipes[0].size}


def replace_header(wanted, **options):
    header = replace(wanted.piping.header, **options)
    return replace(wanted, piping=replace(wanted.piping, header=header))


def test_the_worst_path_of_a_divided_field_is_that_of_its_farthest_group():
    wanted = exchanger(circuits={"flow_m3s": 39 * GPM}, header={"layout": "direct return"})
    divided = with_pipes(bores(13), wanted).piping
    near, far = divided.groups
    assert far.head_m > near.head_m
    assert divided.hydraulics.head_m == pytest.approx(far.head_m)
    assert divided.hydraulics.drop == far.drop


def test_the_manifold_stands_in_the_path_of_every_circuit():
    # the far six of 13 bores against the same six alone, as far away: beside the pipe they pass two
    # ball valves and two branch tees more, 2 x (3 + 60) diameters of their run-out, 18 gpm
    wanted = exchanger(circuits={"flow_m3s": 39 * GPM}, header={"layout": "direct return"})
    far = with_pipes(bores(13), wanted).piping.groups[1]
    six = exchanger(circuits={"flow_m3s": 18 * GPM}, header={"layout": "direct return"})
    layout = bores(6, lead=48.0)
    alone = with_pipes(layout, six).piping.hydraulics
    assert far.drop.header == pytest.approx(alone.drop.header, rel=1e-6)
    pipe, state = pipes()[far.pipe], fluid_state("propylene glycol 20 %", -5 / 3)
    more = pressure_drop(pipe, 18 * GPM, 2 * 63 * pipe.inner_m, state)
    assert far.drop.fittings - alone.drop.fittings == pytest.approx(more, rel=1e-6)


@settings(max_examples=several(7, 30), deadline=None)
@given(st.integers(1, 7), st.integers(1, 11), st.sampled_from(["direct return", "reverse return"]))
def test_whatever_the_field_every_circuit_is_in_one_group_and_flow_adds_up(rows, columns, way):
    wanted = exchanger(
        circuits={"flow_m3s": rows * columns * 3 * GPM}, header={"layout": way, "separation_m": FT}
    )
    layout = with_pipes(grid(rows, columns), wanted)
    piping, count = layout.piping, rows * columns
    assert sorted(name for c in layout.circuits for name in c.elements) == sorted(
        element.id for element in layout.elements
    )
    if count <= 12:
        assert piping.groups == ()
        return
    listed = [name for group in piping.groups for name in group.circuits]
    assert sorted(listed) == sorted(circuit.id for circuit in layout.circuits)
    assert all(6 <= len(group.circuits) <= 12 for group in piping.groups)
    assert sum(group.flow_m3s for group in piping.groups) == pytest.approx(
        piping.hydraulics.flow_m3s
    )
    # each group's pipes at the entry carry its flow, and its lengths and fill are its share
    for group in piping.groups:
        carried = sum(
            pipe.flow_m3s
            for piece in piping.pieces
            for pipe in piece.pipes
            if pipe.group == group.id and pipe.role == "supply" and piece.start == (0.0, -6.0)
        )
        assert carried == pytest.approx(group.flow_m3s)
    assert sum(group.length_m for group in piping.groups) == pytest.approx(
        sum(piping.lengths_m.values())
    )
    shares = [fluid_volume(layout, group.id) for group in piping.groups]
    assert sum(shares) == pytest.approx(fluid_volume(layout))


def test_what_lies_on_both_sides_of_the_way_in_comes_together():
    # 30 bores in a row from west to east with the entry below its middle: groups of 10 from west to
    # east, and none of both ends
    made = tuple(Bore(f"B{k}", 6.0 * k, 0.0, 0.15, 60.0) for k in range(30))
    runs = (LineString([(87, -6), (87, 0)]), LineString([(87, 0), (0, 0)]),
            LineString([(87, 0), (174, 0)]))  # fmt: skip
    layout = Layout("vertical", made, Header(runs, Entry("E1", Point(87, -6))), 6.0, 0.0)
    groups = groups_in(with_pipes(layout, exchanger()))
    for group in groups.values():
        numbers = sorted(int(circuit.elements[0][1:]) for circuit in group)
        assert numbers == list(range(numbers[0], numbers[0] + 10))


@pytest.mark.parametrize("turned", [0, 1, 2])
def test_the_short_arm_of_a_header_is_divided_and_not_a_long_one(turned):
    # arms of 4, 8 and 8 bores meet at the origin. Ten with a long arm whole and half of the short
    # one, twice: 8 + 2 and 8 + 4 bores' way of header; a long arm divided: 4 + 6 and 8 + 8
    ways = [(-6.0, 0.0), (6.0, 0.0), (0.0, 6.0)]
    arms = list(zip(ways[turned:] + ways[:turned], (4, 8, 8), strict=True))
    runs, made = [LineString([(0, -6), (0, 0)])], []
    for arm, ((east, north), count) in enumerate(arms):
        runs.append(LineString([(0, 0), (east * count, north * count)]))
        made += [
            Bore(f"{'ABC'[arm]}{k}", east * k, north * k, 0.15, 60.0) for k in range(1, count + 1)
        ]
    header = Header(tuple(runs), Entry("E1", Point(0, -6)))
    layout = Layout("vertical", tuple(made), header, 6.0, 0.0)
    groups = groups_in(with_pipes(layout, exchanger(circuits={"flow_m3s": 40 * GPM})))
    arms_of = [{one.elements[0][0] for one in some} for some in groups.values()]
    assert sorted(map(sorted, arms_of)) == [["A", "B"], ["A", "C"]]
