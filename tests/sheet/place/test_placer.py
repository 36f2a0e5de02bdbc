import numpy as np
import pytest
import shapely

from siteplan.sheet.place.candidates import Candidate, around, led
from siteplan.sheet.place.pieces import in_pieces
from siteplan.sheet.place.placer import HARD, Placer, leader_path


def test_the_cheapest_free_place_is_taken():
    placer = Placer((0, 0, 100, 100))
    places = [Candidate((50, 50), cost=2.0), Candidate((20, 20), cost=1.0)]
    assert placer.best(places, 10, 3) == places[1]


def test_a_place_on_another_label_is_never_taken():
    placer = Placer((0, 0, 100, 100))
    placer.add_area(shapely.box(15, 15, 25, 25))
    places = [Candidate((50, 50), cost=2.0), Candidate((20, 20), cost=1.0)]
    assert placer.best(places, 10, 3) == places[0]


def test_a_place_that_leaves_the_window_is_never_taken():
    assert Placer((0, 0, 100, 100)).best([Candidate((98, 50))], 10, 3) is None


def test_crossing_a_line_costs_what_the_line_says():
    placer = Placer((0, 0, 100, 100))
    placer.add_line([(0, 50), (100, 50)], 7.0)
    costs = placer.rate([Candidate((50, 50)), Candidate((50, 70))], 10, 3)
    assert list(costs) == [7.0, 0.0]


def test_a_leader_does_not_run_over_a_label():
    placer = Placer((0, 0, 100, 100))
    placer.add_area(shapely.box(45, 48, 55, 52))
    place = Candidate((75, 50), leader=(20.0, 50.0))
    assert placer.rate([place], 10, 3)[0] >= HARD


def test_places_around_a_symbol_keep_clear_of_it():
    disk = shapely.Point(50, 50).buffer(2.0)
    for place in around((50.0, 50.0), 8.0, 3.0, 2.0):
        x, y = place.center
        box = shapely.box(x - 4.5, y - 2.0, x + 4.5, y + 2.0)
        assert not box.intersects(disk)


def test_a_leader_ends_at_the_edge_of_its_symbol():
    for place in led((50.0, 50.0), 8.0, 3.0, stand_off=2.5):
        end = leader_path(place, 8.0, 3.0)[-1]
        assert shapely.Point(end).distance(shapely.Point(50, 50)) == pytest.approx(2.5)


def test_new_ink_is_found_among_old_whatever_is_asked():
    placer = Placer((0.0, 0.0, 500.0, 500.0))
    for k in range(300):
        placer.add_line([(k, 400.0), (k + 0.5, 400.0)], 1.0)
    assert placer.free_of([(50.0, 50.0)], 1.0)
    for x in (50.0, 50.5, 51.0):
        placer.add_area(shapely.Point(x, 50.0).buffer(0.4))
    assert not placer.free_of([(50.0, 50.0)], 1.0)
    assert not placer.has_line(shapely.box(49.0, 49.0, 52.0, 51.0))


def crowded():
    """Ink of all sorts, most of it where the places of ``led`` around the middle lie."""
    placer = Placer((0.0, 0.0, 200.0, 200.0))
    for k in range(150):
        # spread by the golden angle of 2.4 radians
        x, y = 100.0 + 7.0 * k**0.5 * np.cos(2.4 * k), 100.0 + 7.0 * k**0.5 * np.sin(2.4 * k)
        placer.add_area(shapely.box(x - 2.0, y - 1.0, x + 2.0, y + 1.0))
        placer.add_area(shapely.box(x - 6.0, y - 1.0, x + 6.0, y + 1.0), 6.0, leader_cost=0.0)
        if k % 3 == 0:
            placer.add_area(shapely.Point(x + 3.0, y).buffer(1.0), leader_cost=80.0)
        placer.add_line([(x, y), (x + 9.0, y + 5.0)], 4.0)
    return placer


@pytest.mark.parametrize("target", [(100.0, 100.0), (60.0, 110.0), (180.0, 20.0), (104.0, 135.0)])
def test_the_cheapest_place_is_that_of_all_that_are_rated(target):
    placer = crowded()
    places = [*around(target, 5.0, 2.0, 1.0), *led(target, 5.0, 2.0)]
    costs = placer.rate(places, 5.0, 2.0)
    cost, place = placer.cheapest(places, 5.0, 2.0)
    assert cost == pytest.approx(min(costs.min(), HARD))
    assert place is (places[costs.argmin()] if costs.min() < HARD else None)


def test_a_place_that_costs_the_limit_is_not_taken():
    placer = Placer((0, 0, 100, 100))
    placer.add_line([(0, 50), (100, 50)], 7.0)
    assert placer.cheapest([Candidate((50, 50))], 10, 3, most=7.0) == (7.0, None)


@pytest.mark.parametrize("x", [3.0, 15.0, 30.0, 41.0])
def test_a_name_across_a_line_pays_for_it_once_wherever_its_pieces_join(x):
    placer = Placer((-20.0, -20.0, 80.0, 20.0))
    for number, piece in enumerate(in_pieces(np.array([[0.0, 0.0], [60.0, 0.0]]))):
        placer.add_line(piece, 4.0, goes_on=number > 0)
    (cost,) = placer.rate([Candidate((x, 0.0))], 2.0, 2.0)
    assert cost == 4.0


def test_a_name_along_a_line_pays_the_more_the_longer_it_is():
    placer = Placer((-20.0, -20.0, 80.0, 20.0))
    for number, piece in enumerate(in_pieces(np.array([[0.0, 0.0], [60.0, 0.0]]))):
        placer.add_line(piece, 4.0, goes_on=number > 0)
    costs = [placer.rate([Candidate((30.0, 0.0))], width, 2.0)[0] for width in (6.0, 34.0)]
    assert costs == sorted(set(costs))
