"""Fittings on the paths through a header, counted by hand."""

from collections import Counter

import pytest
from pipe_fields import bores, tree_of
from shapely import LineString, Point

from siteplan.hydraulics.fittings import fitting_diameters
from siteplan.layout.elements import Bore
from siteplan.layout.header.tree import header_tree
from siteplan.layout.model import Header
from siteplan.layout.piping.header_pipes import HeaderFlow
from siteplan.layout.piping.joints import joints_to
from siteplan.site.model import Entry


def counted(tree, layout, stop, size=lambda _: "1 in"):
    flow = HeaderFlow(tree, tree.stops, layout)
    joints = joints_to(flow, tree.stops[stop], size, "1 in")
    return Counter((joint.fitting, joint.circuits) for joint in joints)


def test_a_direct_return_passes_the_fittings_of_the_supply_twice():
    # second of three: straight through the first tee with 2 circuits, out by the branch of its own
    assert counted(tree_of(bores(3)), "direct return", 1) == {
        ("tee run", 2): 2, ("tee branch", 0): 2,
    }  # fmt: skip


def test_a_reverse_return_collects_on_its_way_out_and_turns_home_by_two_elbows():
    tree = tree_of(bores(3))
    # first: branch of the first tee; its return begins there and is joined by the second and third
    assert counted(tree, "reverse return", 0) == {
        ("tee branch", 0): 1, ("elbow", 0): 1, ("tee run", 1): 1, ("tee run", 2): 1,
        ("elbow", 3): 2,
    }  # fmt: skip
    # last: through two tees of the supply, into its circuit by an elbow; joins the return by a tee
    assert counted(tree, "reverse return", 2) == {
        ("tee run", 2): 1, ("tee run", 1): 1, ("elbow", 0): 1, ("tee branch", 0): 1,
        ("elbow", 3): 2,
    }  # fmt: skip


def test_circuits_of_a_reverse_return_pass_as_many_tees_wherever_they_are():
    tree = tree_of(bores(7))
    paths = [counted(tree, "reverse return", stop) for stop in range(7)]
    tees = [sum(n for (fitting, _), n in path.items() if fitting[:3] == "tee") for path in paths]
    # the k-th of 7: k - 1 of the supply before it, 7 - k of the return after it, and a tee of its
    # own in either; but the first begins the return and the last ends the supply by an elbow
    assert tees == [7, 8, 8, 8, 8, 8, 7]


def test_a_bend_and_a_side_branch_are_passed():
    # up 6 m, then square to the right for 12 m to one bore, and to the left for 4 m to another
    runs = (
        LineString([(0, 0), (0, 6)]), LineString([(0, 6), (12, 6), (12, 10)]),
        LineString([(0, 6), (-4, 6)]),
    )  # fmt: skip
    made = [Bore("B1", 12, 10, 0.15, 60.0), Bore("B2", -4, 6, 0.15, 60.0)]
    tree = header_tree(Header(runs, Entry("E1", Point(0, 0))), made)
    # B1 lies on the main, around one bend; B2 on the branch
    assert counted(tree, "direct return", 0) == {
        ("tee run", 1): 2, ("elbow", 1): 2, ("elbow", 0): 2,
    }  # fmt: skip
    assert counted(tree, "direct return", 1) == {("tee branch", 1): 2, ("elbow", 0): 2}


def test_each_change_of_size_is_passed_there_and_back():
    sizes = {3: "2 in", 2: "2 in", 1: "1-1/4 in"}
    path = counted(tree_of(bores(3)), "direct return", 2, sizes.__getitem__)
    assert path["reducer", 1] == 2
    assert path["reducer", 0] == 2  # to the circuit's own 1 in
    assert path["reducer", 2] == 0


def test_home_runs_are_bent_and_not_joined():
    assert counted(tree_of(bores(3)), "home run", 1) == {}


@pytest.mark.parametrize(
    ("fitting", "diameters"), [("elbow", 30), ("tee run", 20), ("tee branch", 60), ("U-bend", 50)]
)
def test_equivalent_lengths_are_those_of_the_crane_paper_from_memory(fitting, diameters):
    assert fitting_diameters()[fitting] == diameters


def test_a_corner_at_a_joint_takes_no_elbow_however_coarsely_a_drawing_tells_its_place():
    # of a field on a slant: the second and third element join where the header turns
    exact = [
        (28.75501805815, 27.744984649925), (21.958166135904, 34.261007548054),
        (24.136289808096, 40.956041549069), (24.325464894922, 47.823329086094),
    ]  # fmt: skip
    told = [(round(x, 9), round(y, 9)) for x, y in exact]
    for places, line in ((exact, exact), (told, told), (exact, told), (told, exact)):
        made = [Bore(f"B{k}", x, y, 0.15, 90.0) for k, (x, y) in enumerate(places[1:])]
        tree = header_tree(Header((LineString(line),), Entry("E1", Point(line[0]))), made)
        assert sum(tree.bends) == 0


def test_a_bend_before_the_first_branch_is_passed_by_all_circuits():
    # out of the wall, round one corner, and on to a branch at (10, 4) with a bore to either side
    runs = (
        LineString([(0, 0), (0, 4), (10, 4), (18, 4)]), LineString([(10, 4), (10, 9)]),
    )  # fmt: skip
    made = [Bore("B1", 18, 4, 0.15, 60.0), Bore("B2", 10, 9, 0.15, 60.0)]
    tree = header_tree(Header(runs, Entry("E1", Point(0, 0))), made)
    for stop in (0, 1):
        path = counted(tree, "direct return", stop)
        assert path["elbow", 2] == 2
        assert path["tee run", 1] + path["tee branch", 1] == 2
