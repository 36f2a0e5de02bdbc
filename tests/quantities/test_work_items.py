"""Work beside the take-off, and what a line costs, worked by hand."""

from __future__ import annotations

import pytest
from shapely import LineString, Point

from siteplan.layout.elements import Bore, Coil, Trench, Well
from siteplan.layout.model import Header, Layout
from siteplan.quantities.cost import Cost, CostLine, middle_of, work_items
from siteplan.quantities.grout import Grout
from siteplan.quantities.take_off import Item
from siteplan.site.model import Entry
from siteplan.site.prices import Price, PriceList
from siteplan.units.systems import METRIC, US

HEADER = Header((LineString([(0, 0), (5, 0)]),), Entry("E", Point(0, 0)))


def laid(system, *elements, header=HEADER):
    return Layout(system, elements, header, 5.0, 0.0)


def told(layout):
    return [(item.what, item.size, item.measure, item.amount) for item in work_items(layout)]


def test_bores_are_drilled_by_their_depth_and_bring_rig_and_excavator():
    bores = [Bore(f"B{n}", 6.0 * n, 0.0, 0.15, 70.0 + n) for n in range(3)]
    assert told(laid("vertical", *bores)) == [
        ("bore drilled", "", "length", 70.0 + 71.0 + 72.0),
        ("mobilization", "rig", "count", 1),
        ("mobilization", "excavator", "count", 1),
    ]


def test_trenches_want_an_excavator_alone_and_nothing_is_brought_without_a_header():
    trench = Trench("T1", LineString([(0, 0), (30, 0)]), 0.6, 1.5, 2)
    assert told(laid("horizontal", trench)) == [("mobilization", "excavator", "count", 1)]
    assert told(laid("horizontal", header=None)) == []


def test_an_existing_well_is_not_drilled_again():
    old = Well("W1", 0.0, 0.0, 0.2, 40.0, "supply", existing="well-1")
    new = Well("W2", 30.0, 0.0, 0.2, 25.0, "return")
    assert told(laid("open", old, new))[0] == ("well drilled", "", "length", 25.0)
    assert told(laid("open", old)) == [("mobilization", "excavator", "count", 1)]


def test_coils_are_counted_by_their_frames():
    coils = [Coil(f"C{n}", 5.0 * n, 0.0, 2.0, 100.0, 3.0, "pond") for n in range(4)]
    assert ("count", 4) in [row[2:] for row in told(laid("pond", *coils))]


def test_a_cost_is_the_sum_of_amounts_by_low_and_by_high():
    item = Item("sand", "", "earth", 2.0, "", "sand")
    lines = (
        CostLine(item, 3.0, "yd³", Price(10.0, 12.0)), CostLine(item, 0.5, "yd³", Price(4.0, 8.0)),
    )  # fmt: skip
    cost = Cost(PriceList("$"), lines, ())
    # 3 x 10 + 0.5 x 4 = 32; 3 x 12 + 0.5 x 8 = 40; halfway 36
    assert (cost.low, cost.high, cost.middle) == (32.0, 40.0, 36.0)
    assert cost.tells


@pytest.mark.parametrize(("ware", "tells"), [("bore", False), ("pipe", False), ("sand", True)])
def test_a_sum_tells_nothing_without_the_price_of_what_makes_up_most(ware, tells):
    missing = Item("x", "", "length", 2.0, "", ware)
    assert Cost(PriceList("$"), (), (missing,)).tells is tells


def test_trench_is_priced_by_the_first_depth_that_reaches_as_far():
    prices = PriceList("$", trench=((1.5, Price(2.0, 4.0)), (2.5, Price(6.0, 8.0))))

    def costs(depth):
        item = Item("trench", "", "length", 10.0, "", "trench", depth)
        return middle_of([item], prices, METRIC)

    # 10 m at 3 halfway, at 7, and no price below 2.5 m
    assert (costs(1.2), costs(1.5), costs(1.6), costs(2.5)) == (30.0, 30.0, 70.0, 70.0)
    assert costs(2.6) is None


def test_pipe_has_the_price_of_its_size_and_lengths_are_bought_in_whole_feet():
    prices = PriceList("$", pipe=(("1 in", Price(1.0, 3.0)),))
    one, other = (Item("circuit pipe", s, "length", 3.2, "", "pipe") for s in ("1 in", "2 in"))
    # 3.2 m are 10.5 ft, rounded up 11
    assert middle_of([one], prices, US) == pytest.approx(22.0)
    assert middle_of([one, other], prices, US) is None
    assert middle_of([], prices, US) == 0.0


def test_bags_of_grout_are_whole_and_hold_their_sand():
    grout = Grout(3, 200.0, 2.0, 0.25, 0.1, 90.0)
    # 2 m3 and a quarter more are 2.5 m3: 25 bags of 0.1 m3, with 90 kg of sand each
    assert (grout.volume_m3, grout.bags, grout.all_sand_kg) == (2.5, 25, 2250.0)
    assert Grout(3, 200.0, 2.0, 0.3, 0.1, 90.0).bags == 26
    unsaid = Grout(3, 200.0, 2.0, 0.25, None, 90.0)
    assert (unsaid.bags, unsaid.all_sand_kg) == (None, 0.0)
