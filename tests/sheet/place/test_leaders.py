"""Leaders that do not meet, and names nearer to their own symbol than to another."""

from __future__ import annotations

from itertools import combinations

from legible import leaders, plot_faults
from planned import full_set
from shapely import LineString

from siteplan.sheet.place.candidates import Candidate, nearest_own
from siteplan.sheet.place.placer import HARD, MET_LEADER, Placer

WINDOW = (0.0, 0.0, 200.0, 100.0)


def test_a_leader_goes_round_another_though_the_way_across_is_shorter():
    placer = Placer(WINDOW)
    placer.add_leader([(50.0, 20.0), (50.0, 80.0)])
    across = Candidate((30.0, 50.0), cost=1.0, leader=(70.0, 50.0))
    longer = Candidate((110.0, 50.0), cost=500.0, leader=(70.0, 50.0))
    assert placer.best([across, longer], 10.0, 3.0) is longer


def test_leaders_to_one_place_do_not_meet_at_its_tip():
    placer = Placer(WINDOW)
    placer.add_leader([(20.0, 50.0), (70.0, 50.0)])
    same = Candidate((110.0, 50.0), cost=1.0, leader=(70.0, 50.0))
    cost, _ = placer.cheapest([same], 10.0, 3.0, most=HARD)
    assert cost >= MET_LEADER


def test_a_label_does_not_lie_on_a_leader():
    placer = Placer(WINDOW)
    placer.add_leader([(20.0, 50.0), (70.0, 50.0)])
    assert placer.best([Candidate((40.0, 50.0))], 10.0, 3.0) is None


def test_a_single_symbol_has_no_rival():
    place = Candidate((4.0, 0.0))
    assert nearest_own([place], (4.0, 2.0), (0.0, 0.0), ()) == [place]


def test_the_coils_of_the_farm_pond_are_read_the_right_way_round():
    plan = full_set("farm-pond")[0]
    codes = {fault.code for fault in plot_faults(plan)}
    assert not codes & {"leader on leader", "label nearer to another symbol"}
    paths: list[LineString] = leaders(plan)
    assert not any(path.intersects(other) for path, other in combinations(paths, 2))
