"""Costs by prices that anybody can multiply: the take-off times the list."""

from __future__ import annotations

from types import SimpleNamespace

import pytest
from planned import planned_once
from priced import PRICES, priced_site

from siteplan.plan import SitePlan
from siteplan.quantities.cost import Cost, CostLine, cost_of, middle_of, middle_of_priced
from siteplan.quantities.take_off import Item, amount_of
from siteplan.report.comparison_words import price_note
from siteplan.site.prices import FITTINGS, Price, PriceList
from siteplan.units.systems import US


def cost(plan: SitePlan) -> Cost:
    layout = plan.drawn.layout
    assert layout is not None
    found = cost_of(plan.site, layout)
    assert found is not None
    return found


@pytest.fixture(scope="module")
def trenched() -> SitePlan:
    return planned_once(priced_site(), system="horizontal")


@pytest.fixture(scope="module")
def bored() -> SitePlan:
    return planned_once(priced_site(), system="vertical")


def test_a_site_without_prices_has_no_cost() -> None:
    plan = planned_once(priced_site(prices=""), system="vertical")
    assert plan.drawn.layout is not None
    assert cost_of(plan.site, plan.drawn.layout) is None


def test_trench_is_priced_by_the_depth_down_to_which_a_price_holds(trenched: SitePlan) -> None:
    lines = {line.item.what: line for line in cost(trenched).lines}
    # 5 ft deep: the class down to 6 ft; the header 4 ft deep: that down to 4 ft
    assert (lines["exchanger trench"].price.low, lines["exchanger trench"].price.high) == (3, 4)
    assert lines["header trench"].price.low == 2
    amount = lines["exchanger trench"].amount
    assert amount >= 300
    assert lines["exchanger trench"].high == 4 * amount


def test_a_trench_deeper_than_every_price_is_named_and_not_counted() -> None:
    shallow = PRICES.replace('"4 ft" = 2, "6 ft" = [3, 4]', '"4 ft" = 2')
    found = cost(planned_once(priced_site(shallow), system="horizontal"))
    assert "exchanger trench" in {item.what for item in found.unpriced}
    assert not found.tells


FT = 0.3048
BORE = Item("bore drilled", "", "length", 100 * FT, "", "bore")
TAPE = Item("warning tape", "", "length", 50 * FT, "", "tape")
LIST = PriceList("USD", (("bore", Price(10, 20)), ("tape", Price(1, 1))))


def test_the_middle_of_what_items_cost_is_halfway_between_low_and_high() -> None:
    # 100 ft of bore from 1,000 to 2,000 and 50 ft of tape for 50: 1,550 in the middle
    assert middle_of((BORE, TAPE), LIST, US) == 1550
    assert middle_of((BORE, TAPE), PriceList("USD", LIST.goods[:1]), US) is None
    # what has no price is left out, and adds nothing
    assert middle_of_priced((BORE, TAPE), PriceList("USD", LIST.goods[:1]), US) == 1500
    lines = (CostLine(BORE, 100, "ft", Price(10, 20)), CostLine(TAPE, 50, "ft", Price(1, 1)))
    whole = Cost(LIST, lines, ())
    assert (whole.low, whole.middle, whole.high) == (1050, 1550, 2050)


def test_whose_prices_they_are_stands_beside_them_with_what_they_leave_out() -> None:
    # of a bid has to be known by whom and when it was made: common practice, no source
    told = PriceList("USD", LIST.goods, as_of="March 2026", source="A. Driller")
    free, dear = (SimpleNamespace(cost=one) for one in (None, Cost(told, (), ())))
    note = price_note([free, dear], US)
    assert note.startswith("Prices: March 2026, A. Driller. Not counted: heat pump")
    assert price_note([free], US) == ""


def test_sums_are_compared_only_where_bores_trench_and_pipe_have_a_price() -> None:
    assert Cost(LIST, (), (TAPE,)).tells
    assert not Cost(LIST, (), (TAPE, BORE)).tells
    assert Cost(LIST, (), (TAPE, BORE, BORE)).lacking == ("bore drilled",)


def test_the_sum_is_that_of_its_lines_and_digging_is_in_the_price_of_trench(
    trenched: SitePlan,
) -> None:
    found = cost(trenched)
    assert found.low == pytest.approx(sum(line.amount * line.price.low for line in found.lines))
    assert found.high > found.low
    assert "soil" not in {line.item.ware for line in found.lines}
    assert "soil" not in {item.ware for item in found.unpriced}


def test_bores_take_their_length_and_a_rig(bored: SitePlan) -> None:
    lines = {(line.item.what, line.item.size): line for line in cost(bored).lines}
    drilled = lines["bore drilled", ""]
    layout = bored.drawn.layout
    assert layout is not None
    assert drilled.amount == amount_of(
        Item("bore drilled", "", "length", layout.length_m, "", "bore"), bored.site.unit
    )[0]  # fmt: skip
    assert (drilled.low, drilled.high) == (10 * drilled.amount, 20 * drilled.amount)
    assert lines["mobilization", "rig"].low == 1000
    assert lines["mobilization", "excavator"].low == 500


def test_grout_is_priced_in_bags_only_where_bags_are_counted_and_priced() -> None:
    with_bags = PRICES + "grout_bag = 15\n"
    wares = {line.item.ware for line in cost(_bores(with_bags)).lines}
    assert "grout" in wares  # nobody said what a bag yields
    assert "grout bag" not in wares


TEE = Item("tee", "by header", "count", 7, "", "fitting")


@pytest.mark.parametrize(
    ("own", "usual", "whole"),
    # seven tees at 20, or at what any fitting costs; without either nobody knows
    [(20, None, 140), (20, 5, 140), (None, 5, 35), (None, None, None)],
)
def test_a_fitting_costs_its_own_price_or_that_of_any(own, usual, whole) -> None:
    prices = PriceList(
        "USD",
        () if usual is None else (("fitting", Price(usual, usual)),),
        fittings=() if own is None else (("tee", Price(own, own)), ("elbow", Price(9, 9))),
    )
    assert middle_of((TEE,), prices, US) == whole


GALLON, POUND = 3.785411784e-3, 0.45359237
GROUT = Item("grout, mixed", "", "fluid", 100 * GALLON, "", "grout")
BAGS = Item("grout, bags", "", "count", 8, "", "grout bag")
SAND = Item("silica sand", "", "mass", 400 * POUND, "", "silica sand")
FLUID = Item("fluid", "", "fluid", 50 * GALLON, "", "fluid")
PURE = Item("antifreeze, pure", "", "fluid", 10 * GALLON, "", "antifreeze")
WARES = {
    "tape": Price(1, 1), "grout": Price(2, 2), "grout_bag": Price(15, 15),
    "silica_sand": Price(0.1, 0.1), "fluid": Price(3, 3), "antifreeze": Price(12, 12),
}  # fmt: skip


@pytest.mark.parametrize(
    ("items", "priced", "whole"),
    [
        # 100 gal of grout at 2, or 8 bags at 15 with 400 lb of sand at 0.1; 50 ft of tape at 1
        ((TAPE, GROUT, BAGS, SAND), "tape grout", 50 + 200),
        ((TAPE, GROUT, BAGS, SAND), "tape grout silica_sand", 50 + 200),
        ((TAPE, GROUT, BAGS, SAND), "tape grout grout_bag silica_sand", 50 + 120 + 40),
        ((TAPE, GROUT, BAGS, SAND), "tape grout grout_bag", 50 + 120),
        # nobody has said what a bag yields, so that none is counted
        ((TAPE, GROUT), "tape grout grout_bag silica_sand", 50 + 200),
        # 50 gal as filled in at 3, or 10 gal of what is pure at 12
        ((TAPE, FLUID, PURE), "tape fluid", 50 + 150),
        ((TAPE, FLUID, PURE), "tape antifreeze", 50 + 120),
        ((TAPE, FLUID, PURE), "tape fluid antifreeze", 50 + 150),
        ((TAPE, FLUID, PURE), "tape", 50),
    ],
)
def test_of_two_ways_to_count_a_thing_one_is_paid_for(
    items: tuple[Item, ...], priced: str, whole: float
) -> None:
    prices = PriceList("USD", tuple((name, WARES[name]) for name in priced.split()))
    assert middle_of_priced(items, prices, US) == pytest.approx(whole)


def test_antifreeze_stands_in_where_the_mixed_fluid_has_no_price() -> None:
    lengths = """\
[exchanger]
entry = [[80, 70]]
capacity = "2 ton"
[circuits]
flow = "6 gpm"
[fluid]
mixture = "propylene glycol 25 %"
"""
    mixed = cost(planned_once(priced_site(PRICES, lengths), system="vertical"))
    pure = PRICES.replace("fluid = 3", "antifreeze = 12")
    other = cost(planned_once(priced_site(pure, lengths), system="vertical"))
    assert {"fluid", "antifreeze"} & {line.item.ware for line in mixed.lines} == {"fluid"}
    assert {"fluid", "antifreeze"} & {line.item.ware for line in other.lines} == {"antifreeze"}
    assert not {"fluid", "antifreeze"} & {item.ware for item in mixed.unpriced}
    # of both prices that of the fluid as it is filled in: nothing is paid for twice
    both = cost(planned_once(priced_site(PRICES + "antifreeze = 12\n", lengths), system="vertical"))
    assert {"fluid", "antifreeze"} & {line.item.ware for line in both.lines} == {"fluid"}


def test_every_fitting_of_a_take_off_can_have_a_price_of_its_own(
    trenched: SitePlan, bored: SitePlan
) -> None:
    for plan in (trenched, bored):
        found = cost(plan)
        items = [*(line.item for line in found.lines), *found.unpriced]
        assert {item.what for item in items if item.ware == "fitting"} <= set(FITTINGS)


def _bores(prices: str) -> SitePlan:
    return planned_once(priced_site(prices), system="vertical")


def test_what_is_not_done_is_no_line_of_the_costs(bored: SitePlan, trenched: SitePlan) -> None:
    for plan in (bored, trenched):
        found = cost(plan)
        assert all(line.item.amount > 0 for line in found.lines)
        assert all(item.amount > 0 for item in found.unpriced)
